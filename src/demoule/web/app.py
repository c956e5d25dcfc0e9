"""The screens as one application: rooms, interface for programs, security, and one shape for every error."""

from __future__ import annotations

import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import metadata
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import DemouleError
from demoule.store import AlreadyThere, NotAllowed, NotSignedIn, NotThere, Stale, Waiting
from demoule.web import api, api_week
from demoule.web.desk import Desk, Forbidden, SignInFirst
from demoule.web.dressing import dress
from demoule.web.planner import Busy
from demoule.web.rooms import bench, cold_room, day, door, kitchen, larder, log, orders, paper, quick, week
from demoule.web.saying import said
from demoule.web.security import Gate, crown, error_body
from demoule.web.settings import Settings
from demoule.web.workers import TookTooLong, Workers

if TYPE_CHECKING:
    from demoule.store import Store

__all__ = ["create_app", "status_of"]

_LOG = logging.getLogger("demoule.web")


def status_of(error: DemouleError) -> int:
    """The status that goes with an error."""
    kinds: tuple[tuple[type[DemouleError], int], ...] = (
        (Waiting, 429), (NotSignedIn, 401), (NotAllowed, 403), (Forbidden, 403), (NotThere, 404), (Stale, 409),
        (AlreadyThere, 409), (TookTooLong, 503), (Busy, 429),
    )  # fmt: skip
    return next((status for kind, status in kinds if isinstance(error, kind)), 422)


def error_told(error: DemouleError) -> dict[str, Any]:
    """An error in its one shape, with the mistakes of a file where there are some."""
    mistakes = [
        {
            "line": m.line if hasattr(m, "line") else m.get("line"),
            "column": m.column if hasattr(m, "column") else m.get("column"),
            "says": m.says if hasattr(m, "says") else m.get("says"),
            "remedy": m.remedy if hasattr(m, "remedy") else m.get("remedy"),
        }
        for m in getattr(error, "mistakes", ())
    ]
    more: dict[str, object] = {"mistakes": mistakes} if mistakes else {}
    return error_body(error.says, where=error.where, remedy=error.remedy, **more)


def _in_words(body: dict[str, Any], language: str) -> dict[str, Any]:
    """An error in the reader's language."""

    def told(one: dict[str, Any]) -> dict[str, Any]:
        return {**one, **{key: said(str(one.get(key) or ""), language) for key in ("says", "remedy") if key in one}}

    error = told(body["error"])
    if "mistakes" in error:
        error["mistakes"] = [told(one) for one in error["mistakes"]]
    return {**body, "error": error}


def create_app(store: Store, settings: Settings | None = None, workers: Workers | None = None) -> FastAPI:
    """The application.

    Parameters
    ----------
    store
        The memory; the caller opens and closes it.
    settings
        How it is served; None: one chef on this machine.
    workers
        The processes for the numerics; None: own ones, started and stopped with the application.
    """
    settings = settings or Settings()
    own = workers is None
    crew = workers or Workers(settings.workers)
    desk = Desk(store, settings, crew, dress(), rooms=["larder", "bench", "cold_room", "week", "log", "paper"])
    desk.weeks = None if own else crew

    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        if own:
            crew.start()
        yield
        desk.stop()
        if own:
            crew.stop()

    app = FastAPI(
        title="demoule",
        version=metadata.version("demoule"),
        summary="The same acts as on the screens, as JSON.",
        lifespan=life,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    app.state.desk = desk
    for room in (door, bench, larder, cold_room, kitchen, orders, week, day, log, quick, paper):
        app.include_router(room.router(desk))
    app.include_router(api.router(desk))
    app.include_router(api_week.router(desk))
    app.add_middleware(GZipMiddleware, minimum_size=600, compresslevel=6)
    app.add_middleware(Gate, settings=settings)
    _errors(app, desk)
    return app


def _errors(app: FastAPI, desk: Desk) -> None:
    """Every error in one shape: a page for people, JSON for programs."""

    def as_json(request: Request) -> bool:
        accepts = request.headers.get("accept", "")
        return request.url.path.startswith("/api/") or "text/html" not in accepts

    async def shown(
        request: Request, status: int, body: dict[str, Any], headers: dict[str, str] | None = None
    ) -> Response:
        if not request.url.path.startswith("/api/"):
            body = _in_words(body, desk.language(request))
        if as_json(request):
            return JSONResponse(body, status_code=status, headers=headers)
        asking = await desk.asking(request, open_door=True)
        if asking.person is None and desk.settings.accounts:
            return RedirectResponse("/sign-in", status_code=303)
        response = desk.page(asking, "error.html", room="", status=status, told=body["error"], code=status)
        for name, value in (headers or {}).items():
            response.headers[name] = value
        return response

    @app.exception_handler(DemouleError)
    async def ours(request: Request, error: DemouleError) -> Response:
        headers = {"Retry-After": str(max(1, round(error.seconds)))} if isinstance(error, Waiting) else None
        return await shown(request, status_of(error), error_told(error), headers)

    @app.exception_handler(SignInFirst)
    async def first(request: Request, _: SignInFirst) -> Response:
        if as_json(request):
            return JSONResponse(
                error_body("Nobody is signed in.", remedy="sign in first."),
                status_code=401,
                headers={"WWW-Authenticate": "Bearer"},
            )
        return RedirectResponse(f"/sign-in?back={request.url.path}", status_code=303)

    @app.exception_handler(HTTPException)
    async def plain(request: Request, error: HTTPException) -> Response:
        says = {404: "There is nothing at this address.", 405: "This cannot be done at this address."}
        body = error_body(says.get(error.status_code, str(error.detail)), where=request.url.path)
        return await shown(request, error.status_code, body, dict(error.headers or {}))

    @app.exception_handler(RequestValidationError)
    async def unreadable(request: Request, error: RequestValidationError) -> Response:
        wrong = error.errors()[:20]
        body = error_body(
            "The request cannot be read.",
            where=request.url.path,
            remedy="mend the fields named.",
            mistakes=[{"where": ".".join(str(part) for part in one["loc"]), "says": str(one["msg"])} for one in wrong],
        )
        return await shown(request, 422, body)

    @app.exception_handler(Exception)
    async def broken(request: Request, error: Exception) -> Response:
        # The log holds what broke and where, never what was typed.
        _LOG.error("%s %s: %s", request.method, request.url.path, type(error).__name__, exc_info=error)
        body = error_body(
            "Something of ours broke; what is typed is kept.", remedy="load the page again; if it stays, tell us."
        )
        try:
            return crown(await shown(request, 500, body))
        except Exception:  # what broke may be what draws a page
            return crown(JSONResponse(body, status_code=500))


def desk_of(app: FastAPI) -> Desk:
    """The desk of an application."""
    desk: Desk = app.state.desk
    return desk


__all__ += ["desk_of", "error_told"]
