"""Quick answers: a small question is a sentence with fields in it, and its answer is one large figure."""

from __future__ import annotations

import re
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from demoule.errors import DemouleError
from demoule.store import NotThere
from demoule.web.desk import Asking, Desk

__all__ = ["router"]

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("syrup", ("brix", "refractive", "density", "viscosity", "boiling", "cook", "solubility")),
    ("cold", ("freezing", "freeze", "thaw", "conduction", "cool")),
    ("set", ("gelatine", "shell", "candy")),
    ("sold", ("water-activity", "growth", "energy", "label")),
)
"""The questions in the order in which they are listed."""


def router(desk: Desk) -> APIRouter:
    """The ways of the quick answers."""
    rooms = APIRouter(include_in_schema=False)

    async def asked(asking: Asking, name: str, request: Request) -> dict[str, Any]:
        questions = {one["name"]: one for one in await desk.workers.ask("questions")}
        if name not in questions:
            raise NotThere(asking.words("quick.none", name=name[:60]))
        question = questions[name]
        shown = re.findall(r"\{([\w-]+)\}", question["sentence"])
        given = {}
        for p in question["parameters"]:
            first = p["default"] or (p["example"] if p["name"] in shown or not p["optional"] else "")
            given[p["name"]] = request.query_params.get(p["name"], first)[:400]
        told: dict[str, Any] = {"question": question, "given": given, "answer": None, "curve": None, "wrong": None}
        sentence = asking.words.maybe(f"questions.{name}", question["sentence"])
        told["sentence"] = re.split(r"\{([\w-]+)\}", sentence)
        told["rest"] = [p for p in question["parameters"] if p["name"] not in shown]
        try:
            told["answer"] = await desk.workers.ask(
                "ask", name=name, given=given, system=asking.system, language=asking.language
            )
            told["curve"] = await desk.workers.ask(
                "curve", name=name, given=given, theme=asking.theme, system=asking.system, language=asking.language
            )
        except DemouleError as error:
            told["wrong"] = asking.wrong(error)
        told["command"] = " ".join(
            ["demoule ask", name, *(f'{key}="{value}"' for key, value in given.items() if value)]
        )
        return told

    @rooms.get("/quick")
    async def some(request: Request) -> Response:
        await desk.asking(request)
        return RedirectResponse("/quick/cook", status_code=303)

    @rooms.get("/quick/{name}")
    async def show(request: Request, name: str) -> Response:
        asking = await desk.asking(request)
        told = await asked(asking, name, request)
        return desk.page(asking, "quick.html", room="quick", groups=GROUPS, name=name, **told)

    @rooms.get("/quick/{name}/answer")
    async def answer(request: Request, name: str) -> Response:
        asking = await desk.asking(request)
        told = await asked(asking, name, request)
        return HTMLResponse(desk.part(asking, "quick/answer.html", name=name, **told))

    return rooms
