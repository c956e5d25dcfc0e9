"""Orders: what is wanted and when; the form holds the truth, as on the Bench."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, Kind
from demoule.web.desk import Asking, Desk, fields_of, form_of, now
from demoule.web.rooms.keeping import Keeping, changed_lines, rev_of
from demoule.web.workers import Overtaken

__all__ = ["router"]


async def dessert_names(desk: Desk) -> list[str]:
    """Names of the desserts that can be ordered."""
    return [head.name for head in await desk.call(desk.store.documents.heads, Kind.DESSERT)]


def router(desk: Desk) -> APIRouter:
    """The ways of the order books."""
    rooms = APIRouter(include_in_schema=False)
    documents, drafts = desk.store.documents, desk.store.drafts
    keeping = Keeping(
        desk=desk, kind=Kind.ORDERS, act=Act.PLAN, way="/orders", room="week", home="/orders/{slug}",
        differ="orders_differ", merge="orders_merged",
    )  # fmt: skip

    async def read(asking: Asking, text: str, **given: Any) -> dict[str, Any]:
        found: dict[str, Any] = await desk.workers.ask(
            "orders", text=text, desserts=await dessert_names(desk), language=asking.language, **given
        )
        return found

    def notes(asking: Asking, found: dict[str, Any], kept: dict[str, Any]) -> dict[str, list[str]]:
        told: dict[str, list[str]] = {}
        old = {one["at"]: one["value"] for one in _fields(kept)}
        for one in _fields(found):
            before = old.get(one["at"])
            if before is not None and before != one["value"]:
                told[one["at"]] = ["was", asking.words("bench.was", value=before or "–")]
        for wrong in found["mistakes"]:
            if wrong["at"]:
                told[wrong["at"]] = ["wrong", f"{wrong['says']} {wrong['remedy']}".strip()]
        return told

    @rooms.get("/orders")
    async def some(request: Request) -> Response:
        asking = await desk.asking(request)
        heads = await desk.call(documents.heads, Kind.ORDERS)
        if heads:
            return RedirectResponse(f"/orders/{heads[0].slug}", status_code=303)
        return desk.page(
            asking, "orders/none.html", room="week", writes=asking.may(Act.PLAN), key=f"new-{now().timestamp():.4f}"
        )

    @rooms.post("/orders")
    async def begin(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PLAN)
        name = form.get("name", "").strip()[:120]
        if not name:
            raise BadInput(asking.words("errors.no_name"), remedy=asking.words("errors.give_name"))
        text = await desk.workers.ask("orders_begun", desserts=await dessert_names(desk))
        made = await desk.call(documents.begin, Kind.ORDERS, name, text, asking.by(), key=form.get("key", "")[:80])
        return RedirectResponse(f"/orders/{made.slug}", status_code=303)

    @rooms.get("/orders/{slug}")
    async def show(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        head = await desk.call(documents.head, Kind.ORDERS, slug)
        version = await desk.call(documents.version, Kind.ORDERS, slug)
        draft = await desk.call(drafts.of, Kind.ORDERS, slug, asking.who)
        text, rev = version.text, head.rev
        if draft is not None and draft.text != version.text:
            text, rev = draft.text, draft.rev
        found = await read(asking, text)
        kept = found if text == version.text else await read(asking, version.text)
        told = notes(asking, found, kept)
        return desk.page(
            asking, "orders.html", room="week", slug="", book=slug, head=head, version=version, rev=rev, found=found,
            notes=told, changed=changed_lines(version.text, text), newer=head.rev > rev,
            writes=asking.may(Act.PLAN), books=await desk.call(documents.heads, Kind.ORDERS),
            history=await desk.call(documents.history, Kind.ORDERS, slug, most=30),
            key_base=f"{slug}-{now().timestamp():.3f}", key=f"new-{now().timestamp():.4f}",
        )  # fmt: skip

    @rooms.post("/orders/{slug}/figures")
    async def figures(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        fields, _ = fields_of(form)
        act = {k: form.get(k, "") for k in ("act", "at", "what", "words", "dessert")} if form.get("act") else None
        try:
            found = await read(
                asking, form.get("text", ""), fields=fields, act=act, turn=(asking.session, slug, "orders")
            )
        except Overtaken:
            return Response(status_code=204)
        head = await desk.call(documents.head, Kind.ORDERS, slug)
        version = await desk.call(documents.version, Kind.ORDERS, slug)
        rev = rev_of(form, head.rev)
        at = now()
        if asking.may(Act.PLAN):
            if found["text"] != version.text:
                await desk.call(drafts.keep, Kind.ORDERS, slug, asking.who, found["text"], at, rev=rev)
            else:
                await desk.call(drafts.drop, Kind.ORDERS, slug, asking.who)
        told = notes(asking, found, await read(asking, version.text))
        values: dict[str, Any] = {
            "book": slug, "head": head, "version": version, "found": found, "newer": head.rev > rev,
            "changed": changed_lines(version.text, found["text"]), "notes": told, "writes": True,
        }  # fmt: skip
        answer: dict[str, Any] = {
            "regions": {
                "state": desk.part(asking, "orders/state.html", **values),
                "totals": desk.part(asking, "orders/totals.html", **values),
            },
            "notes": told,
            "text": found["text"],
            "rev": rev,
            "good": found["answer"] is not None,
            "at": at.isoformat(),
            "changed": values["changed"],
            "open": "",
            "later": [],
            "wrong": found["wrong"],
        }
        if (act or form.get("whole")) and found["form"] is not None:
            answer["form"] = desk.part(asking, "orders/form.html", **values)
        return JSONResponse(answer)

    @rooms.post("/orders/{slug}/keep")
    async def keep(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PLAN)
        fields, _ = fields_of(form)
        plain = "application/json" not in request.headers.get("accept", "")
        act = {k: form.get(k, "") for k in ("act", "at", "what", "words", "dessert")} if form.get("act") else None
        found = await read(asking, form.get("text", ""), fields=fields, act=act)
        return await keeping.keep(asking, slug, form, found["text"], plain=plain)

    keeping.settles(rooms)
    keeping.goes_back(rooms)
    keeping.gives_text(rooms)
    return rooms


def _fields(found: dict[str, Any]) -> list[dict[str, str]]:
    form = found["form"]
    if form is None:
        return []
    fields = [form["counted"], *form["stock"]]
    for order in form["orders"]:
        fields += [order["what"], order["when"], *order["counts"]]
    return fields
