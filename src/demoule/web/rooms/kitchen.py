"""Kitchen: rooms, moulds, machines, people, prices and calibrations; the form holds the truth, as on the Bench."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, Head, Kind
from demoule.web.desk import Asking, Desk, fields_of, form_of, now
from demoule.web.rooms.keeping import Keeping, changed_lines, rev_of
from demoule.web.workers import Overtaken

__all__ = ["router"]

_ACT = ("act", "at", "what", "amount", "words")


def router(desk: Desk) -> APIRouter:
    """The ways of the kitchen's page."""
    rooms = APIRouter(include_in_schema=False)
    documents, drafts = desk.store.documents, desk.store.drafts
    keeping = Keeping(desk=desk, kind=Kind.KITCHEN, act=Act.KITCHEN, way="/kitchen", room="kitchen", home="/kitchen")

    async def stands() -> Head | None:
        heads = await desk.call(documents.heads, Kind.KITCHEN)
        return heads[0] if heads else None

    async def of(slug: str) -> Head:
        head: Head = await desk.call(documents.head, Kind.KITCHEN, slug)
        return head

    async def read(asking: Asking, text: str, **given: Any) -> dict[str, Any]:
        found: dict[str, Any] = await desk.workers.ask(
            "kitchen_bench",
            text=text,
            day=now().date().isoformat(),
            theme=asking.theme,
            language=asking.language,
            **given,
        )
        return found

    def act_of(form: dict[str, str]) -> dict[str, str] | None:
        return {key: form.get(key, "") for key in _ACT} if form.get("act") else None

    async def told(asking: Asking, head: Head, text: str, rev: int, found: dict[str, Any]) -> dict[str, Any]:
        version = await desk.call(documents.version, Kind.KITCHEN, head.slug)
        return {
            "place": head.slug, "head": head, "version": version, "found": found, "newer": head.rev > rev, "rev": rev,
            "changed": changed_lines(version.text, text), "writes": asking.may(Act.KITCHEN),
            "notes": _notes(asking, found, await read(asking, version.text)),
        }  # fmt: skip

    @rooms.get("/kitchen")
    async def show(request: Request) -> Response:
        asking = await desk.asking(request)
        head = await stands()
        if head is None:
            return desk.page(
                asking, "kitchen/none.html", room="kitchen", writes=asking.may(Act.KITCHEN),
                key=f"new-{now().timestamp():.4f}",
            )  # fmt: skip
        version = await desk.call(documents.version, Kind.KITCHEN, head.slug)
        draft = await desk.call(drafts.of, Kind.KITCHEN, head.slug, asking.who)
        text, rev = version.text, head.rev
        if draft is not None and draft.text != version.text:
            text, rev = draft.text, draft.rev
        found = await read(asking, text)
        return desk.page(
            asking, "kitchen.html", room="kitchen", slug="", key_base=f"{head.slug}-{now().timestamp():.3f}",
            history=await desk.call(documents.history, Kind.KITCHEN, head.slug, most=30),
            **await told(asking, head, text, rev, found),
        )  # fmt: skip

    @rooms.post("/kitchen")
    async def begin(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.KITCHEN)
        name = form.get("name", "").strip()[:120]
        if not name:
            raise BadInput(asking.words("errors.no_name"), remedy=asking.words("errors.give_name"))
        if await stands() is None:
            text = await desk.workers.ask("kitchen_begun", name=name)
            await desk.call(documents.begin, Kind.KITCHEN, name, text, asking.by(), key=form.get("key", "")[:80])
        return RedirectResponse("/kitchen", status_code=303)

    @rooms.post("/kitchen/{slug}/figures")
    async def figures(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        fields, units = fields_of(form)
        act = act_of(form)
        try:
            found = await read(
                asking,
                form.get("text", ""),
                fields=fields,
                units=units,
                act=act,
                turn=(asking.session, slug, "kitchen"),
            )
        except Overtaken:
            return Response(status_code=204)
        head = await of(slug)
        rev = rev_of(form, head.rev)
        at = now()
        values = await told(asking, head, found["text"], rev, found)
        if asking.may(Act.KITCHEN):
            if values["changed"]:
                await desk.call(drafts.keep, Kind.KITCHEN, slug, asking.who, found["text"], at, rev=rev)
            else:
                await desk.call(drafts.drop, Kind.KITCHEN, slug, asking.who)
        regions = {"state": desk.part(asking, "kitchen/state.html", **values)}
        if found["good"]:
            regions["shifts"] = found["shifts"]
        answer: dict[str, Any] = {
            "regions": regions, "notes": values["notes"], "text": found["text"], "rev": rev, "good": found["good"],
            "at": at.isoformat(), "changed": values["changed"], "open": _begun(act), "wrong": found["wrong"],
            "later": [],
        }  # fmt: skip
        if (act or form.get("whole")) and found["form"] is not None:
            answer["form"] = desk.part(asking, "kitchen/form.html", open=_begun(act), **values)
        return JSONResponse(answer)

    @rooms.post("/kitchen/{slug}/keep")
    async def keep(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.KITCHEN)
        fields, units = fields_of(form)
        plain = "application/json" not in request.headers.get("accept", "")
        found = await read(asking, form.get("text", ""), fields=fields, units=units)
        if not found["good"]:  # every dessert is computed in this kitchen: one that cannot be read stays a draft
            await keeping.noted(asking, slug, found["text"], rev_of(form))
            first = found["mistakes"][0] if found["mistakes"] else {"says": "", "remedy": ""}
            raise BadInput(
                f"{asking.words('kitchen.not_kept')} {first['says']}", remedy=first["remedy"],
            )  # fmt: skip
        return await keeping.keep(asking, slug, form, found["text"], plain=plain, name=found["form"]["name"] or slug)

    keeping.settles(rooms)
    keeping.goes_back(rooms)
    keeping.gives_text(rooms)
    return rooms


def _begun(act: dict[str, str] | None) -> str:
    """The pointer of the thing that an act has begun, so that it stands open."""
    if act is None or act["act"] != "add thing":
        return ""
    name = act["words"].strip()[:120].replace("~", "~0").replace("/", "~1")
    return f"/{act['at'].split('/')[1]}/{name}" if act["at"].count("/") == 2 else ""


def _notes(asking: Asking, found: dict[str, Any], kept: dict[str, Any]) -> dict[str, list[str]]:
    """What stands beside single fields: what it was, and what is wrong; [kind, text] by pointer."""
    told: dict[str, list[str]] = {}
    old = {one["at"]: one["whole"] for one in _fields(kept)}
    for one in _fields(found):
        before = old.get(one["at"])
        if before is not None and before != one["whole"]:
            told[one["at"]] = ["was", asking.words("bench.was", value=before or "–")]
        elif before is None and one["whole"]:
            told[one["at"]] = ["was", asking.words("bench.new")]
    for wrong in found["mistakes"]:
        if wrong["at"]:
            told[wrong["at"]] = ["wrong", f"{wrong['says']} {wrong['remedy']}".strip()]
    return told


def _fields(found: dict[str, Any]) -> list[dict[str, Any]]:
    form = found["form"]
    if form is None:
        return []
    fields = [*form["top"], *(one for pairs in form["lists"].values() for one in pairs)]
    for things in form["parts"].values():
        for thing in things:
            fields += [*thing["fields"], *thing["more"], *thing["taught"]]
    return fields
