"""`demoule ask`: one small question, or many from a file."""

from __future__ import annotations

import json
import re
import shlex
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from demoule.errors import BadInput, DemouleError, UnknownName

if TYPE_CHECKING:
    from demoule.answers import Answer, Question
    from demoule.piece import Mould
    from demoule.units.showing import System

__all__ = ["answer_as_json", "ask_many", "ask_one", "example_of", "list_questions"]

_LONGEST_LINE = 10_000
_STANDS_ON = "stands on"


def ask_one(question: str, values: Iterable[str], *, units: System, as_json: bool) -> int:
    """Answer one question and print it."""
    answer = _answer(question, _given(values))
    if as_json:
        print(json.dumps(answer_as_json(answer), ensure_ascii=False))
    else:
        _print(answer, units)
    return 1 if any(finding.severity == "stop" for finding in answer.findings) else 0


def ask_many(file: Path) -> int:
    """Answer one question a line, one JSON line each, in order; a line that cannot be answered gives its error."""
    from demoule.cli.main import error_as_json

    for line in _lines(file):
        try:
            words = shlex.split(line)
            if not words:
                continue
            told: object = answer_as_json(_answer(words[0], _given(words[1:])))
        except DemouleError as error:
            told = error_as_json(error)
        except ValueError as error:  # shlex: a quote that is not closed
            told = error_as_json(BadInput(f"The line cannot be read: {error}.", remedy="close every quotation mark."))
        print(json.dumps(told, ensure_ascii=False), flush=True)
    return 0


def list_questions(*, as_json: bool) -> int:
    """Print every question with what it needs."""
    from demoule.answers import QUESTIONS

    if as_json:
        listed = [
            {
                "question": question.name,
                "sentence": question.sentence,
                "needs": [
                    {
                        "name": p.name,
                        "says": p.says,
                        "default": p.default,
                        "optional": p.optional or p.default is not None,
                        "choices": list(p.choices),
                        "example": p.example,
                    }
                    for p in question.parameters
                ],
            }
            for question in QUESTIONS.values()
        ]
        print(json.dumps(listed, ensure_ascii=False))
        return 0
    for question in QUESTIONS.values():
        print(f"{question.name:<16}{question.sentence}")
        print(f"{'':<16}{example_of(question)}")
    return 0


def example_of(question: Question) -> str:
    """A command that asks it, with an example for all that it needs or that its sentence names."""
    named = [p for p in question.parameters if not p.optional or f"{{{p.name}}}" in question.sentence]
    return " ".join(["demoule ask", question.name, *(f"{p.name}={_quoted(p.example)}" for p in named)])


def _quoted(text: str) -> str:
    return text if re.fullmatch(r"[\w.+-]+", text) else f'"{text}"'


def answer_as_json(answer: Answer) -> dict[str, object]:
    """The published shape of an answer."""
    told: dict[str, object] = {
        name: {"value": figure.value, "unit": figure.unit, "low": figure.low, "high": figure.high}
        for name, figure in answer.figures.items()
    }
    return {
        "answer": told,
        "texts": dict(answer.words),
        "basis": [
            {"model": b.model, "source": b.source, "valid": b.valid, "stretched": b.stretched} for b in answer.basis
        ],
        "findings": [
            {
                "severity": str(f.severity),
                "rule": f.rule,
                "where": f.where,
                "says": f.says,
                "why": f.why,
                "remedy": f.remedy,
            }
            for f in answer.findings
        ],
    }


def _answer(question: str, given: Mapping[str, str]) -> Answer:
    from demoule.answers import QUESTIONS
    from demoule.larder import standard_larder

    if question not in QUESTIONS:
        raise UnknownName("question", question, QUESTIONS)
    return QUESTIONS[question].ask(given, standard_larder(), _cavity)


def _cavity(text: str) -> Mould:
    """A mould of a kitchen file, named as FILE:NAME."""
    from demoule.files import read_kitchen

    file, _, name = text.rpartition(":")
    moulds = {mould.name: mould for mould in read_kitchen(file).moulds}
    if name.strip() not in moulds:
        raise UnknownName("mould", name.strip(), moulds, where=file)
    return moulds[name.strip()]


def _given(values: Iterable[str]) -> dict[str, str]:
    given: dict[str, str] = {}
    for value in values:
        name, sign, text = value.partition("=")
        if not sign or not name.strip():
            raise BadInput(f"“{value}” is not of the form name=value.", remedy='write for example at="20 °C"')
        if name.strip() in given:
            raise BadInput(f"“{name.strip()}” is given twice.", remedy="give each value once.")
        given[name.strip()] = text
    return given


def _lines(file: Path) -> Iterable[str]:
    if str(file) == "-":
        yield from sys.stdin
        return
    try:
        with file.open(encoding="utf-8") as opened:
            for number, line in enumerate(opened, 1):
                if len(line) > _LONGEST_LINE:
                    raise BadInput(
                        f"Line {number} of {file} is too long to be a question.", remedy="one question a line."
                    )
                yield line
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise BadInput(
            f"{file} cannot be read: {reason}.", remedy="give a text file with one question a line."
        ) from None


def _print(answer: Answer, units: System) -> None:
    from demoule.cli.showing import print_findings, shown_figure

    width = max(len(name) for name in [*answer.figures, *answer.words, _STANDS_ON]) + 2
    for name, figure in answer.figures.items():
        print(f"{name.replace('_', ' '):<{width}}{shown_figure(figure, units)}")
    for name, text in answer.words.items():
        print(f"{name.replace('_', ' '):<{width}}{text or 'none that is known'}")
    stood_on = {f"{b.model} ({b.source}{', stretched' if b.stretched else ''})" for b in answer.basis}
    if stood_on:
        print(f"{_STANDS_ON:<{width}}{'; '.join(sorted(stood_on))}")
    print_findings(answer.findings)
