"""What every room works at: who asks, in which language and light, and how a page or a part of one is made."""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qsl

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from demoule.errors import BadInput, DemouleError
from demoule.store import Act, By, Kind, Person, Role, may
from demoule.web.dressing import Dress
from demoule.web.planner import Planner
from demoule.web.saying import said
from demoule.web.security import form_token, same_origin, token_holds
from demoule.web.settings import Settings
from demoule.web.wording import LANGUAGES, Words, words_of
from demoule.web.workers import Workers

if TYPE_CHECKING:
    from demoule.store import Store

__all__ = ["Asking", "Desk", "Forbidden", "SignInFirst", "fields_of", "form_of", "now", "whole"]

SESSION = "demoule-session"
GUEST = "demoule-guest"
_YEAR = 365 * 86400
_MOST_FIELDS = 6000
_FORM = "application/x-www-form-urlencoded"


class SignInFirst(Exception):
    """The page is for people who have signed in."""


class Forbidden(DemouleError):
    """What may not be done from here, or not by this person."""


def now() -> datetime:
    """The clock of the screens; nothing further inside reads one."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Asking:
    """One request: who asks, and how the answer should look."""

    request: Request
    person: Person | None
    who: str
    session: str
    language: str
    theme: str  # "day" or "night", for pictures
    chosen_theme: str  # "day", "night" or "" for that of the machine
    system: str
    words: Words

    def by(self, why: str = "") -> By:
        """The one who writes now."""
        return By(who=self.who, at=now(), why=why[:2000])

    def says(self, text: str) -> str:
        """A sentence of the numerics, in the reader's language."""
        return said(text, self.language)

    def wrong(self, error: DemouleError) -> dict[str, str]:
        """An error in the reader's language; a file tells the first of its mistakes."""
        first = (getattr(error, "mistakes", ()) or (error,))[0]
        told = (
            first if isinstance(first, dict) else {key: getattr(first, key, "") for key in ("says", "where", "remedy")}
        )
        return {key: self.says(str(told.get(key) or "")) for key in ("says", "where", "remedy")}

    def may(self, act: Act) -> bool:
        """Whether this person may do it; on a machine without accounts everything may be done."""
        return self.person is None or may(self.person.role, act)

    def must(self, act: Act) -> None:
        """Raise Forbidden when this person may not do it."""
        if not self.may(act):
            raise Forbidden(self.words("errors.not_allowed", who=self.who), remedy=self.words("errors.ask_the_owner"))


@dataclass(slots=True)
class Desk:
    """The store, the workers, the templates; one to a served application."""

    store: Store
    settings: Settings
    workers: Workers
    dress: Dress
    pages: Environment = field(init=False)
    rooms: list[str] = field(default_factory=list)
    weeks: Workers | None = None
    planner: Planner = field(default_factory=Planner)

    def __post_init__(self) -> None:
        self.pages = Environment(
            loader=PackageLoader("demoule.web"),
            autoescape=select_autoescape(default=True),
            undefined=StrictUndefined,
            auto_reload=False,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self.pages.filters["drawn"] = Markup
        self.pages.globals["dress"] = self.dress
        self.pages.globals["rooms"] = self.rooms

    # ------------------------------------------------------------- who asks

    async def asking(self, request: Request, *, open_door: bool = False) -> Asking:
        """Who asks; raises SignInFirst when accounts are kept and nobody is signed in."""
        token = request.cookies.get(SESSION, "")
        person: Person | None = None
        bearer = request.headers.get("authorization", "")
        if bearer.lower().startswith("bearer "):
            token = bearer[7:].strip()
        if self.settings.accounts:
            if token:
                person = await run_in_threadpool(self.store.sessions.person_of, token, now())
            if person is None and not open_door:
                raise SignInFirst
        language = self.language(request)
        chosen = request.cookies.get("theme", "")
        chosen = chosen if chosen in ("day", "night") else ""
        hint = request.headers.get("sec-ch-prefers-color-scheme", "").strip('"')
        seen = request.cookies.get("sky", "")
        theme = chosen or ("night" if "dark" in (hint or seen) else "day")
        return Asking(
            request=request,
            person=person,
            who=person.name if person else self.settings.chef,
            session=token or request.cookies.get(GUEST, ""),
            language=language,
            theme=theme,
            chosen_theme=chosen,
            system="us" if request.cookies.get("units") == "us" else "metric",
            words=words_of(language),
        )

    def language(self, request: Request) -> str:
        """The language that was chosen, else the first of ours that the browser asks for."""
        chosen = request.cookies.get("language", "")
        if chosen in LANGUAGES:
            return chosen
        for part in request.headers.get("accept-language", "").split(","):
            code = part.split(";")[0].strip()[:2].casefold()
            if code in LANGUAGES:
                return code
        return "en"

    def guard(self, asking: Asking, token: str) -> None:
        """Raise Forbidden unless a form that changes something comes from one of our pages."""
        if not same_origin(asking.request) or not token_holds(asking.session, token):
            raise Forbidden(asking.words("errors.stale_form"), remedy=asking.words("errors.load_again"))

    # ------------------------------------------------------------- pages

    def part(self, asking: Asking, template: str, **values: Any) -> str:
        """A part of a page."""
        return self.pages.get_template(template).render(
            t=asking.words,
            says=asking.says,
            language=asking.language,
            me=asking,
            csrf=form_token(asking.session),
            **values,
        )

    def page(self, asking: Asking, template: str, *, room: str, status: int = 200, **values: Any) -> Response:
        """A whole page."""
        guest = asking.session or secrets.token_urlsafe(16)
        html = self.pages.get_template(template).render(
            t=asking.words,
            says=asking.says,
            language=asking.language,
            me=asking,
            room=room,
            csrf=form_token(guest),
            accounts=self.settings.accounts,
            **values,
        )
        response = HTMLResponse(html, status_code=status)
        if not asking.session:
            self.cookie(response, GUEST, guest)
        return response

    def cookie(self, response: Response, name: str, value: str, *, lasts: int = _YEAR) -> None:
        """Set a cookie that no script reads and no other site sends."""
        response.set_cookie(
            name, value, max_age=lasts, httponly=True, samesite="strict", secure=self.settings.secure, path="/"
        )

    async def ask_week(self, question: str, **given: Any) -> Any:
        """A question of the Week, put to the one process that remembers the weeks."""
        if self.weeks is None:
            self.weeks = Workers(1, patience=300.0)
            self.weeks.start()
        return await self.weeks.ask(question, **given)

    def stop(self) -> None:
        """End the processes of the Week."""
        self.planner.stop()
        if self.weeks is not None and self.weeks is not self.workers:
            self.weeks.stop()

    # ------------------------------------------------------------- the memory, off the loop

    async def call(self, function: Any, *given: Any, **named: Any) -> Any:
        """A call of the memory, in a thread."""
        return await run_in_threadpool(function, *given, **named)

    async def kitchen(self) -> tuple[str, str]:
        """Text of the kitchen that stands, and the prices of the memory by ingredient; empty when there are none."""

        return await run_in_threadpool(self.kitchen_now)

    def kitchen_now(self) -> tuple[str, str]:
        """As `kitchen`, from a thread."""
        heads = self.store.documents.heads(Kind.KITCHEN)
        text = self.store.documents.version(Kind.KITCHEN, heads[0].slug).text if heads else ""
        prices = self.store.prices.all_on(now().date())
        return text, json.dumps({item: price.per_kg for item, price in sorted(prices.items())}) if prices else ""

    async def first_dessert(self) -> str:
        """The dessert that a room opens with when none is named."""
        heads = await run_in_threadpool(self.store.documents.heads, Kind.DESSERT)
        return heads[0].slug if heads else ""


async def form_of(request: Request) -> dict[str, str]:
    """The fields of a posted form; files are not among them.

    Raises
    ------
    BadInput
        When it has too many fields or cannot be read.
    """
    try:
        if request.headers.get("content-type", "").partition(";")[0].strip().casefold() == _FORM:
            told = (await request.body()).decode("ascii")  # a browser writes every other sign by its number
            return dict(parse_qsl(told, keep_blank_values=True, max_num_fields=_MOST_FIELDS, errors="strict"))
        found = await request.form(max_fields=_MOST_FIELDS, max_files=1, max_part_size=1_000_000)
    except Exception as error:
        if type(error).__name__ == "_TooLarge":
            raise
        raise BadInput("The form cannot be read.", remedy="load the page again.") from None
    return {key: value for key, value in found.items() if isinstance(value, str)}


def fields_of(form: Mapping[str, str]) -> tuple[dict[str, str], dict[str, str]]:
    """Values and units of a dessert's form by their pointers."""
    fields = {key[2:]: value for key, value in form.items() if key.startswith("f:")}
    units = {key[2:]: value for key, value in form.items() if key.startswith("u:")}
    return fields, units


def whole(words: str) -> int | None:
    """A number of up to nine plain digits; None for anything else that people and programs write."""
    words = words.strip()
    return int(words) if words.isascii() and words.isdigit() and len(words) <= 9 else None


OWNER = Role.OWNER
