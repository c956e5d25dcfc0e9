"""Paper: the pages of a dossier as they will be printed, and the PDF."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from demoule.store import Kind, Version
from demoule.web.desk import Asking, Desk
from demoule.web.rooms.bench import pieces_of

__all__ = ["router"]

_PICTURE = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:"
"""A page is shown as a picture, in which nothing runs and nothing is fetched."""


def router(desk: Desk) -> APIRouter:
    """The ways of the paper."""
    rooms = APIRouter(include_in_schema=False)

    async def given(asking: Asking, version: Version, request: Request) -> dict[str, Any]:
        kitchen, prices = await desk.kitchen()
        asked = request.query_params
        day = version.at.date().isoformat()
        return {
            "text": version.text,
            "kitchen": kitchen,
            "prices": prices,
            "pieces": pieces_of(asked.get("pieces", "")),
            "market": asked.get("market", "") if asked.get("market") in ("EU", "US") else "",
            "paper": "letter" if asked.get("paper") == "letter" else "a4",
            "system": asking.system,
            "made": asking.words("paper.made", n=version.n, day=day),
        }

    @rooms.get("/paper")
    async def some(request: Request) -> Response:
        await desk.asking(request)
        slug = await desk.first_dessert()
        return RedirectResponse(f"/paper/{slug}" if slug else "/", status_code=303)

    @rooms.get("/paper/{slug}")
    async def show(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        version = await desk.call(desk.store.documents.version, Kind.DESSERT, slug)
        pages = await desk.workers.ask("pages", **await given(asking, version, request))
        asked = request.query_params
        query = "&".join(
            f"{key}={asked[key]}"
            for key in ("pieces", "market", "paper")
            if asked.get(key, "").isalnum() and len(asked[key]) < 8
        )
        return desk.page(
            asking, "paper.html", room="paper", slug=slug, version=version, count=len(pages), query=query, asked=asked,
            desserts=await desk.call(desk.store.documents.heads, Kind.DESSERT),
        )  # fmt: skip

    @rooms.get("/paper/{slug}/{number}.svg")
    async def one(request: Request, slug: str, number: int) -> Response:
        asking = await desk.asking(request)
        version = await desk.call(desk.store.documents.version, Kind.DESSERT, slug)
        pages = await desk.workers.ask("pages", **await given(asking, version, request))
        if not 1 <= number <= len(pages):
            return Response(status_code=404)
        return Response(
            pages[number - 1],
            media_type="image/svg+xml",
            headers={"Content-Security-Policy": _PICTURE, "Cache-Control": "private, max-age=60"},
        )

    @rooms.get("/paper/{slug}/dossier.pdf")
    async def pdf(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        version = await desk.call(desk.store.documents.version, Kind.DESSERT, slug)
        made = await desk.workers.ask("pdf", **await given(asking, version, request))
        return Response(
            made,
            media_type="application/pdf",
            headers={"Content-Disposition": f'inline; filename="{version.slug}.pdf"'},
        )

    return rooms
