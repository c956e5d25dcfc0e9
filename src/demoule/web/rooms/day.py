"""Day sheets on a tablet: do the next thing, tick it; who is where now. A tick counts as what happened."""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, Happening
from demoule.web.desk import Asking, Desk, form_of, now
from demoule.web.weeks import AtHand, at_hand, week_that_counts

__all__ = ["happenings_of", "note_ticks", "plain_happening", "router"]

_MOST = 500


def plain_happening(one: Happening) -> dict[str, Any]:
    """A happening as plain data, masses in kg and temperatures in K."""
    return {
        "key": one.key, "day": one.day.isoformat(), "task": one.task, "kind": one.kind, "who": one.who,
        "at": one.at.isoformat(), "start": one.start.isoformat() if one.start else None,
        "end": one.end.isoformat() if one.end else None, "mass": one.mass, "temperature": one.temperature,
        "pieces": one.pieces, "lot": one.lot, "note": one.note, "replaces": one.replaces,
    }  # fmt: skip


async def happenings_of(desk: Desk, slug: str, *, whole: bool = False) -> list[dict[str, Any]]:
    """What happened in a week; also what was taken back, when asked."""
    found = await desk.call(desk.store.happened.list, slug[:80], whole=whole)
    return [plain_happening(one) for one in found]


def _moment(words: Any, otherwise: datetime) -> datetime:
    """A moment as a tablet tells it: sent again, it must be the same; when it arrived is kept beside it."""
    if not words:
        return otherwise
    try:
        found = datetime.fromisoformat(str(words)[:40].replace("Z", "+00:00"))
    except ValueError:
        raise BadInput(f"“{str(words)[:40]}” is no moment.", remedy="send it as 2026-05-02T19:30:00Z.") from None
    if found.tzinfo is None:
        raise BadInput(f"“{str(words)[:40]}” has no time zone.", remedy="send it as 2026-05-02T19:30:00Z.")
    return found


async def note_ticks(
    desk: Desk, asking: Asking, slug: str, ticks: Sequence[dict[str, Any]], who: str
) -> tuple[Happening, ...]:
    """Note ticks, all of them or none; one that came already is left as it is.

    Raises
    ------
    BadInput
        For what cannot be read, with the words that were typed.
    """
    if len(ticks) > _MOST:
        raise BadInput(f"{len(ticks)} ticks at once; at most {_MOST} are taken.", remedy="send them in parts.")
    arrived = now()
    read = await desk.workers.ask("ticks_read", ticks=list(ticks), system=asking.system, remember=False)
    happenings = []
    for one in read:
        try:
            day = date.fromisoformat(str(one["day"] or "")[:10])
        except ValueError:
            raise BadInput("A tick has no day.", remedy="send it with the day of its sheet.") from None
        at = _moment(one["at"], arrived)
        happenings.append(
            Happening(
                key=str(one["key"] or "")[:80], book=slug[:80], day=day, task=str(one["task"] or "")[:200],
                kind=str(one["kind"] or ""), who=(who or asking.who)[:200], at=at,
                start=_moment(one["start"], at) if one["start"] else None,
                end=_moment(one["end"], at) if one["end"] else None,
                mass=one.get("mass"), temperature=one.get("temperature"), pieces=one.get("pieces"),
                note=str(one["note"] or "")[:2000], replaces=str(one["replaces"] or "")[:80],
            )
        )  # fmt: skip
    noted: tuple[Happening, ...] = await desk.call(desk.store.happened.add, happenings, asking.by())
    return noted


def router(desk: Desk) -> APIRouter:
    """The ways of the day sheets."""
    rooms = APIRouter(include_in_schema=False)

    async def sheet(asking: Asking, week: AtHand, person: str, day: str, likely: Sequence[str] = ()) -> dict[str, Any]:
        found: dict[str, Any] = await desk.ask_week(
            "day", texts=week.texts, text=week.version.text, person=person[:200], date=day[:10],
            now=now().isoformat(timespec="minutes"), happenings=await happenings_of(desk, week.slug),
            likely=list(likely), theme=asking.theme, system=asking.system, language=asking.language,
        )  # fmt: skip
        return found

    def rows(asking: Asking, week: AtHand, found: dict[str, Any]) -> str:
        return desk.part(
            asking, "day/rows.html", day=found, week_slug=week.slug, ticks=asking.may(Act.RECORD),
            key=secrets.token_urlsafe(9),
        )  # fmt: skip

    @rooms.get("/day")
    async def today(request: Request) -> Response:
        await desk.asking(request)
        slug = await week_that_counts(desk, now())
        return RedirectResponse(f"/week/{slug}/day" if slug else "/week", status_code=303)

    @rooms.get("/week/{slug}/day")
    async def show(request: Request, slug: str, person: str = "", day: str = "") -> Response:
        asking = await desk.asking(request)
        week = await at_hand(desk, asking, slug, kept=True)
        found = await sheet(asking, week, person, day, [_shown_last(request), asking.who])
        response = desk.page(
            asking, "day.html", room="week", week_slug=slug, at=week, day=found,
            ticks=asking.may(Act.RECORD), key=secrets.token_urlsafe(9),
        )  # fmt: skip
        desk.cookie(response, "sheet", found["person"].encode().hex())
        return response

    @rooms.get("/week/{slug}/day/parts")
    async def parts(request: Request, slug: str, person: str = "", day: str = "") -> Response:
        asking = await desk.asking(request)
        week = await at_hand(desk, asking, slug, kept=True)
        return JSONResponse({"regions": {"rows": rows(asking, week, await sheet(asking, week, person, day))}})

    @rooms.post("/week/{slug}/ticks")
    async def many(request: Request, slug: str, person: str = "", day: str = "") -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.RECORD)
        week = await at_hand(desk, asking, slug, kept=True)
        try:
            ticks = json.loads(form.get("ticks", "[]"))
        except ValueError:
            ticks = None
        if not isinstance(ticks, list) or not all(isinstance(one, dict) for one in ticks):
            raise BadInput("The ticks cannot be read.", remedy="load the page again; they are kept on the tablet.")
        await note_ticks(desk, asking, slug, ticks, person)
        found = await sheet(asking, week, person, day)
        return JSONResponse({"regions": {"rows": rows(asking, week, found)}, "at": now().isoformat()})

    @rooms.post("/week/{slug}/tick")
    async def one(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.RECORD)
        await at_hand(desk, asking, slug, kept=True)
        ticks = _from_form(form)
        await note_ticks(desk, asking, slug, ticks, form.get("person", ""))
        return _back(slug, form)

    @rooms.post("/week/{slug}/undo")
    async def undo(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.RECORD)
        day, person = form.get("day", "")[:10], form.get("person", "")[:200]
        mine = [
            one for one in await happenings_of(desk, slug) if one["day"] == day and (not person or one["who"] == person)
        ]
        if mine:
            last = max(mine, key=lambda one: one["at"])
            taken = {"key": f"u-{last['key']}"[:80], "day": day, "task": last["task"], "kind": "withdrawn",
                     "replaces": last["key"]}  # fmt: skip
            await note_ticks(desk, asking, slug, [taken], person)
        return _back(slug, form)

    @rooms.get("/week/{slug}/now")
    async def here(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        week, found = await where(asking, slug, request.query_params.get("at", ""))
        return desk.page(asking, "now.html", room="week", week_slug=slug, at=week, here=found)

    @rooms.get("/week/{slug}/now/parts")
    async def here_parts(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        week, found = await where(asking, slug, request.query_params.get("at", ""))
        part = desk.part(asking, "day/here.html", here=found, week_slug=week.slug)
        return JSONResponse({"regions": {"here": part}})

    async def where(asking: Asking, slug: str, at: str) -> tuple[AtHand, dict[str, Any]]:
        week = await at_hand(desk, asking, slug, kept=True)
        found: dict[str, Any] = await desk.ask_week(
            "now_where", texts=week.texts, text=week.version.text, now=at[:32] or now().isoformat(timespec="minutes"),
            happenings=await happenings_of(desk, slug), language=asking.language,
        )  # fmt: skip
        return week, found

    return rooms


def _shown_last(request: Request) -> str:
    """Whose sheet this tablet showed last."""
    try:
        return bytes.fromhex(request.cookies.get("sheet", "")[:400]).decode()
    except ValueError:
        return ""


def _back(slug: str, form: dict[str, str]) -> Response:
    query = urlencode({"person": form.get("person", "")[:200], "day": form.get("day", "")[:10]})
    return RedirectResponse(f"/week/{slug}/day?{query}", status_code=303)


def _from_form(form: dict[str, str]) -> list[dict[str, Any]]:
    """The ticks of a page without a script."""
    kind, key, task, day = (form.get(name, "") for name in ("kind", "key", "task", "day"))
    at = now().isoformat()
    base = {"day": day, "task": form.get("about") or task, "at": at}
    if kind == "end":
        found = [{**base, "key": f"{key}-e", "kind": "end", "end": at}]
        if form.get("core", "").strip():
            found.append({**base, "key": f"{key}-t", "kind": "temperature", "core": form["core"]})
        if form.get("pieces", "").strip():
            found.append({**base, "key": f"{key}-p", "kind": "pieces", "pieces": form["pieces"]})
        return found
    if kind == "start":
        return [{**base, "key": f"{key}-s", "kind": "start", "start": at}]
    if kind == "weight":
        told = {"note": form.get("what", ""), "really": form.get("really", ""), "planned": form.get("planned", "")}
        return [{**base, "key": f"{key}-w", "kind": "weight", **told}]
    if kind == "note" and form.get("words", "").strip():
        return [{**base, "key": f"{key}-n", "kind": "note", "note": form["words"]}]
    return []
