"""Week: can it be done, where does it clash; a job moved and what that breaks; planned again when it goes otherwise."""

from __future__ import annotations

import asyncio
from datetime import date, datetime, timedelta
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, By, Kind, NotThere, Stale
from demoule.web.desk import Asking, Desk, form_of, now, whole
from demoule.web.planner import Job
from demoule.web.rooms.keeping import Keeping, rev_of
from demoule.web.weeks import AtHand, at_hand, first_day, fresh_texts, week_heads, week_that_counts

__all__ = ["begin_planning", "change_week", "job_told", "keep_week", "router", "try_moves"]

_PICTURE = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:"
_REGIONS = ("trial", "answers", "stops", "picture", "task", "way", "moved", "findings", "list")
_MOST_DAYS = 28


# ---- acts, for pages and programs alike


async def begin_planning(
    desk: Desk, asking: Asking, book: str, start: date, days: int | None, seconds: float | None = None
) -> Job:
    """Start to plan a week anew; what is found is kept as its first version, or tried where one is kept already."""
    if days is not None and not 1 <= days <= _MOST_DAYS:
        raise BadInput(f"{days} days are asked for.", remedy=f"plan 1 to {_MOST_DAYS} days at once.")
    if not 1970 <= start.year <= 2200:
        raise BadInput("This day lies outside of every calendar.", remedy="write year-month-day.")
    texts, sources = await fresh_texts(desk, book)
    slug = f"{book}-{start.isoformat()}"
    by = asking.by()

    async def done(job: Job) -> str:
        told = await desk.ask_week(
            "week_begun", texts=texts, sources=sources, start=start.isoformat(), days=days, found=job.best
        )
        documents = desk.store.documents
        try:
            head = await desk.call(documents.head, Kind.WEEK, slug)
        except NotThere:
            await desk.call(documents.begin, Kind.WEEK, told["name"], told["text"], by, slug=slug, key=job.ident)
        else:
            await desk.call(desk.store.drafts.keep, Kind.WEEK, slug, by.who, told["text"], now(), rev=head.rev)
        return f"/week/{slug}"

    running = desk.planner.running(slug)
    if running is not None:
        return running
    given = {"texts": texts, "start": start.isoformat(), "days": days, "seconds": seconds}
    return desk.planner.begin(Job(who=asking.who, what=slug, question="search_week", given=given), done)


async def change_week(desk: Desk, asking: Asking, week: AtHand, happened: dict[str, Any]) -> Job:
    """Start to plan again after something happened; what is found is tried, not kept."""
    by, text, rev = asking.by(), week.text, week.rev

    async def done(job: Job) -> str:
        told = await desk.ask_week("week_changed", texts=week.texts, text=text, happened=happened, found=job.best)
        await desk.call(desk.store.drafts.keep, Kind.WEEK, week.slug, by.who, told, now(), rev=rev)
        return f"/week/{week.slug}"

    running = desk.planner.running(week.slug)
    if running is not None:
        return running
    given = {"texts": week.texts, "text": text, "happened": happened}
    return desk.planner.begin(Job(who=asking.who, what=week.slug, question="search_again", given=given), done)


async def try_moves(desk: Desk, asking: Asking, week: AtHand, moves: list[dict[str, Any]]) -> AtHand:
    """Move jobs for a try; the try outlives page and server, and nothing is kept by it."""
    text = await desk.ask_week("week_moved", texts=week.texts, text=week.text, moves=moves)
    if text == week.version.text:
        await desk.call(desk.store.drafts.drop, Kind.WEEK, week.slug, asking.who)
    else:
        await desk.call(desk.store.drafts.keep, Kind.WEEK, week.slug, asking.who, text, now(), rev=week.rev)
    return await at_hand(desk, asking, week.slug)


async def keep_week(desk: Desk, asking: Asking, week: AtHand, by: By, rev: int, key: str) -> Any:
    """Keep what is tried as the next version.

    Raises
    ------
    BadInput
        When it breaks a rule: a plan that cannot be carried out is never kept.
    Stale
        When somebody else kept another version meanwhile.
    """
    broken = await desk.ask_week("week_holds", texts=week.texts, text=week.text)
    if broken:
        raise BadInput(
            asking.words("week.not_kept", count=len(broken), first=broken[0]["says"]),
            remedy=asking.words("week.not_kept_remedy"),
        )
    version = await desk.call(desk.store.documents.save, Kind.WEEK, week.slug, week.text, by, rev=rev, key=key)
    await desk.call(desk.store.drafts.drop, Kind.WEEK, week.slug, asking.who)
    return version


def job_told(job: Job) -> dict[str, Any]:
    """How far a search is, as plain data."""
    return {
        "id": job.ident,
        "state": job.state,
        "seconds": round(job.seconds, 1),
        "best": job.cost if job.best is not None or job.cost else None,
        "better": job.better,
        "week": job.leads.removeprefix("/week/") if job.leads else "",
        "error": {"says": job.error.says, "where": job.error.where, "remedy": job.error.remedy} if job.error else None,
    }


# ---- pages


def router(desk: Desk) -> APIRouter:
    """The ways of the Week."""
    rooms = APIRouter(include_in_schema=False)
    documents, drafts = desk.store.documents, desk.store.drafts
    keeping = Keeping(desk=desk, kind=Kind.WEEK, act=Act.PLAN, way="/week", room="week", home="/week/{slug}")

    async def told(asking: Asking, week: AtHand, request: Request) -> dict[str, Any]:
        asked = request.query_params
        found: dict[str, Any] = await desk.ask_week(
            "week", texts=week.texts, text=week.text, kept=week.version.text if week.tried else "",
            task=asked.get("task", "")[:200], lot=asked.get("lot", "")[:120], day=asked.get("day", "")[:10],
            now=now().isoformat(timespec="minutes"), language=asking.language,
        )  # fmt: skip
        return found

    async def values(asking: Asking, week: AtHand, request: Request) -> dict[str, Any]:
        return {
            "week": await told(asking, week, request), "at": week, "slug": "", "week_slug": week.slug,
            "writes": asking.may(Act.PLAN), "behind": week.head.rev > week.rev,
        }  # fmt: skip

    def parts(asking: Asking, given: dict[str, Any]) -> dict[str, str]:
        return {name: desk.part(asking, f"week/{name}.html", **given) for name in _REGIONS}

    @rooms.get("/week")
    async def some(request: Request) -> Response:
        asking = await desk.asking(request)
        slug = await week_that_counts(desk, now())
        if slug:
            return RedirectResponse(f"/week/{slug}", status_code=303)
        return await beginning(asking)

    @rooms.get("/week/paper")
    async def some_paper(request: Request) -> Response:
        await desk.asking(request)
        slug = await week_that_counts(desk, now())
        return RedirectResponse(f"/week/{slug}/paper" if slug else "/week", status_code=303)

    @rooms.get("/week/begin")
    async def begin_page(request: Request) -> Response:
        return await beginning(await desk.asking(request))

    async def beginning(asking: Asking) -> Response:
        books = await desk.call(documents.heads, Kind.ORDERS)
        first = now().date()
        if books:
            version = await desk.call(documents.version, Kind.ORDERS, books[0].slug)
            first = first_day(version.text, first)
        return desk.page(
            asking, "week/begin.html", room="week", books=books, first=first, weeks=await week_heads(desk),
            writes=asking.may(Act.PLAN), key=f"new-{now().timestamp():.4f}",
        )  # fmt: skip

    @rooms.post("/week/plan")
    async def plan(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PLAN)
        try:
            start = date.fromisoformat(form.get("from", ""))
        except ValueError:
            raise BadInput(asking.words("week.no_day"), remedy=asking.words("week.give_day")) from None
        days = whole(form.get("days", ""))
        job = await begin_planning(desk, asking, form.get("book", "")[:120], start, days)
        return RedirectResponse(f"/week/planning/{job.ident}", status_code=303)

    @rooms.get("/week/planning/{ident}")
    async def planning(request: Request, ident: str) -> Response:
        asking = await desk.asking(request)
        job = desk.planner.job(ident)
        if job is None:
            return desk.page(asking, "week/planning.html", room="week", status=404, job=None, mine=False)
        for _ in range(6):  # a page without a script asks again by itself; a short search needs no page
            if job.over:
                break
            await asyncio.sleep(0.05)
        if job.state == "done":
            return RedirectResponse(job.leads, status_code=303)
        return desk.page(asking, "week/planning.html", room="week", job=job, mine=asking.may(Act.PLAN))

    @rooms.get("/week/planning/{ident}/state")
    async def state(request: Request, ident: str) -> Response:
        asking = await desk.asking(request)
        job = desk.planner.job(ident)
        if job is None:
            return JSONResponse({"state": "gone", "leads": "/week", "told": asking.words("week.planning_gone")}, 404)
        part = desk.part(asking, "week/progress.html", job=job)
        return JSONResponse({"state": job.state, "leads": job.leads, "regions": {"progress": part}})

    @rooms.post("/week/planning/{ident}/stop")
    async def stop(request: Request, ident: str) -> Response:
        asking = await desk.asking(request)
        desk.guard(asking, (await form_of(request)).get("csrf", ""))
        asking.must(Act.PLAN)
        job = desk.planner.job(ident)
        if job is not None:
            desk.planner.cancel(job)
        return RedirectResponse(f"/week/planning/{ident}", status_code=303)

    @rooms.get("/week/{slug}")
    async def show(request: Request, slug: str, n: int | None = None) -> Response:
        asking = await desk.asking(request)
        week = await at_hand(desk, asking, slug, n)
        given = await values(asking, week, request)
        given["writes"] = given["writes"] and n is None
        running = desk.planner.running(slug)
        return desk.page(
            asking, "week.html", room="week", running=running, looking_back=n is not None,
            weeks=await week_heads(desk), history=await desk.call(documents.history, Kind.WEEK, slug, most=30),
            key_base=f"{slug}-{now().timestamp():.3f}", **given,
        )  # fmt: skip

    @rooms.get("/week/{slug}/parts")
    async def some_parts(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        week = await at_hand(desk, asking, slug)
        given = await values(asking, week, request)
        return JSONResponse({"regions": parts(asking, given), "rev": week.rev, "tried": week.tried})

    @rooms.post("/week/{slug}/try")
    async def attempt(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PLAN)
        week = await at_hand(desk, asking, slug)
        plain = "application/json" not in request.headers.get("accept", "")
        move: dict[str, Any] = {"job": form.get("job", "")[:200]}
        if form.get("fit"):
            day, time, person = [*form["fit"].split("|", 2), "", ""][:3]
            move |= {"day": day[:10], "time": time[:8], "person": person[:200]}
        elif form.get("later"):
            words = form["later"].replace("−", "-")
            minutes = whole(words.removeprefix("-"))
            move |= {
                "later": -minutes if minutes is not None and words.startswith("-") else minutes,
                "person": form.get("person", "")[:200],
            }
        else:
            move |= {key: form.get(key, "")[:200] for key in ("day", "time", "person")}
        week = await try_moves(desk, asking, week, [move])
        if plain:
            return RedirectResponse(f"/week/{slug}?task={quote(move['job'])}#task", status_code=303)
        given = await values(asking, week, request)
        return JSONResponse({"regions": parts(asking, given), "rev": week.rev, "tried": week.tried})

    @rooms.post("/week/{slug}/keep")
    async def keep(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PLAN)
        plain = "application/json" not in request.headers.get("accept", "")
        week = await at_hand(desk, asking, slug)
        rev = rev_of(form, week.rev)
        by = asking.by(form.get("why", ""))
        try:
            version = await keep_week(desk, asking, week, by, rev, form.get("key", "")[:80])
        except Stale as stale:
            differ = await desk.ask_week(
                "week_differ", texts=week.texts, mine=week.text, theirs=stale.theirs.text, language=asking.language
            )
            told = {
                "slug": slug, "theirs": stale.theirs, "differ": differ, "mine_text": week.text, "settle": "/week",
            }  # fmt: skip
            if plain:
                return desk.page(asking, "bench/conflict_page.html", room="week", status=409, **told)
            return JSONResponse(
                {"conflict": desk.part(asking, "bench/conflict.html", **told), "rev": stale.theirs.rev}, 409
            )
        if plain:
            return RedirectResponse(f"/week/{slug}", status_code=303)
        return JSONResponse({"kept": version.n, "rev": version.rev, "at": version.at.isoformat()})

    @rooms.post("/week/{slug}/settle")
    async def settle(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PLAN)
        week = await at_hand(desk, asking, slug)
        theirs, mine = week.version.text, form.get("mine", "") or week.text
        if form.get("whole") == "mine":
            text = mine
        elif form.get("whole") == "theirs":
            text = theirs
        else:
            jobs = [k[3:] for k, v in form.items() if k.startswith("c:/") and v == "mine"]
            text = await desk.ask_week("week_merged", texts=week.texts, mine=mine, theirs=theirs, jobs=jobs)
        if text == theirs:
            await desk.call(drafts.drop, Kind.WEEK, slug, asking.who)
        else:
            await desk.ask_week("week_holds", texts=week.texts, text=text)
            await desk.call(drafts.keep, Kind.WEEK, slug, asking.who, text, now(), rev=week.head.rev)
        return RedirectResponse(f"/week/{slug}", status_code=303)

    keeping.goes_back(rooms)

    @rooms.post("/week/{slug}/change")
    async def change(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.PLAN)
        week = await at_hand(desk, asking, slug)
        job = await change_week(desk, asking, week, _happened(asking, form))
        return RedirectResponse(f"/week/planning/{job.ident}", status_code=303)

    # ---- paper

    async def paper(asking: Asking, slug: str, what: str, size: str) -> Any:
        week = await at_hand(desk, asking, slug, kept=True)
        return await desk.ask_week(
            "week_paper", texts=week.texts, text=week.text, what=what, paper=size, system=asking.system
        )

    def size_of(request: Request) -> str:
        return "letter" if request.query_params.get("paper") == "letter" else "a4"

    @rooms.get("/week/{slug}/paper")
    async def paper_page(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        week = await at_hand(desk, asking, slug, kept=True)
        size = size_of(request)
        pages = await paper(asking, slug, "pages", size)
        lists = await paper(asking, slug, "csv", size)
        told = await desk.ask_week("week_people", texts=week.texts, text=week.text)
        return desk.page(
            asking, "week/paper.html", room="paper", at=week, week_slug=slug, count=len(pages), size=size,
            lists=sorted(lists), people=told,
        )  # fmt: skip

    @rooms.get("/week/{slug}/paper/{number}.svg")
    async def one_page(request: Request, slug: str, number: int) -> Response:
        asking = await desk.asking(request)
        pages = await paper(asking, slug, "pages", size_of(request))
        if not 1 <= number <= len(pages):
            return Response(status_code=404)
        return Response(
            pages[number - 1], media_type="image/svg+xml",
            headers={"Content-Security-Policy": _PICTURE, "Cache-Control": "private, max-age=60"},
        )  # fmt: skip

    @rooms.get("/week/{slug}/week.pdf")
    async def pdf(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        made = await paper(asking, slug, "pdf", size_of(request))
        return Response(made, media_type="application/pdf", headers=_named(f"{slug}.pdf", "inline"))

    @rooms.get("/week/{slug}/lists/{name}")
    async def lists(request: Request, slug: str, name: str) -> Response:
        asking = await desk.asking(request)
        found = await paper(asking, slug, "csv", "a4")
        if name not in found:
            return Response(status_code=404)
        return Response(found[name].encode(), media_type="text/csv; charset=utf-8", headers=_named(name))

    @rooms.get("/week/{slug}/week.ics")
    async def calendar(request: Request, slug: str, person: str = "") -> Response:
        asking = await desk.asking(request)
        made = await paper(asking, slug, f"ics {person[:200]}", "a4")
        return Response(made, media_type="text/calendar; charset=utf-8", headers=_named(f"{slug}.ics"))

    return rooms


def _named(name: str, how: str = "attachment") -> dict[str, str]:
    return {"Content-Disposition": f'{how}; filename="{name}"'}


def _happened(asking: Asking, form: dict[str, str]) -> dict[str, Any]:
    """What a form says happened, as a file of events says it."""
    what = form.get("what", "")
    present = _clock(asking, form.get("now", ""))
    told: dict[str, Any] = {"now": present.strftime("%Y-%m-%d %H:%M")}
    thing = form.get("thing", "")[:200]
    if what in ("away", "down"):
        since = _clock(asking, form.get("since", "") or form.get("now", ""))
        until = _clock(asking, form.get("until", "")) if form.get("until") else since + timedelta(hours=12)
        if until <= since:
            raise BadInput(asking.words("week.until_before"), remedy=asking.words("week.until_after"))
        key = "person" if what == "away" else "what"
        told[what] = [{key: thing, "since": f"{since:%Y-%m-%d %H:%M}", "until": f"{until:%Y-%m-%d %H:%M}"}]
    elif what == "failed":
        told["failed"] = [thing]
    elif what == "cancelled":
        told["cancelled"] = [{"what": thing, **({"day": form["day"][:10]} if form.get("day") else {})}]
    elif what == "added":
        until = _clock(asking, form.get("until", ""))
        pieces = whole(form.get("pieces", "")) or 0
        if not 0 < pieces <= 1_000_000:
            raise BadInput(asking.words("week.no_pieces"), remedy=asking.words("week.give_pieces"))
        name = form.get("name", "").strip()[:80] or asking.words("week.new_order")
        told["added"] = [{"what": name, "when": f"{until:%Y-%m-%d %H:%M}", form.get("dessert", "")[:120]: pieces}]
    else:
        raise BadInput(asking.words("week.nothing_happened"), remedy=asking.words("week.say_what"))
    return told


def _clock(asking: Asking, words: str) -> datetime:
    """A moment of a form, on the kitchen's clock."""
    try:
        return datetime.fromisoformat(words.strip()).replace(tzinfo=None)
    except ValueError:
        raise BadInput(asking.words("week.no_moment"), remedy=asking.words("week.give_moment")) from None
