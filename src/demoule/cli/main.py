"""The `demoule` command: reads what was typed, calls inwards, prints; nothing heavy is imported before it is needed."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Annotated, Literal, NoReturn

import typer

from demoule.cli.cooling import cold
from demoule.cli.keep_commands import keep, people
from demoule.errors import DemouleError, Mistakes

__all__ = ["app", "run"]

GOOD, STOPPED, BAD_INPUT, OWN_FAULT = 0, 1, 2, 70

app = typer.Typer(
    name="demoule",
    help="One description of a moulded frozen dessert, every answer that follows from it.",
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)
app.add_typer(keep)
app.add_typer(people)


Units = Literal["metric", "us"]
PaperSize = Literal["a4", "letter"]
Market = Literal["EU", "US"]
Json = Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")]
UnitsOption = Annotated[Units, typer.Option("--units", help="Show grams and °C, or ounces and °F.")]
OutOption = Annotated[Path | None, typer.Option("--out", help="Folder to write the PDF and the lists into.")]
PaperOption = Annotated[PaperSize, typer.Option("--paper", help="Size of the sheet.")]
MarketOption = Annotated[
    Market | None, typer.Option("--market", help="Whose labelling rules apply; else the kitchen's.")
]


@app.command("work-up")
def work_up(
    files: Annotated[list[Path], typer.Argument(help="Dessert files.")],
    kitchen: Annotated[
        Path | None, typer.Option("--kitchen", help="Kitchen file; else kitchen.yaml beside the dessert.")
    ] = None,
    pieces: Annotated[int | None, typer.Option("--pieces", help="Good pieces wanted; else one making.")] = None,
    out: OutOption = None,
    paper: PaperOption = "a4",
    market: MarketOption = None,
    units: UnitsOption = "metric",
    as_json: Json = False,
) -> None:
    """Work up desserts: will it work, how to build it, how long to freeze, what it costs, what is in it."""
    from demoule.cli.working import work_up_files

    raise typer.Exit(
        work_up_files(
            files, kitchen=kitchen, pieces=pieces, out=out, paper=paper, market=market, units=units, as_json=as_json
        )
    )


@app.command("demo")
def demo(
    out: OutOption = None,
    paper: PaperOption = "a4",
    market: MarketOption = None,
    units: UnitsOption = "metric",
    as_json: Json = False,
) -> None:
    """Work up the three demonstration desserts; all of them are invented."""
    from demoule.cli.working import work_up_demo

    raise typer.Exit(work_up_demo(out=out, paper=paper, market=market, units=units, as_json=as_json))


@app.command("larder")
def larder(
    words: Annotated[list[str], typer.Argument(help="Words to look for, or the name of one ingredient.")],
    most: Annotated[int, typer.Option("--most", help="How many to show.", min=1, max=500)] = 12,
    units: UnitsOption = "metric",
    as_json: Json = False,
) -> None:
    """Look an ingredient up: what it is made of, what is unknown, where it was read."""
    from demoule.cli.looking import look_up

    raise typer.Exit(look_up(" ".join(words), most=most, units=units, as_json=as_json))


@app.command("ask")
def ask(
    question: Annotated[str | None, typer.Argument(help="The question, for example: freezing")] = None,
    values: Annotated[
        list[str] | None, typer.Argument(help='What it needs, for example: mix="sucrose 30 g, water 70 g"')
    ] = None,
    many: Annotated[
        Path | None, typer.Option("--many", help="A file with one question a line; '-' reads what is piped in.")
    ] = None,
    units: UnitsOption = "metric",
    as_json: Json = False,
) -> None:
    """Answer one small question without a dessert file; without a question, list them all."""
    from demoule.cli.asking import ask_many, ask_one, list_questions

    if many is not None:
        raise typer.Exit(ask_many(many))
    if question is None:
        raise typer.Exit(list_questions(as_json=as_json))
    raise typer.Exit(ask_one(question, values or [], units=units, as_json=as_json))


@app.command("week")
def week(
    orders: Annotated[Path | None, typer.Argument(help="Order file; without one, the demonstration's week.")] = None,
    kitchen: Annotated[
        Path | None, typer.Option("--kitchen", help="Kitchen file; else kitchen.yaml beside the orders.")
    ] = None,
    dessert: Annotated[
        list[Path] | None, typer.Option("--dessert", help="Dessert files; else those beside the orders.")
    ] = None,
    first: Annotated[str | None, typer.Option("--from", help="First day, year-month-day; else a Monday.")] = None,
    seconds: Annotated[
        float | None, typer.Option("--seconds", help="Look for so long; else by work, the same each time.", min=0.1)
    ] = None,
    work: Annotated[float, typer.Option("--work", help="How much to look, when not by time.", min=0.1)] = 12.0,
    events: Annotated[
        Path | None, typer.Option("--replan", help="A file of what happened; what moves is told.")
    ] = None,
    wishes: Annotated[bool, typer.Option("--help-me", help="Try what would help: a tray, a place, an hour.")] = False,
    out: OutOption = None,
    paper: PaperOption = "a4",
    units: UnitsOption = "metric",
    as_json: Json = False,
) -> None:
    """Plan the week: who does what when, with these moulds, freezers and people."""
    from demoule.cli.planning import plan_orders

    raise typer.Exit(
        plan_orders(
            orders,
            desserts=dessert or [],
            kitchen=kitchen,
            first=first,
            seconds=seconds,
            work=work,
            events=events,
            wishes=wishes,
            out=out,
            paper=paper,
            units=units,
            as_json=as_json,
        )
    )


app.add_typer(cold, name="cold")


@app.command("serve")
def serve(
    host: Annotated[str, typer.Option("--host", help="Address; another than this machine's own needs accounts.")] = (
        "127.0.0.1"
    ),
    port: Annotated[int, typer.Option("--port", help="Port.", min=1, max=65535)] = 8750,
    database: Annotated[
        str | None,
        typer.Option(
            "--database", help="A file, or postgresql://user@host/database; else DEMOULE_DATABASE, else yours."
        ),
    ] = None,
    behind: Annotated[
        str, typer.Option("--behind", help="Name under which a proxy offers the screens over HTTPS.")
    ] = "",
    workers: Annotated[
        int | None,
        typer.Option("--workers", help="Processes that compute; else one a core, four at most.", min=1, max=64),
    ] = None,
) -> None:
    """Open the screens: for one chef on this machine, or for a team that signs in."""
    from demoule.cli.serving import serve as serve_screens

    raise typer.Exit(serve_screens(host=host, port=port, database=database, behind=behind, workers=workers))


@app.command("models")
def models(as_json: Json = False) -> None:
    """List every model: what it gives, its source and range, and how far it is from its published points."""
    from demoule.cli.modelling import list_models

    raise typer.Exit(list_models(as_json=as_json))


def error_as_json(error: DemouleError) -> dict[str, object]:
    """The one shape in which every way out tells an error."""
    if isinstance(error, Mistakes):
        return {
            "error": {
                "says": error.says,
                "where": error.where,
                "remedy": error.remedy,
                "mistakes": [
                    {"file": m.file, "line": m.line, "column": m.column, "says": m.says, "remedy": m.remedy}
                    for m in error.mistakes
                ],
            }
        }
    return {"error": {"says": error.says, "where": error.where, "remedy": error.remedy}}


def _own_fault(error: Exception) -> NoReturn:
    """Tell a fault of demoule's own; what led to it is shown to developers who ask for it by DEMOULE_TRACE=1."""
    if os.environ.get("DEMOULE_TRACE") == "1":
        raise error
    print(f"Something in demoule itself went wrong ({type(error).__name__}: {error}).", file=sys.stderr)
    print("What to do: keep the files that led here, and tell those who keep demoule.", file=sys.stderr)
    sys.exit(OWN_FAULT)


def run() -> None:
    """Run the command; an error of the input is told in a chef's words and ends with code 2."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        code = app(standalone_mode=False)
    except DemouleError as error:
        if "--json" in sys.argv:
            print(json.dumps(error_as_json(error), ensure_ascii=False))
        print(error, file=sys.stderr)
        sys.exit(BAD_INPUT)
    except typer.Abort:
        print("Stopped.", file=sys.stderr)
        sys.exit(130)
    except Exception as error:
        # Click tells a wrong option or argument by an exception with a `show` of its own.
        show = getattr(error, "show", None)
        if show is None:
            _own_fault(error)
        show()
        sys.exit(BAD_INPUT)
    sys.exit(code if isinstance(code, int) else GOOD)
