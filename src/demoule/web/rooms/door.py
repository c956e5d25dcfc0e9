"""The door: the list of desserts, signing in and out, language, light and units, and the people of the kitchen."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlsplit

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from demoule.errors import BadInput, Mistakes
from demoule.store import Act, Kind, NotAllowed, NotSignedIn, Role, Waiting, take_in, temporary_password
from demoule.web.desk import SESSION, Asking, Desk, form_of, now

__all__ = ["router", "taken_in"]

_CHOICES = {
    "language": ("en", "fr"),
    "theme": ("day", "night", ""),
    "units": ("metric", "us"),
}
DEMONSTRATION = ("apricot.yaml", "quince.yaml", "chestnut.yaml", "kitchen.yaml", "orders.yaml")


def _back(words: str) -> str:
    """A page of ours to go back to; anything else becomes the first page."""
    parts = urlsplit(words)
    good = not parts.scheme and not parts.netloc and words.startswith("/") and not words.startswith(("//", "/\\"))
    return words if good and len(words) < 400 and words.isprintable() else "/"


async def taken_in(desk: Desk, asking: Asking, files: dict[str, bytes]) -> tuple[str, ...]:
    """Desserts, kitchens, order books and planned weeks of some files, into the memory; returns the names."""
    kinds: dict[str, tuple[Kind, str]] = {}
    for name, data in files.items():
        text = data.decode("utf-8-sig", errors="strict") if not _binary(data) else ""
        if not text:
            raise BadInput(f"“{name[:80]}” is not a text in UTF-8.", remedy=asking.words("errors.send_yaml"))
        try:
            kind, called = await desk.workers.ask("described", text=text, name=name[:80])
            if kind == Kind.KITCHEN:
                await desk.workers.ask("check_kitchen", text=text)
        except Mistakes as wrong:
            first = wrong.mistakes[0]
            where = f"{name[:80]}, line {first.line}"
            raise BadInput(first.says, where=where, remedy=first.remedy or "") from None
        kinds[name] = (Kind(kind), called[:120])
    taken = await desk.call(
        take_in, desk.store, files, asking.by(asking.words("front.taken_in")), kind_of=lambda _, name: kinds[name]
    )
    for one in taken:
        if one.trouble is not None:
            raise one.trouble
    return tuple(one.slug for one in taken)


def _binary(data: bytes) -> bool:
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return True
    return b"\0" in data


def router(desk: Desk) -> APIRouter:
    """The ways of the door."""
    rooms = APIRouter(include_in_schema=False)

    @rooms.get("/")
    async def front(request: Request) -> Response:
        asking = await desk.asking(request)
        heads = await desk.call(desk.store.documents.heads, Kind.DESSERT)
        kitchens = await desk.call(desk.store.documents.heads, Kind.KITCHEN)
        return desk.page(
            asking, "front.html", room="front", desserts=heads, kitchens=kitchens, writes=asking.may(Act.DESIGN),
            key=f"new-{now().timestamp():.4f}",
        )  # fmt: skip

    @rooms.get("/static/{name}")
    async def static(name: str) -> Response:
        path = desk.dress.folder / name
        known = name in {entry.name for entry in desk.dress.folder.iterdir()} and name != "names.json"
        if not known:
            return Response(status_code=404)
        kind = {
            "woff2": "font/woff2",
            "woff": "font/woff",
            "css": "text/css",
            "js": "text/javascript",
            "svg": "image/svg+xml",
        }
        return Response(
            path.read_bytes(),
            media_type=kind.get(name.rsplit(".", 1)[-1], "application/octet-stream"),
            headers={"Cache-Control": "public, max-age=31536000, immutable"},
        )

    @rooms.get("/health")
    async def health() -> Response:
        return Response("well", media_type="text/plain")

    @rooms.post("/demonstration")
    async def demonstration(request: Request) -> Response:
        asking = await desk.asking(request)
        desk.guard(asking, (await form_of(request)).get("csrf", ""))
        asking.must(Act.DESIGN)
        files = {}
        for name in DEMONSTRATION:
            files[name] = (await desk.workers.ask("demonstration", name=name)).encode()
        await taken_in(desk, asking, files)
        return RedirectResponse("/bench/apricot", status_code=303)

    @rooms.post("/take-in")
    async def take(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await request.form(max_files=20, max_fields=20)
        desk.guard(asking, str(form.get("csrf", "")))
        asking.must(Act.DESIGN)
        files: dict[str, bytes] = {}
        for entry in form.getlist("files"):
            if isinstance(entry, str) or not entry.filename:
                continue
            name = entry.filename.replace("\\", "/").rsplit("/", 1)[-1][:80]
            files[name] = await entry.read()
        if not files:
            raise BadInput(asking.words("errors.no_file"), remedy=asking.words("errors.send_yaml"))
        await taken_in(desk, asking, files)
        return RedirectResponse("/", status_code=303)

    @rooms.post("/set")
    async def choose(request: Request) -> Response:
        asking = await desk.asking(request, open_door=True)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        response = RedirectResponse(_back(form.get("back", "/")), status_code=303)
        for name, choices in _CHOICES.items():
            if form.get(name) in choices:
                desk.cookie(response, name, form[name])
        return response

    @rooms.get("/sign-in")
    async def sign_in_page(request: Request, back: str = "/") -> Response:
        asking = await desk.asking(request, open_door=True)
        if asking.person is not None or not desk.settings.accounts:
            return RedirectResponse("/", status_code=303)
        return desk.page(asking, "sign_in.html", room="door", back=_back(back), wrong="", name="")

    @rooms.post("/sign-in")
    async def sign_in(request: Request) -> Response:
        asking = await desk.asking(request, open_door=True)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        name = form.get("name", "").strip()[:120]
        try:
            found = await desk.call(
                desk.store.sessions.sign_in, name, form.get("password", "")[:1000], now(),
                about=request.headers.get("user-agent", "")[:120],
            )  # fmt: skip
        except Waiting as wait:
            wrong = asking.words("door.wait", minutes=max(1, round(wait.seconds / 60)))
            return desk.page(asking, "sign_in.html", room="door", status=429, back="/", wrong=wrong, name=name)
        except NotSignedIn:
            wrong = asking.words("door.wrong")
            return desk.page(asking, "sign_in.html", room="door", status=401, back="/", wrong=wrong, name=name)
        to = "/password" if found.person.must_change else _back(form.get("back", "/"))
        response = RedirectResponse(to, status_code=303)
        lasts = max(60, int((found.expires - now()) / timedelta(seconds=1)))
        desk.cookie(response, SESSION, found.token, lasts=lasts)
        return response

    @rooms.post("/sign-out")
    async def sign_out(request: Request) -> Response:
        asking = await desk.asking(request)
        desk.guard(asking, (await form_of(request)).get("csrf", ""))
        await desk.call(desk.store.sessions.end, asking.session, asking.by())
        response = RedirectResponse("/sign-in", status_code=303)
        response.delete_cookie(SESSION, path="/")
        return response

    @rooms.get("/password")
    async def password_page(request: Request) -> Response:
        asking = await desk.asking(request)
        return desk.page(asking, "password.html", room="door", wrong="")

    @rooms.post("/password")
    async def password(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        try:
            await desk.call(
                desk.store.people.change_password, asking.who, form.get("old", "")[:1000], form.get("new", "")[:1000],
                asking.by(),
            )  # fmt: skip
        except (NotSignedIn, BadInput) as error:
            wrong = asking.words("door.wrong") if isinstance(error, NotSignedIn) else str(error.says)
            return desk.page(asking, "password.html", room="door", status=400, wrong=wrong)
        response = RedirectResponse("/sign-in", status_code=303)
        response.delete_cookie(SESSION, path="/")
        return response

    @rooms.get("/people")
    async def people_page(request: Request) -> Response:
        asking = await desk.asking(request)
        asking.must(Act.PEOPLE)
        return await _people(desk, asking, "")

    @rooms.post("/people")
    async def people(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PEOPLE)
        name, act = form.get("name", "").strip()[:120], form.get("act", "")
        told = ""
        everyone = desk.store.people
        try:
            if act == "add":
                password = temporary_password()
                await desk.call(
                    everyone.add, name, Role(form.get("role", "reader")), password, asking.by(), must_change=True
                )
                told = asking.words("people.password", name=name, password=password)
            elif act == "role":
                await desk.call(everyone.change_role, name, Role(form.get("role", "reader")), asking.by())
            elif act == "remove":
                await desk.call(everyone.remove, name, asking.by())
            elif act == "password":
                password = temporary_password()
                await desk.call(everyone.set_password, name, password, asking.by(), must_change=True)
                told = asking.words("people.password", name=name, password=password)
        except NotAllowed as error:
            told = error.says
        except ValueError:
            told = asking.words("people.no_role")
        return await _people(desk, asking, told)

    return rooms


async def _people(desk: Desk, asking: Asking, told: str) -> Response:
    found = await desk.call(desk.store.people.list)
    traces = await desk.call(desk.store.audit.list, most=60)
    return desk.page(asking, "people.html", room="people", people=found, traces=traces, told=told, roles=list(Role))
