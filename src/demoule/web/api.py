"""The same acts as on the screens, as JSON for programs; one shape of error everywhere."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import JSONResponse, Response

from demoule.errors import BadInput
from demoule.store import Act, Head, Kind, Stale, Version
from demoule.web.desk import GUEST, SESSION, Asking, Desk, Forbidden, now
from demoule.web.security import error_body, form_token, same_origin, token_holds

__all__ = ["ERRORS", "plain", "program_asks", "router"]

Slug = Annotated[str, Path(pattern=r"^[a-z0-9][a-z0-9-]{0,119}$", max_length=120)]
Pieces = Annotated[int | None, Query(ge=1, le=1_000_000)]
Number = Annotated[int, Path(ge=1, le=1_000_000_000)]
Token = Annotated[str | None, Header(alias="X-Form-Token", max_length=128)]
_LARGEST = 200_000


class ErrorBody(BaseModel):
    """What is wrong, where, and what to do."""

    model_config = ConfigDict(extra="allow")
    says: str
    where: str = ""
    remedy: str = ""
    mistakes: list[dict[str, Any]] | None = None


class ErrorAnswer(BaseModel):
    """The one shape of an error."""

    error: ErrorBody


class Entry(BaseModel):
    """What a program may send: nothing that is not named."""

    model_config = ConfigDict(extra="forbid")


class SignIn(Entry):
    """A name and a password."""

    name: str = Field(min_length=1, max_length=120)
    password: str = Field(min_length=1, max_length=1000)


class NewText(Entry):
    """A dessert to begin; without a text, a plain one is made."""

    name: str = Field(min_length=1, max_length=120)
    text: str = Field("", max_length=_LARGEST)
    why: str = Field("", max_length=2000)
    key: str = Field("", max_length=80)


class SavedText(Entry):
    """A text to keep as the next version."""

    text: str = Field(max_length=_LARGEST)
    rev: int = Field(ge=0, le=2**31 - 1)
    why: str = Field("", max_length=2000)
    key: str = Field("", max_length=80)


class Restored(Entry):
    """A version to bring back."""

    n: int = Field(ge=1, le=1_000_000_000)
    rev: int = Field(ge=0, le=2**31 - 1)


class Branched(Entry):
    """A name to go on under."""

    name: str = Field(min_length=1, max_length=120)
    why: str = Field("", max_length=2000)


class Tried(Entry):
    """A text that is not kept, with changes by pointer ("/components/heart/weigh/thyme": "5 g")."""

    text: str = Field(max_length=_LARGEST)
    changes: dict[str, str] = Field(default_factory=dict, max_length=2000)
    pieces: int | None = Field(None, ge=1, le=1_000_000)


class Priced(Entry):
    """A price from a day on."""

    item: str = Field(min_length=1, max_length=120)
    price: float = Field(ge=0, le=1e6, allow_inf_nan=False)
    currency: str = Field("EUR", pattern="^[A-Z]{3}$")
    mass: float = Field(1.0, gt=0, le=1e6, allow_inf_nan=False, description="In kg.")
    from_day: date
    supplier: str = Field("", max_length=120)


class HeadTold(BaseModel):
    """A document as it stands."""

    slug: str
    name: str
    rev: int
    n: int
    at: datetime
    who: str
    why: str


class VersionTold(BaseModel):
    """One version of a document."""

    slug: str
    name: str
    n: int
    rev: int
    act: str
    at: datetime
    who: str
    why: str
    digest: str
    text: str


_WORDS = {
    401: "Nobody is signed in.", 403: "This person may not do it.", 404: "There is no such thing.",
    405: "This cannot be done at this address.", 409: "Somebody else kept another version first.",
    413: "Too much was sent.", 422: "The input cannot be used.", 429: "Too many requests.",
    503: "The answer took too long.",
}  # fmt: skip
ERRORS: dict[int | str, dict[str, Any]] = {
    status: {"model": ErrorAnswer, "description": words} for status, words in _WORDS.items()
}


def _head(head: Head) -> HeadTold:
    return HeadTold(
        slug=head.slug, name=head.name, rev=head.rev, n=head.n, at=head.at, who=head.who, why=head.why
    )  # fmt: skip


def _version(version: Version) -> VersionTold:
    return VersionTold(
        slug=version.slug, name=version.name, n=version.n, rev=version.rev, act=version.act, at=version.at,
        who=version.who, why=version.why, digest=version.digest, text=version.text,
    )  # fmt: skip


def plain(words: str) -> str:
    """A text of a program; a sign that no text holds is refused here, not in the database."""
    if "\0" in words or any(0xD800 <= ord(sign) <= 0xDFFF for sign in words):
        raise BadInput("The text holds a sign that no text holds.", remedy="send plain Unicode text.")
    return words


async def program_asks(desk: Desk, request: Request, token: str | None = None, act: Act | None = None) -> Asking:
    """Who asks; a change from a browser's session needs its token, one with a bearer's token does not."""
    found = await desk.asking(request)
    bearer = request.headers.get("authorization", "").lower().startswith("bearer ")
    if request.method not in ("GET", "HEAD") and not bearer:
        session = request.cookies.get(SESSION, "") or request.cookies.get(GUEST, "")
        alone = not desk.settings.accounts and not session and not request.headers.get("origin")
        if not same_origin(request) or not (alone or token_holds(session, token or "")):
            raise Forbidden("The request carries no token.", remedy="send X-Form-Token, or sign in as a program.")
    if act is not None:
        found.must(act)
    return found


def router(desk: Desk) -> APIRouter:
    """The interface for programs."""
    api = APIRouter(prefix="/api", responses=ERRORS)
    documents = desk.store.documents

    async def asking(request: Request, token: str | None = None, act: Act | None = None) -> Asking:
        return await program_asks(desk, request, token, act)

    @api.post("/session", tags=["people"], summary="Sign in as a program", status_code=201)
    async def sign_in(given: SignIn) -> dict[str, Any]:
        found = await desk.call(
            desk.store.sessions.sign_in, plain(given.name), plain(given.password), now(), about="program"
        )
        return {"token": found.token, "expires": found.expires, "name": found.person.name, "role": found.person.role}

    @api.delete("/session", tags=["people"], summary="Sign out", status_code=204)
    async def sign_out(request: Request, token: Token = None) -> Response:
        found = await asking(request, token)
        if desk.settings.accounts:
            await desk.call(desk.store.sessions.end, found.session, found.by())
        return Response(status_code=204)

    @api.get("/me", tags=["people"], summary="Who asks")
    async def me(request: Request) -> dict[str, Any]:
        found = await asking(request)
        return {
            "name": found.who,
            "role": str(found.person.role) if found.person else "owner",
            "language": found.language,
            "form_token": form_token(found.session) if found.session else "",
        }

    @api.get("/desserts", tags=["desserts"], summary="All desserts")
    async def desserts(request: Request, put_away: bool = False) -> list[HeadTold]:
        await asking(request)
        return [_head(one) for one in await desk.call(documents.heads, Kind.DESSERT, put_away=put_away)]

    @api.post("/desserts", tags=["desserts"], summary="Begin a dessert", status_code=201)
    async def begin(request: Request, given: NewText, token: Token = None) -> VersionTold:
        found = await asking(request, token, Act.DESIGN)
        text = plain(given.text)
        if not text:
            kitchen, _ = await desk.kitchen()
            text = await desk.workers.ask("begin", name=plain(given.name), mould="", kitchen=kitchen)
        return _version(
            await desk.call(
                documents.begin,
                Kind.DESSERT,
                plain(given.name),
                text,
                found.by(plain(given.why)),
                key=plain(given.key),
            )
        )

    @api.get("/desserts/{slug}", tags=["desserts"], summary="The version that stands, or an older one")
    async def dessert(
        request: Request, slug: Slug, n: Annotated[int | None, Query(ge=1, le=1_000_000_000)] = None
    ) -> VersionTold:
        await asking(request)
        return _version(await desk.call(documents.version, Kind.DESSERT, slug, n))

    @api.put(
        "/desserts/{slug}",
        tags=["desserts"],
        summary="Keep a text as the next version",
        description="409 when somebody kept another version since `rev`: the answer holds both texts.",
    )
    async def save(request: Request, slug: Slug, given: SavedText, token: Token = None) -> Any:
        found = await asking(request, token, Act.DESIGN)
        name = await desk.workers.ask("name_of", text=plain(given.text))
        try:
            version = await desk.call(
                documents.save, Kind.DESSERT, slug, given.text, found.by(plain(given.why)), rev=given.rev,
                name=name or None, key=plain(given.key),
            )  # fmt: skip
        except Stale as stale:
            body = error_body(stale.says, where=stale.where, remedy=stale.remedy)
            told = {
                **body,
                "mine": stale.mine,
                "theirs": _version(stale.theirs).model_dump(mode="json"),
                "base": _version(stale.base).model_dump(mode="json") if stale.base else None,
            }
            return JSONResponse(told, status_code=409)
        return _version(version)

    @api.get("/desserts/{slug}/versions", tags=["desserts"], summary="All versions, newest first")
    async def versions(request: Request, slug: Slug) -> list[VersionTold]:
        await asking(request)
        return [_version(one) for one in await desk.call(documents.history, Kind.DESSERT, slug)]

    @api.post("/desserts/{slug}/restore", tags=["desserts"], summary="Bring an old version back")
    async def restore(request: Request, slug: Slug, given: Restored, token: Token = None) -> VersionTold:
        found = await asking(request, token, Act.DESIGN)
        return _version(await desk.call(documents.restore, Kind.DESSERT, slug, given.n, found.by(), rev=given.rev))

    @api.post("/desserts/{slug}/branch", tags=["desserts"], summary="Go on under another name", status_code=201)
    async def branch(request: Request, slug: Slug, given: Branched, token: Token = None) -> VersionTold:
        found = await asking(request, token, Act.DESIGN)
        return _version(
            await desk.call(documents.branch, Kind.DESSERT, slug, plain(given.name), found.by(plain(given.why)))
        )

    @api.get("/desserts/{slug}/answers", tags=["answers"], summary="The whole answer sheet")
    async def answers(
        request: Request,
        slug: Slug,
        pieces: Pieces = None,
        market: Annotated[str, Query(pattern="^(EU|US)?$")] = "",
    ) -> dict[str, Any]:
        await asking(request)
        version = await desk.call(documents.version, Kind.DESSERT, slug)
        kitchen, prices = await desk.kitchen()
        told: dict[str, Any] = await desk.workers.ask(
            "dossier_json", text=version.text, kitchen=kitchen, prices=prices, pieces=pieces, market=market
        )
        return told

    @api.post("/answers", tags=["answers"], summary="The answers of a text that is not kept")
    async def tried(request: Request, given: Tried, token: Token = None) -> dict[str, Any]:
        found = await asking(request, token)
        kitchen, prices = await desk.kitchen()
        told: dict[str, Any] = await desk.workers.ask(
            "bench", text=plain(given.text), fields={plain(k): plain(v) for k, v in given.changes.items()},
            kitchen=kitchen, prices=prices, pieces=given.pieces, pictures=False, system=found.system,
            language=found.language,
        )  # fmt: skip
        return {"text": told["text"], "wrong": told["wrong"], "mistakes": told["mistakes"], "answer": told["answer"]}

    @api.get("/desserts/{slug}/paper.pdf", tags=["answers"], summary="The paper", response_class=Response)
    async def paper(request: Request, slug: Slug, pieces: Pieces = None) -> Response:
        found = await asking(request)
        version = await desk.call(documents.version, Kind.DESSERT, slug)
        kitchen, prices = await desk.kitchen()
        made = await desk.workers.ask(
            "pdf", text=version.text, kitchen=kitchen, prices=prices, pieces=pieces, system=found.system
        )
        return Response(made, media_type="application/pdf")

    @api.get("/larder", tags=["larder"], summary="Ingredients that some words name")
    async def larder(
        request: Request,
        words: Annotated[str, Query(max_length=120)] = "",
        most: Annotated[int, Query(ge=1, le=100)] = 24,
    ) -> list[dict[str, Any]]:
        await asking(request)
        kitchen, prices = await desk.kitchen()
        rows = await desk.workers.ask("larder", words=plain(words), kitchen=kitchen, prices=prices, most=most)
        return [{key: value for key, value in row.items() if key != "strip"} for row in rows]

    @api.get("/larder/{name}", tags=["larder"], summary="One ingredient")
    async def ingredient(request: Request, name: Annotated[str, Path(max_length=120)]) -> dict[str, Any]:
        await asking(request)
        kitchen, prices = await desk.kitchen()
        found = await desk.workers.ask("ingredient", name=plain(name), kitchen=kitchen, prices=prices)
        return {key: value for key, value in found.items() if key not in ("strip", "tray")}

    @api.post("/prices", tags=["larder"], summary="A price from a day on", status_code=201)
    async def price(request: Request, given: Priced, token: Token = None) -> dict[str, Any]:
        found = await asking(request, token, Act.PRICES)
        kept = await desk.call(
            desk.store.prices.add, plain(given.item), found.by(), price=given.price, currency=given.currency,
            mass=given.mass, from_day=given.from_day, supplier=plain(given.supplier),
        )  # fmt: skip
        return {"item": kept.item, "per_kg": kept.per_kg, "currency": kept.currency, "from_day": kept.from_day}

    @api.get("/questions", tags=["quick answers"], summary="The small questions")
    async def questions(request: Request) -> list[dict[str, Any]]:
        await asking(request)
        found: list[dict[str, Any]] = await desk.workers.ask("questions")
        return found

    @api.post("/questions/{name}", tags=["quick answers"], summary="Answer one of them")
    async def ask(
        request: Request, name: Annotated[str, Path(max_length=60)], given: dict[str, str], token: Token = None
    ) -> dict[str, Any]:
        await asking(request, token)
        if len(given) > 40 or any(len(v) > 2000 for v in given.values()):
            raise BadInput("That is too much for a small question.", remedy="give each value once, shortly.")
        found = await desk.workers.ask("ask", name=plain(name), given={plain(k): plain(v) for k, v in given.items()})
        return {"answer": found["raw"], "texts": found["words"], "basis": found["basis"], "findings": found["findings"]}

    return api
