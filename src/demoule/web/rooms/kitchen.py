"""Kitchen: rooms, moulds, machines, people, prices and calibrations; the form holds the truth, as on the Bench."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, Head, Kind, Stale
from demoule.web.desk import Asking, Desk, fields_of, form_of, now
from demoule.web.rooms.bench import changed_lines
from demoule.web.workers import Overtaken

__all__ = ["router"]

_ACT = ("act", "at", "what", "amount", "words")


def router(desk: Desk) -> APIRouter:
    """The ways of the kitchen's page."""
    rooms = APIRouter(include_in_schema=False)
    documents, drafts = desk.store.documents, desk.store.drafts

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
        rev = int(form["rev"]) if form.get("rev", "").isdigit() else head.rev
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
        rev = int(form["rev"]) if form.get("rev", "").isdigit() else -1
        if not found["good"]:  # every dessert is computed in this kitchen: one that cannot be read stays a draft
            await desk.call(drafts.keep, Kind.KITCHEN, slug, asking.who, found["text"], now(), rev=rev)
            first = found["mistakes"][0] if found["mistakes"] else {"says": "", "remedy": ""}
            raise BadInput(
                f"{asking.words('kitchen.not_kept')} {first['says']}", remedy=first["remedy"],
            )  # fmt: skip
        try:
            version = await desk.call(
                documents.save, Kind.KITCHEN, slug, found["text"], asking.by(form.get("why", "")), rev=rev,
                name=found["form"]["name"] or slug, key=form.get("key", "")[:80],
            )  # fmt: skip
        except Stale as stale:
            await desk.call(drafts.keep, Kind.KITCHEN, slug, asking.who, found["text"], now(), rev=rev)
            return await conflict(asking, slug, found["text"], stale, plain=plain)
        await desk.call(drafts.drop, Kind.KITCHEN, slug, asking.who)
        if plain:
            return RedirectResponse("/kitchen", status_code=303)
        return JSONResponse({"kept": version.n, "rev": version.rev, "at": version.at.isoformat()})

    async def conflict(asking: Asking, slug: str, mine: str, stale: Stale, *, plain: bool) -> Response:
        differ = await desk.workers.ask("differences", mine=mine, theirs=stale.theirs.text)
        values = {"slug": slug, "theirs": stale.theirs, "differ": differ, "mine_text": mine, "settle": "/kitchen"}
        if plain:
            return desk.page(asking, "bench/conflict_page.html", room="kitchen", status=409, **values)
        panel = desk.part(asking, "bench/conflict.html", **values)
        return JSONResponse({"conflict": panel, "rev": stale.theirs.rev}, status_code=409)

    @rooms.post("/kitchen/{slug}/settle")
    async def settle(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.KITCHEN)
        theirs = await desk.call(documents.version, Kind.KITCHEN, slug)
        mine = form.get("mine", "")
        if form.get("whole") == "mine":
            text = mine
        elif form.get("whole") == "theirs":
            text = theirs.text
        else:
            chosen = {k[2:]: form.get(f"m:{k[2:]}", "") for k, v in form.items() if k.startswith("c:") and v == "mine"}
            text = await desk.workers.ask("merged", theirs=theirs.text, choices=chosen)
        rev = int(form["rev"]) if form.get("rev", "").isdigit() else -1
        await desk.call(drafts.keep, Kind.KITCHEN, slug, asking.who, mine, now(), rev=rev)
        try:
            await desk.call(documents.save, Kind.KITCHEN, slug, text, asking.by(asking.words("bench.settled")), rev=rev)
        except Stale as stale:
            return await conflict(asking, slug, text, stale, plain=True)
        await desk.call(drafts.drop, Kind.KITCHEN, slug, asking.who)
        return RedirectResponse("/kitchen", status_code=303)

    @rooms.post("/kitchen/{slug}/as-kept")
    async def as_kept(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        desk.guard(asking, (await form_of(request)).get("csrf", ""))
        await desk.call(drafts.drop, Kind.KITCHEN, slug, asking.who)
        return RedirectResponse("/kitchen", status_code=303)

    @rooms.post("/kitchen/{slug}/restore")
    async def restore(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.KITCHEN)
        n = form.get("n", "")
        if not n.isdigit():
            raise BadInput("A version has a number.", remedy="choose one from the list.")
        by = asking.by(asking.words("bench.restored", n=n))
        await desk.call(documents.restore, Kind.KITCHEN, slug, int(n), by, rev=(await of(slug)).rev)
        return RedirectResponse("/kitchen", status_code=303)

    @rooms.get("/kitchen/{slug}/text")
    async def as_text(request: Request, slug: str, n: int | None = None) -> Response:
        await desk.asking(request)
        version = await desk.call(documents.version, Kind.KITCHEN, slug, n)
        return Response(
            version.text.encode(),
            media_type="application/yaml; charset=utf-8",
            headers={"Content-Disposition": f'attachment; filename="{version.slug}.yaml"'},
        )

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
