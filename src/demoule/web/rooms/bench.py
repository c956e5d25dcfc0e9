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
from demoule.store import Act, Head, Kind, Stale, Version
from demoule.web.bench_parts import Before, awaited, before_of, notes, opened, regions
from demoule.web.desk import Asking, Desk, fields_of, form_of, now
from demoule.web.workers import Overtaken

__all__ = ["changed_lines", "router", "worked"]

_SOON = 1.0  # s that a page waits for all of its figures
_AT_HAND = 64  # kept versions whose figures are remembered


def pieces_of(words: str) -> int | None:
    """The number of pieces that is asked for; None when nothing usable is."""
    digits = words.strip().replace("\u202f", "").replace(" ", "")
    return int(digits) if digits.isdigit() and 0 < int(digits) <= 1_000_000 else None


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
        rev = int(form["rev"]) if form.get("rev", "").isdigit() else head.rev
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
        rev = int(form["rev"]) if form.get("rev", "").isdigit() else -1
        name = (found["form"] or {}).get("name") or slug
        try:
            version = await desk.call(
                documents.save, Kind.DESSERT, slug, found["text"], asking.by(form.get("why", "")),
                rev=rev, name=name, key=form.get("key", "")[:80],
            )  # fmt: skip
        except Stale as stale:
            await desk.call(desk.store.drafts.keep, Kind.DESSERT, slug, asking.who, found["text"], now(), rev=rev)
            differ = await desk.workers.ask("differences", mine=found["text"], theirs=stale.theirs.text)
            values = {"slug": slug, "theirs": stale.theirs, "differ": differ, "mine_text": found["text"]}
            if plain:
                return desk.page(asking, "bench/conflict_page.html", room="bench", status=409, **values)
            panel = desk.part(asking, "bench/conflict.html", **values)
            return JSONResponse({"conflict": panel, "rev": stale.theirs.rev}, status_code=409)
        await desk.call(desk.store.drafts.drop, Kind.DESSERT, slug, asking.who)
        if plain:
            return RedirectResponse(f"/bench/{slug}", status_code=303)
        return JSONResponse({"kept": version.n, "rev": version.rev, "at": version.at.isoformat()})

    @rooms.post("/bench/{slug}/settle")
    async def settle(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.DESIGN)
        theirs = await desk.call(documents.version, Kind.DESSERT, slug)
        if form.get("whole") == "mine":
            text = form.get("mine", "")
        elif form.get("whole") == "theirs":
            text = theirs.text
        else:
            chosen = {k[2:]: form.get(f"m:{k[2:]}", "") for k, v in form.items() if k.startswith("c:") and v == "mine"}
            text = await desk.workers.ask("merged", theirs=theirs.text, choices=chosen)
        rev = int(form["rev"]) if form.get("rev", "").isdigit() else -1
        await desk.call(desk.store.drafts.keep, Kind.DESSERT, slug, asking.who, form.get("mine", ""), now(), rev=rev)
        try:
            await desk.call(documents.save, Kind.DESSERT, slug, text, asking.by(asking.words("bench.settled")), rev=rev)
        except Stale as stale:
            differ = await desk.workers.ask("differences", mine=text, theirs=stale.theirs.text)
            return desk.page(
                asking, "bench/conflict_page.html", room="bench", status=409, slug=slug, theirs=stale.theirs,
                differ=differ, mine_text=text,
            )  # fmt: skip
        await desk.call(desk.store.drafts.drop, Kind.DESSERT, slug, asking.who)
        return RedirectResponse(f"/bench/{slug}", status_code=303)

    @rooms.post("/bench/{slug}/as-kept")
    async def as_kept(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        desk.guard(asking, (await form_of(request)).get("csrf", ""))
        await desk.call(desk.store.drafts.drop, Kind.DESSERT, slug, asking.who)
        return RedirectResponse(f"/bench/{slug}", status_code=303)

    @rooms.post("/bench/{slug}/restore")
    async def restore(request: Request, slug: str) -> Response:
        asking = await desk.asking(request)
        form = await form_of(request)
        desk.guard(asking, form.get("csrf", ""))
        asking.must(Act.DESIGN)
        head = await desk.call(documents.head, Kind.DESSERT, slug)
        await desk.call(
            documents.restore, Kind.DESSERT, slug, _number(form.get("n", "")),
            asking.by(asking.words("bench.restored", n=form.get("n", ""))), rev=head.rev,
        )  # fmt: skip
        return RedirectResponse(f"/bench/{slug}", status_code=303)

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

    @rooms.get("/bench/{slug}/text")
    async def as_text(request: Request, slug: str, n: int | None = None) -> Response:
        await desk.asking(request)
        version = await desk.call(documents.version, Kind.DESSERT, slug, n)
        return Response(
            version.text.encode(),
            media_type="application/yaml; charset=utf-8",
            headers={"Content-Disposition": f'attachment; filename="{version.slug}.yaml"'},
        )

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


def _number(words: str) -> int:
    if not words.isdigit():
        raise BadInput("A version has a number.", remedy="choose one from the list.")
    return int(words)


def changed_lines(before: str, after: str) -> int:
    """Lines that differ."""
    if before == after:
        return 0
    moved = difflib.SequenceMatcher(None, before.splitlines(), after.splitlines(), autojunk=False)
    return sum(max(i2 - i1, j2 - j1) for tag, i1, i2, j1, j2 in moved.get_opcodes() if tag != "equal")


def _heard(asked: asyncio.Future[Any]) -> None:
    """An answer that nobody waits for any more is no news."""
    if not asked.cancelled():
        asked.exception()


def _view(words: str) -> str:
    return words if words in ("wide", "small") else ""
