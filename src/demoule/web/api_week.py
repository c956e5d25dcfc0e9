"""The acts of Week, orders, day sheets and Log as JSON for programs."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import date, datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import JSONResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, Kind, NotThere, Stale
from demoule.web.api import ERRORS, Slug, Token, plain, program_asks
from demoule.web.desk import Asking, Desk, now
from demoule.web.rooms.day import happenings_of, note_ticks, plain_happening
from demoule.web.rooms.log import log_told
from demoule.web.rooms.week import begin_planning, change_week, job_told, keep_week, try_moves
from demoule.web.security import error_body
from demoule.web.weeks import at_hand, week_heads

__all__ = ["router"]

_LARGEST = 200_000
Asks = Callable[[Request, str | None, Act | None], Awaitable[Asking]]
Ident = Annotated[str, Path(pattern=r"^[A-Za-z0-9_-]{8,40}$")]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid")


class NewOrders(_Entry):
    """An order book to begin."""

    name: str = Field(min_length=1, max_length=120)
    text: str = Field("", max_length=_LARGEST)
    why: str = Field("", max_length=2000)
    key: str = Field("", max_length=80)


class SavedOrders(_Entry):
    """An order book to keep as the next version."""

    text: str = Field(max_length=_LARGEST)
    rev: int = Field(ge=0, le=2**31 - 1)
    why: str = Field("", max_length=2000)
    key: str = Field("", max_length=80)


class Planned(_Entry):
    """A week to plan."""

    book: str = Field(pattern=r"^[a-z0-9][a-z0-9-]{0,79}$")
    start: date = Field(description="The first day.")
    days: int | None = Field(None, ge=1, le=28)
    seconds: float | None = Field(None, ge=1, le=600, allow_inf_nan=False, description="At most so long.")


class Move(_Entry):
    """A job to another hour or other hands; what is not told stays."""

    job: str = Field(min_length=1, max_length=200)
    day: date | None = None
    time: str | None = Field(None, pattern=r"^([01]?\d|2[0-3]):[0-5]\d$")
    later: float | None = Field(None, ge=-40320, le=40320, allow_inf_nan=False, description="By minutes.")
    person: str | None = Field(None, max_length=200)


class Moves(_Entry):
    """Moves to try; nothing is kept by it."""

    moves: list[Move] = Field(max_length=100)


class KeptWeek(_Entry):
    """What is tried, to be kept."""

    rev: int = Field(ge=0, le=2**31 - 1)
    why: str = Field("", max_length=2000)
    key: str = Field("", max_length=80)


class Gone(_Entry):
    """Somebody, or a room or machine, from and until a moment on the kitchen's clock."""

    what: str = Field(min_length=1, max_length=200)
    since: datetime
    until: datetime


class TakenBack(_Entry):
    """An order, on one day or altogether."""

    what: str = Field(min_length=1, max_length=200)
    day: date | None = None


class OneMore(_Entry):
    """One more order."""

    what: str = Field(min_length=1, max_length=80)
    when: str = Field(min_length=1, max_length=80)
    pieces: dict[str, Annotated[int, Field(ge=1, le=1_000_000)]] = Field(min_length=1, max_length=50)


class Happens(_Entry):
    """What happened, and when it is now on the kitchen's clock."""

    now: datetime
    away: list[Gone] = Field(default_factory=list, max_length=50)
    down: list[Gone] = Field(default_factory=list, max_length=50)
    failed: list[Annotated[str, Field(max_length=120)]] = Field(default_factory=list, max_length=50)
    added: list[OneMore] = Field(default_factory=list, max_length=50)
    cancelled: list[TakenBack] = Field(default_factory=list, max_length=50)


class Tick(_Entry):
    """One thing that happened at the bench."""

    key: str = Field(min_length=1, max_length=80, description="Yours; sent again, it is noted once.")
    kind: Literal["tick", "start", "end", "weight", "temperature", "pieces", "note", "withdrawn"]
    day: date
    task: str = Field("", max_length=200)
    at: datetime | None = Field(None, description="With its time zone; else the moment of arrival.")
    start: datetime | None = None
    end: datetime | None = None
    mass: str = Field("", max_length=40, description="“812 g”; a bare number is grams.")
    temperature: str = Field("", max_length=40, description="“-18.5 °C”; a bare number is °C.")
    pieces: int | None = Field(None, ge=0, le=1_000_000)
    note: str = Field("", max_length=2000)
    replaces: str = Field("", max_length=80)


class Ticks(_Entry):
    """Things that happened, all of them noted or none."""

    ticks: list[Tick] = Field(max_length=500)
    who: str = Field("", max_length=200, description="Who did it; else who sends it.")


def _local(moment: datetime) -> str:
    return moment.replace(tzinfo=None).strftime("%Y-%m-%d %H:%M")


def _happened(given: Happens) -> dict[str, Any]:
    """As a file of events says it."""
    told: dict[str, Any] = {"now": _local(given.now)}
    if given.away:
        told["away"] = [{"person": o.what, "since": _local(o.since), "until": _local(o.until)} for o in given.away]
    if given.down:
        told["down"] = [{"what": o.what, "since": _local(o.since), "until": _local(o.until)} for o in given.down]
    if given.failed:
        told["failed"] = given.failed
    if given.added:
        told["added"] = [{"what": one.what, "when": one.when, **one.pieces} for one in given.added]
    if given.cancelled:
        told["cancelled"] = [
            {"what": one.what, **({"day": one.day.isoformat()} if one.day else {})} for one in given.cancelled
        ]
    return told


def _plain_all(value: Any) -> Any:
    """Texts of a program, each checked for signs that no text holds."""
    if isinstance(value, str):
        return plain(value)
    if isinstance(value, dict):
        return {plain(str(key)): _plain_all(one) for key, one in value.items()}
    return [_plain_all(one) for one in value] if isinstance(value, list) else value


def router(desk: Desk) -> APIRouter:
    """The ways of the Week for programs."""
    api = APIRouter(prefix="/api", responses=ERRORS)
    documents = desk.store.documents

    async def asks(request: Request, token: str | None = None, act: Act | None = None) -> Asking:
        return await program_asks(desk, request, token, act)

    def version_told(version: Any) -> dict[str, Any]:
        return {
            "slug": version.slug, "name": version.name, "n": version.n, "rev": version.rev, "at": version.at,
            "who": version.who, "why": version.why, "text": version.text,
        }  # fmt: skip

    def stale_told(stale: Stale) -> JSONResponse:
        body = error_body(stale.says, where=stale.where, remedy=stale.remedy)
        theirs = version_told(stale.theirs)
        return JSONResponse({**body, "mine": stale.mine, "theirs": {**theirs, "at": theirs["at"].isoformat()}}, 409)

    # ---- orders

    @api.get("/orders", tags=["orders"], summary="All order books")
    async def books(request: Request) -> list[dict[str, Any]]:
        await asks(request)
        heads = await desk.call(documents.heads, Kind.ORDERS)
        return [{"slug": h.slug, "name": h.name, "rev": h.rev, "n": h.n, "at": h.at, "who": h.who} for h in heads]

    @api.post("/orders", tags=["orders"], summary="Begin an order book", status_code=201)
    async def begin_book(request: Request, given: NewOrders, token: Token = None) -> dict[str, Any]:
        found = await asks(request, token, Act.PLAN)
        heads = await desk.call(documents.heads, Kind.DESSERT)
        text = plain(given.text) or await desk.workers.ask("orders_begun", desserts=[head.name for head in heads])
        made = await desk.call(
            documents.begin, Kind.ORDERS, plain(given.name), text, found.by(plain(given.why)), key=plain(given.key)
        )
        return version_told(made)

    @api.get("/orders/{slug}", tags=["orders"], summary="An order book, and what is wrong in it")
    async def book(request: Request, slug: Slug) -> dict[str, Any]:
        await asks(request)
        version = await desk.call(documents.version, Kind.ORDERS, slug)
        names = [head.name for head in await desk.call(documents.heads, Kind.DESSERT)]
        told = await desk.workers.ask("orders", text=version.text, desserts=names)
        return {**version_told(version), "mistakes": told["mistakes"], "in_all": told["answer"]}

    @api.put("/orders/{slug}", tags=["orders"], summary="Keep an order book as the next version")
    async def save_book(request: Request, slug: Slug, given: SavedOrders, token: Token = None) -> Any:
        found = await asks(request, token, Act.PLAN)
        try:
            version = await desk.call(
                documents.save, Kind.ORDERS, slug, plain(given.text), found.by(plain(given.why)), rev=given.rev,
                key=plain(given.key),
            )  # fmt: skip
        except Stale as stale:
            return stale_told(stale)
        return version_told(version)

    # ---- planning

    @api.get("/weeks", tags=["week"], summary="All planned weeks, the latest first")
    async def weeks(request: Request) -> list[dict[str, Any]]:
        await asks(request)
        return [
            {"slug": h.slug, "name": h.name, "from": first, "rev": h.rev, "n": h.n, "at": h.at, "who": h.who}
            for h, first in await week_heads(desk)
        ]

    @api.post("/weeks", tags=["week"], summary="Plan a week; look at /plannings for how far it is", status_code=202)
    async def plan(request: Request, given: Planned, token: Token = None) -> dict[str, Any]:
        found = await asks(request, token, Act.PLAN)
        return job_told(await begin_planning(desk, found, given.book, given.start, given.days, given.seconds))

    @api.get("/plannings/{ident}", tags=["week"], summary="How far a planning is, and how good its best week so far")
    async def planning(request: Request, ident: Ident) -> dict[str, Any]:
        await asks(request)
        job = desk.planner.job(ident)
        if job is None:
            raise NotThere("This planning is not known any more.", remedy="look at the weeks.")
        return job_told(job)

    @api.delete("/plannings/{ident}", tags=["week"], summary="Stop a planning; its best week so far is kept")
    async def stop(request: Request, ident: Ident, token: Token = None) -> dict[str, Any]:
        await asks(request, token, Act.PLAN)
        job = desk.planner.job(ident)
        if job is None:
            raise NotThere("This planning is not known any more.", remedy="look at the weeks.")
        desk.planner.cancel(job)
        return job_told(job)

    @api.get("/weeks/{slug}", tags=["week"], summary="A week: kept, or as you try it, with every rule it breaks")
    async def week(request: Request, slug: Slug, tried: bool = False) -> dict[str, Any]:
        found = await asks(request)
        at = await at_hand(desk, found, slug, kept=not tried)
        told = await desk.ask_week("week_json", texts=at.texts, text=at.text)
        return {
            "slug": slug, "rev": at.rev, "n": at.version.n, "tried": at.tried, "changed_since": at.newer, "plan": told
        }  # fmt: skip

    @api.get("/weeks/{slug}/fits", tags=["week"], summary="Hours at which a job fits while all else stays")
    async def fits(
        request: Request, slug: Slug, job: Annotated[str, Query(min_length=1, max_length=200)]
    ) -> list[dict[str, Any]]:
        found = await asks(request)
        at = await at_hand(desk, found, slug)
        told: list[dict[str, Any]] = await desk.ask_week("week_fits", texts=at.texts, text=at.text, job=plain(job))
        return told

    @api.post("/weeks/{slug}/moves", tags=["week"], summary="Try moves and see what breaks; nothing is kept")
    async def moves(request: Request, slug: Slug, given: Moves, token: Token = None) -> dict[str, Any]:
        found = await asks(request, token, Act.PLAN)
        at = await at_hand(desk, found, slug)
        told = [_plain_all(move.model_dump(mode="json", exclude_none=True)) for move in given.moves]
        after = await try_moves(desk, found, at, told)
        broken = await desk.ask_week("week_holds", texts=after.texts, text=after.text)
        return {"rev": after.rev, "tried": after.tried, "broken": broken}

    @api.put("/weeks/{slug}", tags=["week"], summary="Keep what is tried; refused while it breaks a rule")
    async def keep(request: Request, slug: Slug, given: KeptWeek, token: Token = None) -> Any:
        found = await asks(request, token, Act.PLAN)
        at = await at_hand(desk, found, slug)
        try:
            version = await keep_week(desk, found, at, found.by(plain(given.why)), given.rev, plain(given.key))
        except Stale as stale:
            return stale_told(stale)
        return {**version_told(version), "text": None}

    @api.delete("/weeks/{slug}/tried", tags=["week"], summary="Let what is tried go", status_code=204)
    async def as_kept(request: Request, slug: Slug, token: Token = None) -> Response:
        found = await asks(request, token, Act.PLAN)
        await desk.call(desk.store.drafts.drop, Kind.WEEK, slug, found.who)
        return Response(status_code=204)

    @api.post("/weeks/{slug}/changes", tags=["week"], summary="Plan again after something happened", status_code=202)
    async def change(request: Request, slug: Slug, given: Happens, token: Token = None) -> dict[str, Any]:
        found = await asks(request, token, Act.PLAN)
        at = await at_hand(desk, found, slug)
        return job_told(await change_week(desk, found, at, _plain_all(_happened(given))))

    # ---- what happened

    @api.get("/weeks/{slug}/happened", tags=["log"], summary="Everything that was noted")
    async def happened(request: Request, slug: Slug, whole: bool = False) -> list[dict[str, Any]]:
        await asks(request)
        await desk.call(documents.head, Kind.WEEK, slug)
        return await happenings_of(desk, slug, whole=whole)

    @api.post("/weeks/{slug}/happened", tags=["log"], summary="Note what happened; each key once", status_code=201)
    async def note(request: Request, slug: Slug, given: Ticks, token: Token = None) -> list[dict[str, Any]]:
        found = await asks(request, token, Act.RECORD)
        await desk.call(documents.head, Kind.WEEK, slug)
        ticks = []
        for one in given.ticks:
            told = _plain_all(one.model_dump(mode="json"))
            if one.kind == "weight" and not one.mass:
                raise BadInput("A weight is missing.", where=one.key, remedy="send “mass”.")
            if one.kind == "temperature" and not one.temperature:
                raise BadInput("A temperature is missing.", where=one.key, remedy="send “temperature”.")
            if one.kind == "pieces" and one.pieces is None:
                raise BadInput("A number is missing.", where=one.key, remedy="send “pieces”.")
            ticks.append({**told, "really": told["mass"], "core": told["temperature"], "pieces": one.pieces})
        noted = await note_ticks(desk, found, slug, ticks, plain(given.who))
        return [plain_happening(one) for one in noted]

    @api.get("/weeks/{slug}/day", tags=["log"], summary="One person's day, with what is done")
    async def day(
        request: Request,
        slug: Slug,
        person: Annotated[str, Query(max_length=200)] = "",
        on: date | None = None,
    ) -> dict[str, Any]:
        found = await asks(request)
        at = await at_hand(desk, found, slug, kept=True)
        told: dict[str, Any] = await desk.ask_week(
            "day", texts=at.texts, text=at.version.text, person=plain(person), date=on.isoformat() if on else "",
            now=now().isoformat(timespec="minutes"), happenings=await happenings_of(desk, slug), likely=[found.who],
            system=found.system, language=found.language,
        )  # fmt: skip
        return {**told, "rows": [{key: one for key, one in row.items() if key != "ghost"} for row in told["rows"]]}

    @api.get("/weeks/{slug}/now", tags=["log"], summary="Who is where")
    async def where(request: Request, slug: Slug, at: datetime | None = None) -> dict[str, Any]:
        found = await asks(request)
        week_at = await at_hand(desk, found, slug, kept=True)
        told: dict[str, Any] = await desk.ask_week(
            "now_where", texts=week_at.texts, text=week_at.version.text, now=(at or now()).isoformat(),
            happenings=await happenings_of(desk, slug), language=found.language,
        )  # fmt: skip
        return told

    @api.get("/weeks/{slug}/log", tags=["log"], summary="What happened beside what was planned")
    async def log(request: Request, slug: Slug) -> dict[str, Any]:
        found = await asks(request)
        told = await log_told(desk, found, await at_hand(desk, found, slug, kept=True))
        for lot in told["lots"]:
            lot["probe"] = lot["probe"] and {key: one for key, one in lot["probe"].items() if key != "svg"}
            for rows in (lot["hours"], lot["weights"]):
                for row in rows:
                    row.pop("bar", None)
        return told

    # ---- paper

    async def paper(request: Request, slug: str, what: str) -> Any:
        found = await asks(request)
        at = await at_hand(desk, found, slug, kept=True)
        return await desk.ask_week("week_paper", texts=at.texts, text=at.text, what=what, system=found.system)

    @api.get("/weeks/{slug}/paper.pdf", tags=["week"], summary="The week on paper", response_class=Response)
    async def pdf(request: Request, slug: Slug) -> Response:
        return Response(await paper(request, slug, "pdf"), media_type="application/pdf")

    @api.get("/weeks/{slug}/lists", tags=["week"], summary="Day sheets, deliveries, labels and places as CSV texts")
    async def lists(request: Request, slug: Slug) -> dict[str, str]:
        found: dict[str, str] = await paper(request, slug, "csv")
        return found

    @api.get("/weeks/{slug}/calendar.ics", tags=["week"], summary="The week for a calendar", response_class=Response)
    async def calendar(request: Request, slug: Slug, person: Annotated[str, Query(max_length=200)] = "") -> Response:
        made = await paper(request, slug, f"ics {plain(person)}")
        return Response(made, media_type="text/calendar; charset=utf-8")

    return api
