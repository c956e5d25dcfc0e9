"""What every page over a kept document can do: keep it, settle two people, go back, restore, give out its text."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, Kind, Stale
from demoule.web.desk import Asking, Desk, form_of, now, whole

__all__ = ["Keeping", "changed_lines", "rev_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """How documents of one kind are kept from their page.

    Parameters
    ----------
    act
        What a person must be allowed to do to change one.
    way
        Where the addresses of its acts begin, such as "/bench".
    room
        The room that its pages belong to.
    home
        The address of the page of one document, "{slug}" standing for its slug.
    differ, merge
        The questions that lay two texts side by side, and put one together from both.
    """

    desk: Desk
    kind: Kind
    act: Act
    way: str
    room: str
    home: str
    differ: str = "differences"
    merge: str = "merged"

    async def noted(self, asking: Asking, slug: str, text: str, rev: int) -> None:
        """Keep what was typed beside the versions."""
        await self.desk.call(self.desk.store.drafts.keep, self.kind, slug, asking.who, text, now(), rev=rev)

    async def dropped(self, asking: Asking, slug: str) -> None:
        """Forget what was typed beside the versions."""
        await self.desk.call(self.desk.store.drafts.drop, self.kind, slug, asking.who)

    async def keep(
        self, asking: Asking, slug: str, form: Mapping[str, str], text: str, *, plain: bool, name: str | None = None
    ) -> Response:
        """Keep a text as the newest version; where somebody was quicker, show both."""
        try:
            version = await self.desk.call(
                self.desk.store.documents.save, self.kind, slug, text, asking.by(form.get("why", "")),
                rev=rev_of(form), name=name, key=form.get("key", "")[:80],
            )  # fmt: skip
        except Stale as stale:
            await self.noted(asking, slug, text, rev_of(form))
            return await self._conflict(asking, slug, text, stale, plain=plain)
        await self.dropped(asking, slug)
        if plain:
            return RedirectResponse(self.home.format(slug=slug), status_code=303)
        return JSONResponse({"kept": version.n, "rev": version.rev, "at": version.at.isoformat()})

    def settles(self, rooms: APIRouter) -> None:
        """Add the way on which two people's texts become one."""

        @rooms.post(f"{self.way}/{{slug}}/settle")
        async def settle(request: Request, slug: str) -> Response:
            asking, form = await self._allowed(request)
            theirs = await self.desk.call(self.desk.store.documents.version, self.kind, slug)
            mine = form.get("mine", "")
            if form.get("whole") == "mine":
                text = mine
            elif form.get("whole") == "theirs":
                text = theirs.text
            else:
                chosen = [key[2:] for key, value in form.items() if key.startswith("c:") and value == "mine"]
                choices = {at: form.get(f"m:{at}", "") for at in chosen}
                text = await self.desk.workers.ask(self.merge, theirs=theirs.text, choices=choices)
            await self.noted(asking, slug, mine, rev_of(form))
            said = {"rev": form.get("rev", ""), "why": asking.words("bench.settled")}
            return await self.keep(asking, slug, said, text, plain=True)

    def goes_back(self, rooms: APIRouter) -> None:
        """Add the ways back: to what is kept, and to an earlier version."""

        @rooms.post(f"{self.way}/{{slug}}/as-kept")
        async def as_kept(request: Request, slug: str) -> Response:
            asking = await self.desk.asking(request)
            self.desk.guard(asking, (await form_of(request)).get("csrf", ""))
            await self.dropped(asking, slug)
            return RedirectResponse(self.home.format(slug=slug), status_code=303)

        @rooms.post(f"{self.way}/{{slug}}/restore")
        async def restore(request: Request, slug: str) -> Response:
            asking, form = await self._allowed(request)
            n = whole(form.get("n", ""))
            if n is None:
                raise BadInput("A version has a number.", remedy="choose one from the list.")
            documents = self.desk.store.documents
            head = await self.desk.call(documents.head, self.kind, slug)
            by = asking.by(asking.words("bench.restored", n=n))
            await self.desk.call(documents.restore, self.kind, slug, n, by, rev=head.rev)
            return RedirectResponse(self.home.format(slug=slug), status_code=303)

    def gives_text(self, rooms: APIRouter) -> None:
        """Add the way on which the text of a version is taken home."""

        @rooms.get(f"{self.way}/{{slug}}/text")
        async def as_text(request: Request, slug: str, n: int | None = None) -> Response:
            await self.desk.asking(request)
            version = await self.desk.call(self.desk.store.documents.version, self.kind, slug, n)
            return Response(
                version.text.encode(),
                media_type="application/yaml; charset=utf-8",
                headers={"Content-Disposition": f'attachment; filename="{version.slug}.yaml"'},
            )

    async def _allowed(self, request: Request) -> tuple[Asking, dict[str, str]]:
        asking = await self.desk.asking(request)
        form = await form_of(request)
        self.desk.guard(asking, form.get("csrf", ""))
        asking.must(self.act)
        return asking, form

    async def _conflict(self, asking: Asking, slug: str, mine: str, stale: Stale, *, plain: bool) -> Response:
        differ = await self.desk.workers.ask(self.differ, mine=mine, theirs=stale.theirs.text)
        told = {"slug": slug, "theirs": stale.theirs, "differ": differ, "mine_text": mine, "settle": self.way}
        if plain:
            return self.desk.page(asking, "bench/conflict_page.html", room=self.room, status=409, **told)
        panel = self.desk.part(asking, "bench/conflict.html", **told)
        return JSONResponse({"conflict": panel, "rev": stale.theirs.rev}, status_code=409)


def rev_of(form: Mapping[str, str], otherwise: int = -1) -> int:
    """The state of the document that a page knew when it was posted."""
    rev = whole(form.get("rev", ""))
    return otherwise if rev is None else rev


def changed_lines(before: str, after: str) -> int:
    """Lines that differ."""
    if before == after:
        return 0
    moved = difflib.SequenceMatcher(None, before.splitlines(), after.splitlines(), autojunk=False)
    return sum(max(i2 - i1, j2 - j1) for tag, i1, i2, j1, j2 in moved.get_opcodes() if tag != "equal")
