"""What stands between the network and the screens: headers, sizes, rates, hosts, and the tokens that guard forms."""

from __future__ import annotations

import hashlib
import hmac
import time
from collections import OrderedDict
from collections.abc import Iterable, MutableMapping

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from demoule.web.settings import Settings

__all__ = ["POLICY", "Gate", "crown", "error_body", "form_token", "same_origin", "token_holds"]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; manifest-src 'self'"
)
"""Nothing from elsewhere, nothing written into a page runs."""

_HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), usb=()"),
    (b"x-frame-options", b"DENY"),
    (b"accept-ch", b"Sec-CH-Prefers-Color-Scheme"),
)
_ADDRESSES = 4096
_UNSAFE = {"POST", "PUT", "PATCH", "DELETE"}


def error_body(says: str, *, where: str = "", remedy: str = "", **more: object) -> dict[str, object]:
    """The one shape of an error."""
    return {"error": {"says": says, "where": where, "remedy": remedy, **more}}


def form_token(session: str) -> str:
    """The token that a form of this session carries.

    It follows from the session's own secret, which no page shows and no script reads, so it holds across a restart.
    """
    return hmac.new(session.encode(), b"a form of this session", hashlib.sha256).hexdigest()


def token_holds(session: str, token: str) -> bool:
    """Whether a form's token is that of the session; without a session none is."""
    return bool(session) and hmac.compare_digest(form_token(session).encode(), token.encode())


def same_origin(request: Request) -> bool:
    """Whether a request comes from one of our own pages, as far as the browser tells."""
    site = request.headers.get("sec-fetch-site")
    if site is not None and site not in ("same-origin", "none"):
        return False
    origin = request.headers.get("origin")
    return (
        origin is None
        or origin == f"{request.url.scheme}://{request.headers.get('host', '')}"
        or (origin.split("://")[-1] == request.headers.get("host", ""))
    )


class _TooLarge(Exception):
    pass


class Gate:
    """The outermost door: foreign hosts, floods and floods of bytes stay out, and every answer carries its headers."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self._app = app
        self._settings = settings
        self._buckets: OrderedDict[tuple[str, str], tuple[float, float]] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or answer it here."""
        if scope["type"] != "http":
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
                return
            await self._app(scope, receive, send)
            return
        headers = {key.decode("latin-1"): value.decode("latin-1") for key, value in scope["headers"]}
        refused = self._refused(scope, headers)
        sent = False

        async def told(message: Message) -> None:
            nonlocal sent
            if message["type"] == "http.response.start":
                sent = True
                _crown(message, scope)
            await send(message)

        if refused is not None:
            await refused(scope, receive, told)
            return
        limit = (
            self._settings.upload
            if scope["path"].rstrip("/").endswith(("sheet", "take-in", "/probe"))
            else self._settings.body
        )
        read = 0

        async def measured() -> Message:
            nonlocal read
            message = await receive()
            if message["type"] == "http.request":
                read += len(message.get("body", b""))
                if read > limit:
                    raise _TooLarge
            return message

        length = headers.get("content-length", "0")
        if not length.isdigit() or int(length) > limit:
            await _too_large(limit)(scope, receive, told)
            return
        try:
            await self._app(scope, measured, told)
        except _TooLarge:
            if not sent:
                await _too_large(limit)(scope, receive, told)

    def _refused(self, scope: Scope, headers: MutableMapping[str, str]) -> JSONResponse | None:
        hosts = self._settings.hosts
        host = (
            headers.get("host", "").rsplit(":", 1)[0] if not headers.get("host", "").endswith("]") else headers["host"]
        )
        if hosts and host.strip("[]").casefold() not in hosts:
            return JSONResponse(
                error_body("This name is not known here.", remedy="use the address that the kitchen gave."),
                status_code=421,
            )
        client = scope.get("client") or ("", 0)
        signing = scope["method"] == "POST" and scope["path"] in ("/sign-in", "/api/session")
        kind, most = ("sign-in", self._settings.sign_ins_a_minute) if signing else ("any", self._settings.a_minute)
        if not self._has_room((str(client[0]), kind), most):
            return JSONResponse(
                error_body("Too many requests in a short time.", remedy="wait a minute and go on."),
                status_code=429,
                headers={"Retry-After": "30"},
            )
        return None

    def _has_room(self, key: tuple[str, str], most: int) -> bool:
        """A bucket that holds `most` requests and fills again within a minute."""
        now = time.monotonic()
        left, at = self._buckets.pop(key, (float(most), now))
        left = min(float(most), left + (now - at) * most / 60)
        self._buckets[key] = (max(left - 1, 0.0), now)
        if len(self._buckets) > _ADDRESSES:
            self._buckets.popitem(last=False)
        return left >= 1


def _too_large(limit: int) -> JSONResponse:
    return JSONResponse(
        error_body(f"More than {limit / 1e6:.0f} MB were sent.", remedy="send a smaller file."), status_code=413
    )


def _crown(message: Message, scope: Scope) -> None:
    """Give an answer its headers; one that it has itself stays."""
    headers: list[tuple[bytes, bytes]] = list(message.get("headers", []))
    told = {key.lower() for key, _ in headers}
    wanted: Iterable[tuple[bytes, bytes]] = _HEADERS
    if not scope["path"].startswith("/static/"):
        wanted = (*wanted, (b"cache-control", b"no-store"))
    message["headers"] = [*headers, *((key, value) for key, value in wanted if key not in told)]


def crown(response: Response) -> Response:
    """The headers that every answer carries, for one that is made outside the door."""
    for key, value in (*_HEADERS, (b"cache-control", b"no-store")):
        response.headers[key.decode()] = value.decode()
    return response


def is_unsafe(request: Request) -> bool:
    """Whether a request may change something."""
    return request.method in _UNSAFE
