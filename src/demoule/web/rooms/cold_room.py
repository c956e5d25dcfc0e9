"""Cold room: when hard, when ready, how long good; the frost dragged through time, and what if."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.store import Kind
from demoule.web.desk import Asking, Desk, form_of
from demoule.web.workers import Overtaken

__all__ = ["router"]


async def _text(desk: Desk, asking: Asking, slug: str) -> str:
    version = await desk.call(desk.store.documents.version, Kind.DESSERT, slug)
    draft = await desk.call(desk.store.drafts.of, Kind.DESSERT, slug, asking.who)
    return str(draft.text if draft is not None else version.text)


def router(desk: Desk) -> APIRouter:
    """The ways of the Cold room."""
    rooms = APIRouter(include_in_schema=False)

    async def cold(asking: Asking, text: str, tried: dict[str, str], turn: Any = None) -> dict[str, Any]:
        kitchen, prices = await desk.kitchen()
        found: dict[str, Any] = await desk.workers.ask(
            "cold", text=text, kitchen=kitchen, prices=prices, what_if=tried, theme=asking.theme,
            system=asking.system, language=asking.language, turn=turn,
        )  # fmt: skip
        return found

    @rooms.get("/cold")
    async def some(request: Request) -> Response:
        await desk.asking(request)
        slug = await desk.first_dessert()
        return RedirectResponse(f"/cold/{slug}" if slug else "/", status_code=303)

    @rooms.get("/cold/{slug}")
    async def show(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        text = await _text(desk, asking, slug)
        kitchen, _ = await desk.kitchen()
        found = await cold(asking, text, {})
        levers = await desk.workers.ask("levers", text=text, kitchen=kitchen)
        return desk.page(
            asking, "cold.html", room="cold_room", slug=slug, cold=found, before=found, levers=levers, tried={},
            head=await desk.call(desk.store.documents.head, Kind.DESSERT, slug),
            desserts=await desk.call(desk.store.documents.heads, Kind.DESSERT),
        )  # fmt: skip

    @rooms.post("/cold/{slug}/try")
    async def attempt(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        text = await _text(desk, asking, slug)
        tried = {key[2:]: value for key, value in form.items() if key.startswith("f:") and value.strip()}
        same = {key[2:]: value for key, value in form.items() if key.startswith("b:")}
        tried = {key: value for key, value in tried.items() if value != same.get(key)}
        try:
            found = await cold(asking, text, tried, turn=(asking.session, slug, "cold"))
            before = await cold(asking, text, {})
        except Overtaken:
            return Response(status_code=204)
        return JSONResponse(
            {
                "regions": {
                    "cold": desk.part(asking, "cold/picture.html", cold=found, before=before, tried=tried),
                    "answers": desk.part(asking, "cold/answers.html", cold=found, before=before, tried=tried),
                },
                "good": True,
            }
        )

    return rooms
