"""Bench: a dessert being designed; the form holds the truth, and figures follow what is typed."""

from __future__ import annotations

import asyncio
import difflib
from collections import OrderedDict
from collections.abc import Hashable
from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, Head, Kind, Version
from demoule.web.bench_parts import Before, awaited, before_of, notes, opened, regions
from demoule.web.desk import Asking, Desk, fields_of, form_of, now, whole
from demoule.web.rooms.keeping import Keeping, changed_lines, rev_of
from demoule.web.workers import Overtaken

__all__ = ["pieces_of", "router", "worked"]

_SOON = 1.0  # s that a page waits for all of its figures
_AT_HAND = 64  # kept versions whose figures are remembered


def pieces_of(words: str) -> int | None:
    """The number of pieces that is asked for; None when nothing usable is."""
    pieces = whole(words.replace("\u202f", "").replace(" ", ""))
    return pieces if pieces is not None and 0 < pieces <= 1_000_000 else None


async def worked(
    desk: Desk, asking: Asking, question: str = "bench", *, place: tuple[str, str] | None = None, **given: Any
) -> dict[str, Any]:
    """The numerics' answer for a dessert, in the reader's units, language and light.

    Parameters
    ----------
    place
        Kitchen and prices, where they were read already.
    """
    kitchen, prices = place or await desk.kitchen()
    found: dict[str, Any] = await desk.workers.ask(
        question,
        kitchen=kitchen,
        prices=prices,
        theme=asking.theme,
        system=asking.system,
        language=asking.language,
        **given,
    )
    return found


def router(desk: Desk) -> APIRouter:
    """The ways of the Bench."""
    rooms = APIRouter(include_in_schema=False)
    documents = desk.store.documents
    keeping = Keeping(desk=desk, kind=Kind.DESSERT, act=Act.DESIGN, way="/bench", room="bench", home="/bench/{slug}")
    at_hand: OrderedDict[Hashable, Before] = OrderedDict()

    async def before(
        asking: Asking,
        version: Version,
        pieces: int | None,
        place: tuple[str, str],
        found: dict[str, Any] | None = None,
        *,
        wait: bool = True,
    ) -> Before | None:
        """Figures and fields of the version that is kept; None when nobody may wait and they are not at hand."""
        known = (*place, version.digest, asking.system, asking.language)
        if (known, pieces) not in at_hand:
            if found is None and not wait:
                return None
            found = found or await worked(
                desk, asking, place=place, text=version.text, pieces=pieces, pictures=False, near=version.slug
            )
            usual = found["answer"]["pieces"] if found["answer"] is not None else None
            at_hand[known, pieces] = at_hand[known, usual] = before_of(found)
            while len(at_hand) > _AT_HAND:
                at_hand.popitem(last=False)
        return at_hand[known, pieces]

    async def at_once(asking: Asking, slug: str, text: str, place: tuple[str, str], **given: Any) -> dict[str, Any]:
        """The whole answer when it comes soon; else its first part, and the page asks for the rest."""
        given |= {"text": text, "near": slug, "place": place}
        whole = asyncio.ensure_future(worked(desk, asking, **given))
        ready = asyncio.ensure_future(worked(desk, asking, "bench_first", **given))  # the next edit finds it warm, too
        done, _ = await asyncio.wait({whole}, timeout=_SOON)
        if done:
            ready.add_done_callback(_heard)
            return await whole
        whole.add_done_callback(_heard)
        return await ready

    @rooms.get("/bench")
    async def some_dessert(request: Request) -> Response:
        await desk.asking(request)
        slug = await desk.first_dessert()
        return RedirectResponse(f"/bench/{slug}" if slug else "/", status_code=303)

    @rooms.get("/bench/{slug}")
    async def show(request: Request, slug: str, layer: str = "", n: int | None = None) -> Response:
        asking = await desk.asking(request)
        head = await desk.call(documents.head, Kind.DESSERT, slug)
        version = await desk.call(documents.version, Kind.DESSERT, slug, n)
        draft = None if n else await desk.call(desk.store.drafts.of, Kind.DESSERT, slug, asking.who)
        text, rev = version.text, head.rev
        if draft is not None and draft.text != version.text:
            text, rev = draft.text, draft.rev
        return await page(asking, slug, head, version, text, rev, layer=layer[:80], looking_back=n is not None)

    async def page(
        asking: Asking,
        slug: str,
        head: Any,
        version: Version,
        text: str,
        rev: int,
        *,
        layer: str = "",
        looking_back: bool = False,
        pieces: int | None = None,
        status: int = 200,
    ) -> Response:
        place = await desk.kitchen()
        found = await at_once(asking, slug, text, place, chosen=layer, pieces=pieces)
        complete = not found["later"]
        kept = await before(
            asking, version, pieces, place, found if complete and text == version.text else None, wait=complete
        )
        names = await desk.workers.ask("kitchen_names", kitchen=place[0])
        told = {
            "slug": slug, "head": head, "version": version, "changed": changed_lines(version.text, text),
            "newer": head.rev > rev, "open": opened(found, layer),
        }  # fmt: skip
        return desk.page(
            asking,
            "bench.html",
            room="bench",
            status=status,
            parts=regions(desk, asking, found, kept, **told),
            notes=notes(asking, found, kept),
            found=found,
            rev=rev,
            layer=layer,
            looking_back=looking_back,
            names=names,
            desserts=await desk.call(documents.heads, Kind.DESSERT),
            history=(await desk.call(documents.history, Kind.DESSERT, slug))[:30],
            writes=asking.may(Act.DESIGN) and not looking_back,
            key_base=f"{slug}-{now().timestamp():.3f}",
            later=awaited(found),
            **told,
        )

    def standing(slug: str) -> tuple[tuple[str, str], Head, Version]:
        """Kitchen and prices, and a dessert as it stands, in one go."""
        return desk.kitchen_now(), documents.head(Kind.DESSERT, slug), documents.version(Kind.DESSERT, slug)

    async def note(asking: Asking, version: Version, text: str, at: datetime, rev: int, *, rest: bool) -> None:
        """What is typed is kept beside the versions before anybody is told that it is noted."""
        if rest or not asking.may(Act.DESIGN):
            return
        if text != version.text:
            await desk.call(desk.store.drafts.keep, Kind.DESSERT, version.slug, asking.who, text, at, rev=rev)
        else:
            await desk.call(desk.store.drafts.drop, Kind.DESSERT, version.slug, asking.who)

    @rooms.post("/bench/{slug}/figures")
    async def figures(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        fields, units = fields_of(form)
        text, layer = form.get("text", ""), form.get("layer", "")[:80]
        pieces = pieces_of(form.get("wanted", ""))
        act = {k: form.get(k, "") for k in ("act", "at", "what", "amount", "words")} if form.get("act") else None
        rest = bool(form.get("rest"))
        page = (asking.session, slug, "page")
        desk.workers.drop((*page, "rest"))
        more: dict[str, Any] = {"pictures": False} if rest else {"act": act, "view": _view(form.get("view", ""))}
        place, head, version = await desk.call(standing, slug)
        try:
            found = await worked(
                desk, asking, "bench" if rest else "bench_first", place=place, text=text, fields=fields, units=units,
                chosen=layer, pieces=pieces, near=slug, turn=(*page, "rest" if rest else "first"), remember=False,
                **more,
            )  # fmt: skip
        except Overtaken:
            return Response(status_code=204)
        rev = rev_of(form, head.rev)
        at = now()
        noted = asyncio.ensure_future(note(asking, version, found["text"], at, rev, rest=rest))
        kept = await before(asking, version, pieces, place, wait=rest)
        told = {
            "slug": slug, "head": head, "version": version, "changed": changed_lines(version.text, found["text"]),
            "newer": head.rev > rev, "open": opened(found, layer),
        }  # fmt: skip
        answer: dict[str, Any] = {
            "regions": regions(desk, asking, found, kept, **told),
            "later": awaited(found),
            "notes": notes(asking, found, kept),
            "text": found["text"],
            "rev": rev,
            "good": found["answer"] is not None,
            "at": at.isoformat(),
            "changed": told["changed"],
            "open": told["open"],
            "wrong": found["wrong"],
        }
        await noted
        if (act or form.get("whole")) and found["form"] is not None:
            names = await desk.workers.ask("kitchen_names", kitchen=place[0])
            answer["form"] = desk.part(
                asking, "bench/form.html", found=found, names=names, notes=answer["notes"], parts=answer["regions"],
                writes=True, layer=layer, **told,
            )  # fmt: skip
        return JSONResponse(answer)

    @rooms.post("/bench/{slug}/keep")
    async def keep(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.DESIGN)
        fields, units = fields_of(form)
        plain = "application/json" not in request.headers.get("accept", "")
        found = await worked(desk, asking, text=form.get("text", ""), fields=fields, units=units, pictures=False)
        name = (found["form"] or {}).get("name") or slug
        return await keeping.keep(asking, slug, form, found["text"], plain=plain, name=name)

    keeping.settles(rooms)
    keeping.goes_back(rooms)
    keeping.gives_text(rooms)

    @rooms.post("/bench/{slug}/branch")
    async def branch(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.DESIGN)
        name = form.get("name", "").strip()[:120]
        if not name:
            raise BadInput(asking.words("errors.no_name"), remedy=asking.words("errors.give_name"))
        version = await desk.call(documents.version, Kind.DESSERT, slug)
        made = await desk.call(documents.branch, Kind.DESSERT, slug, name, asking.by(form.get("why", "") or name))
        found = await desk.workers.ask("bench", text=version.text, fields={"/name": name}, pictures=False)
        await desk.call(documents.save, Kind.DESSERT, made.slug, found["text"], asking.by(), rev=made.rev, name=name)
        return RedirectResponse(f"/bench/{made.slug}", status_code=303)

    @rooms.post("/bench/{slug}/away")
    async def put_away(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        desk.guard(asking, (await form_of(request)).get("csrf", ""))
        asking.must(Act.DESIGN)
        head = await desk.call(documents.head, Kind.DESSERT, slug)
        await desk.call(documents.put_away, Kind.DESSERT, slug, asking.by(), rev=head.rev)
        return RedirectResponse("/", status_code=303)

    @rooms.get("/bench/{slug}/versions/{n}")
    async def compare(request: Request, slug: str, n: int) -> Response:
        asking = await desk.asking(request)
        old = await desk.call(documents.version, Kind.DESSERT, slug, n)
        new = await desk.call(documents.version, Kind.DESSERT, slug)
        earlier = await worked(desk, asking, text=old.text, pictures=False)
        after = await worked(desk, asking, text=new.text, pictures=False)
        moved = []
        if earlier["answer"] and after["answer"]:
            was = {(one["of"], one["key"]): one["text"] for one in earlier["answer"]["figures"]}
            moved = [
                {**one, "was": was.get((one["of"], one["key"]), "")}
                for one in after["answer"]["figures"]
                if was.get((one["of"], one["key"])) != one["text"]
            ]
        lines = [
            line
            for line in difflib.unified_diff(old.text.splitlines(), new.text.splitlines(), lineterm="", n=1)
            if not line.startswith(("---", "+++"))
        ]
        return desk.page(
            asking, "bench/compare.html", room="bench", slug=slug, old=old, new=new, moved=moved, lines=lines[:400],
            writes=asking.may(Act.DESIGN),
        )  # fmt: skip

    @rooms.post("/desserts")
    async def begin(request: Request) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.DESIGN)
        name = form.get("name", "").strip()[:120]
        if not name:
            raise BadInput(asking.words("errors.no_name"), remedy=asking.words("errors.give_name"))
        kitchen, _ = await desk.kitchen()
        text = await desk.workers.ask("begin", name=name, mould=form.get("mould", ""), kitchen=kitchen)
        made = await desk.call(documents.begin, Kind.DESSERT, name, text, asking.by(), key=form.get("key", "")[:80])
        return RedirectResponse(f"/bench/{made.slug}", status_code=303)

    return rooms


def _heard(asked: asyncio.Future[Any]) -> None:
    """An answer that nobody waits for any more is no news."""
    if not asked.cancelled():
        asked.exception()


def _view(words: str) -> str:
    return words if words in ("wide", "small") else ""
