"""Larder: every ingredient, what it is made of and what is not known; own items and suppliers' sheets."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from demoule.errors import BadInput, DemouleError
from demoule.store import Act, Kind, NotThere
from demoule.web.desk import Asking, Desk, form_of, now

__all__ = ["router"]

_MOST = 24


async def _rows(desk: Desk, words: str, within: str) -> list[dict[str, Any]]:
    kitchen, prices = await desk.kitchen()
    dessert = ""
    if within:
        try:
            dessert = (await desk.call(desk.store.documents.version, Kind.DESSERT, within)).text
        except NotThere:
            dessert = ""
    try:
        found: list[dict[str, Any]] = await desk.workers.ask(
            "larder", words=words[:120], kitchen=kitchen, prices=prices, most=_MOST, dessert=dessert
        )
    except DemouleError:
        found = []
    return found


async def _item(desk: Desk, name: str) -> dict[str, Any] | None:
    kitchen, prices = await desk.kitchen()
    try:
        found: dict[str, Any] = await desk.workers.ask("ingredient", name=name[:120], kitchen=kitchen, prices=prices)
    except BadInput:
        return None
    return found


def router(desk: Desk) -> APIRouter:
    """The ways of the Larder."""
    rooms = APIRouter(include_in_schema=False)

    async def page(asking: Asking, words: str, within: str, item: str, **more: Any) -> Response:
        rows = await _rows(desk, words, within)
        chosen = await _item(desk, item or (rows[0]["name"] if rows else ""))
        prices = await desk.call(desk.store.prices.of, chosen["name"]) if chosen else ()
        return desk.page(
            asking, "larder.html", room="larder", rows=rows, words=words, within=within, chosen=chosen, prices=prices,
            desserts=await desk.call(desk.store.documents.heads, Kind.DESSERT),
            patterns=await desk.workers.ask("patterns"), writes=asking.may(Act.KITCHEN), today=now().date().isoformat(),
            preview=None, **more,
        )  # fmt: skip

    @rooms.get("/larder")
    async def show(request: Request, words: str = "", within: str = "", item: str = "") -> Response:
        return await page(await desk.asking(request), words, within[:120], item)

    @rooms.get("/larder/list")
    async def listed(request: Request, words: str = "", within: str = "") -> Response:
        asking = await desk.asking(request)
        rows = await _rows(desk, words, within[:120])
        return HTMLResponse(desk.part(asking, "larder/list.html", rows=rows, words=words, within=within, chosen=None))

    @rooms.get("/larder/item")
    async def one(request: Request, item: str = "") -> Response:
        asking = await desk.asking(request)
        chosen = await _item(desk, item)
        prices = await desk.call(desk.store.prices.of, chosen["name"]) if chosen else ()
        return HTMLResponse(
            desk.part(
                asking, "larder/item.html", chosen=chosen, prices=prices, writes=asking.may(Act.KITCHEN),
                today=now().date().isoformat(),
            )
        )  # fmt: skip

    @rooms.post("/larder/price")
    async def price(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PRICES)
        try:
            each = float(form.get("price", "").replace(",", "."))
            day = date.fromisoformat(form.get("from", ""))
        except ValueError:
            raise BadInput(asking.words("larder.bad_price"), remedy=asking.words("larder.price_remedy")) from None
        name = form.get("item", "").strip()[:120]
        await desk.call(
            desk.store.prices.add, name, asking.by(), price=each, currency=form.get("currency", "EUR")[:3], mass=1.0,
            from_day=day, supplier=form.get("supplier", "")[:120],
        )  # fmt: skip
        return RedirectResponse(request.url_for("show_larder_item", name=name).path, status_code=303)

    @rooms.get("/larder/of/{name}", name="show_larder_item")
    async def named(request: Request, name: str) -> Response:
        return await page(await desk.asking(request), name, "", name)

    @rooms.post("/larder/sheet")
    async def sheet(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await request.form(max_files=1, max_fields=10)
        desk.guard(asking, str(form.get("csrf", "")))
        asking.must(Act.KITCHEN)
        sent = form.get("sheet")
        if sent is None or isinstance(sent, str) or not sent.filename:
            raise BadInput(asking.words("errors.no_file"), remedy=asking.words("larder.send_sheet"))
        data = await sent.read()
        found = await desk.workers.ask("supplier_sheet", data=data, name=sent.filename[:80], remember=False)
        return desk.page(
            asking, "larder/preview.html", room="larder", sheet=found, name=sent.filename[:80],
            entries=json.dumps(found["entries"], ensure_ascii=False), patterns=await desk.workers.ask("patterns"),
        )  # fmt: skip

    @rooms.post("/larder/take")
    async def take(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.KITCHEN)
        try:
            entries = json.loads(form.get("entries", "{}"))
        except ValueError:
            raise BadInput(asking.words("errors.stale_form"), remedy=asking.words("errors.load_again")) from None
        if not isinstance(entries, dict) or not entries:
            raise BadInput(asking.words("larder.nothing_read"), remedy=asking.words("larder.send_sheet"))
        await _kept(desk, asking, entries)
        return RedirectResponse("/larder", status_code=303)

    return rooms


async def _kept(desk: Desk, asking: Asking, entries: dict[str, Any]) -> None:
    """Add own items to the kitchen; a plain kitchen is begun when there is none."""
    documents = desk.store.documents
    heads = await desk.call(documents.heads, Kind.KITCHEN)
    if heads:
        head = heads[0]
        version = await desk.call(documents.version, Kind.KITCHEN, head.slug)
        text = await desk.workers.ask("with_items", kitchen=version.text, entries=entries)
        await desk.call(
            documents.save, Kind.KITCHEN, head.slug, text, asking.by(asking.words("larder.sheet_taken")), rev=head.rev
        )
        return
    text = await desk.workers.ask("with_items", kitchen="demoule: 1\nkitchen: Kitchen\n", entries=entries)
    await desk.call(documents.begin, Kind.KITCHEN, "Kitchen", text, asking.by(asking.words("larder.sheet_taken")))
