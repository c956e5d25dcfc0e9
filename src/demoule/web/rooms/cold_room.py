"""Cold room: when hard, when ready, how long good; the frost dragged through time, what if, and a freezer learned."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import BadInput, DemouleError
from demoule.store import Act, Kind, Stale
from demoule.web.desk import Asking, Desk, form_of, now
from demoule.web.workers import Overtaken

__all__ = ["router"]

_LINE = ("from", "measured", "stage", "blows", "give or take", "air")


async def _text(desk: Desk, asking: Asking, slug: str) -> str:
    version = await desk.call(desk.store.documents.version, Kind.DESSERT, slug)
    draft = await desk.call(desk.store.drafts.of, Kind.DESSERT, slug, asking.who)
    return str(draft.text if draft is not None else version.text)


def router(desk: Desk) -> APIRouter:
    """The ways of the Cold room."""
    rooms = APIRouter(include_in_schema=False)

    async def asked(asking: Asking, question: str, slug: str, turn: Any = None, **given: Any) -> Any:
        kitchen, prices = await desk.kitchen()
        return await desk.workers.ask(
            question, text=await _text(desk, asking, slug), kitchen=kitchen, prices=prices, turn=turn, **given
        )

    async def told(asking: Asking, question: str, slug: str, turn: Any = None, **given: Any) -> dict[str, Any]:
        found: dict[str, Any] = await asked(
            asking, question, slug, turn, theme=asking.theme, system=asking.system, language=asking.language, **given
        )
        return found

    async def page(asking: Asking, slug: str, *, status: int = 200, learned: dict[str, Any] | None = None) -> Response:
        found = await told(asking, "cold", slug)
        return desk.page(
            asking, "cold.html", room="cold_room", status=status, slug=slug, cold=found, before=found,
            levers=await asked(asking, "levers", slug, system=asking.system, language=asking.language),
            teaches=asking.may(Act.KITCHEN),
            head=await desk.call(desk.store.documents.head, Kind.DESSERT, slug), learned=learned,
        )  # fmt: skip

    @rooms.get("/cold")
    async def some(request: Request) -> Response:
        await desk.asking(request)
        slug = await desk.first_dessert()
        return RedirectResponse(f"/cold/{slug}" if slug else "/", status_code=303)

    @rooms.get("/cold/{slug}")
    async def show(request: Request, slug: str) -> Response:
        return await page(await desk.asking(request), slug)

    @rooms.post("/cold/{slug}/try")
    async def attempt(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        tried = {key[2:]: value for key, value in form.items() if key.startswith("f:") and value.strip()}
        same = {key[2:]: value for key, value in form.items() if key.startswith("b:")}
        tried = {key: value for key, value in tried.items() if value != same.get(key)}
        turn = (asking.session, slug, "cold")
        view = form.get("view", "") if form.get("view") in ("wide", "small") else ""
        try:
            if form.get("moving"):
                found = await told(asking, "cold_moved", slug, turn, what_if=tried, view=view)
            else:
                found = await told(asking, "cold", slug, turn, what_if=tried)
            before = await told(asking, "cold", slug)
        except Overtaken:
            return Response(status_code=204)
        regions = {"answers": desk.part(asking, "cold/answers.html", cold=found, before=before)}
        if form.get("moving"):
            regions |= {
                f"way-{name}": found[key] for name, key in (("wide", "wide"), ("small", "narrow")) if found[key]
            }
        else:
            regions["cold"] = desk.part(asking, "cold/picture.html", cold=found)
        return JSONResponse({"regions": regions, "frames": found["frames"], "slim": found["slim"], "good": True})

    @rooms.post("/cold/{slug}/probe")
    async def probe(request: Request, slug: str) -> Response:
        """A log: looked at first, then learned from."""
        asking = await desk.asking(request)
        form = await request.form(max_files=1, max_fields=20)
        desk.guard(asking, str(form.get("csrf", "")))
        asking.must(Act.KITCHEN)
        sent = form.get("log")
        plain = "application/json" not in request.headers.get("accept", "")
        learned: dict[str, Any] = {
            "log": None, "lesson": None, "wrong": None,
            "stage": "harden piece", "column": "", "degrees": "", "place": "core",
        }  # fmt: skip
        try:
            if sent is None or isinstance(sent, str) or not sent.filename:
                raise BadInput(asking.words("errors.no_file"), remedy=asking.words("learn.send_log"))
            name, data = sent.filename[:80], await sent.read()
            learned["log"] = await desk.workers.ask(
                "log_told", data=data, name=name, theme=asking.theme, language=asking.language
            )
            if form.get("act") == "learn":
                given = {key: str(form.get(key, ""))[:120] for key in ("stage", "column", "degrees", "place")}
                learned |= given
                learned["lesson"] = await told(
                    asking, "taught", slug, data=data, name=name, now=now().replace(tzinfo=None).isoformat(), **given
                )
        except DemouleError as error:
            learned["wrong"] = asking.wrong(error)
        status = 422 if learned["wrong"] else 200
        if plain:
            return await page(asking, slug, status=status, learned=learned)
        found = await told(asking, "cold", slug)
        panel = desk.part(asking, "cold/learned.html", slug=slug, learned=learned, cold=found)
        return JSONResponse({"regions": {"learned": panel}}, status_code=status)

    @rooms.post("/cold/{slug}/learned")
    async def keep(request: Request, slug: str) -> Response:
        """Keep what was learned as a new version of the kitchen."""
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.KITCHEN)
        room = form.get("room", "")[:120]
        line = {key: form[key].strip()[:120] for key in _LINE if form.get(key, "").strip()}
        documents = desk.store.documents
        for last in (False, False, True):
            heads = await desk.call(documents.heads, Kind.KITCHEN)
            if not heads:
                raise BadInput(asking.words("learn.no_kitchen"), remedy=asking.words("learn.begin_kitchen"))
            version = await desk.call(documents.version, Kind.KITCHEN, heads[0].slug)
            text = await desk.workers.ask("kept_lesson", kitchen=version.text, room=room, line=line)
            why = asking.words("learn.why", room=room, log=line.get("from", ""))
            try:
                await desk.call(
                    documents.save, Kind.KITCHEN, heads[0].slug, text, asking.by(why), rev=version.rev,
                    key=form.get("key", "")[:80],
                )  # fmt: skip
            except Stale:
                if last:
                    raise
                continue  # one line more goes into whatever stands now
            break
        return RedirectResponse(f"/cold/{slug}#answers", status_code=303)

    return rooms
