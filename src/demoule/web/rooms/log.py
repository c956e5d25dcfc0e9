"""Log: what really happened, making by making, beside what was planned."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from demoule.web.desk import Asking, Desk, now
from demoule.web.rooms.day import happenings_of
from demoule.web.weeks import AtHand, at_hand, week_heads, week_that_counts

__all__ = ["log_told", "router"]


async def log_told(desk: Desk, asking: Asking, week: AtHand) -> dict[str, Any]:
    """The Log of a week, in the reader's language and units."""
    found: dict[str, Any] = await desk.ask_week(
        "log", texts=week.texts, text=week.version.text, happenings=await happenings_of(desk, week.slug),
        whole=await happenings_of(desk, week.slug, whole=True), system=asking.system, language=asking.language,
    )  # fmt: skip
    return found


def router(desk: Desk) -> APIRouter:
    """The ways of the Log."""
    rooms = APIRouter(include_in_schema=False)

    @rooms.get("/log")
    async def some(request: Request) -> Response:
        asking = await desk.asking(request)
        slug = await week_that_counts(desk, now())
        if slug:
            return RedirectResponse(f"/log/{slug}", status_code=303)
        return desk.page(asking, "log.html", room="log", log=None, weeks=[], week_slug="", at=None)

    @rooms.get("/log/{slug}")
    async def show(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        week = await at_hand(desk, asking, slug, kept=True)
        return desk.page(
            asking, "log.html", room="log", week_slug=slug, at=week, log=await log_told(desk, asking, week),
            weeks=await week_heads(desk),
        )  # fmt: skip

    return rooms
