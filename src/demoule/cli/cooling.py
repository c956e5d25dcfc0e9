"""`demoule cold`: learn a freezer from a probe log, try variants of a dessert, and film its frost."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

__all__ = ["cold"]

cold = typer.Typer(
    help="The cold room: learn a freezer from a probe log, explore variants, film the frost.",
    add_completion=False,
    rich_markup_mode=None,
    no_args_is_help=True,
)

Json = Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")]
KitchenOption = Annotated[
    Path | None, typer.Option("--kitchen", help="Kitchen file; else kitchen.yaml beside the dessert.")
]
UnitsOption = Annotated[Literal["metric", "us"], typer.Option("--units", help="Show °C, or °F.")]


@cold.command("learn")
def learn(
    log: Annotated[Path, typer.Argument(help="What the logger wrote: a CSV of times and temperatures.")],
    dessert: Annotated[Path, typer.Option("--dessert", help="Dessert file of the piece that was recorded.")],
    kitchen: KitchenOption = None,
    stage: Annotated[str, typer.Option("--stage", help="The stage that was recorded.")] = "harden piece",
    column: Annotated[
        str | None, typer.Option("--column", help="Column of the probe, where there are several.")
    ] = None,
    degrees: Annotated[
        Literal["C", "F"] | None, typer.Option("--degrees", help="Of the log, where its header does not say.")
    ] = None,
    place: Annotated[
        Literal["core", "centre", "mean", "surface"], typer.Option("--place", help="Where the probe sat.")
    ] = "core",
    body: Annotated[bool, typer.Option("--body", help="Tell the conductivity of the mixes too.")] = False,
    write: Annotated[bool, typer.Option("--write", help="Keep what was learned in the kitchen file.")] = False,
    out: Annotated[Path | None, typer.Option("--out", help="SVG file for log, curve and residuals.")] = None,
    units: UnitsOption = "metric",
    as_json: Json = False,
) -> None:
    """Learn how hard and how cold a freezer blows from one probe log of a piece in it."""
    from demoule.cli.learning import learn_from_log

    raise typer.Exit(
        learn_from_log(
            log,
            dessert=dessert,
            kitchen=kitchen,
            stage=stage,
            column=column,
            degrees=degrees,
            place=place,
            body=body,
            write=write,
            out=out,
            units=units,
            as_json=as_json,
        )
    )


@cold.command("explore")
def explore(
    dessert: Annotated[Path, typer.Argument(help="Dessert file.")],
    vary: Annotated[list[str], typer.Option("--vary", help='What varies and from where to where: "sugar 80–120 %".')],
    kitchen: KitchenOption = None,
    variants: Annotated[int, typer.Option("--variants", help="How many with everything varied together.", min=0)] = 128,
    answer: Annotated[str, typer.Option("--answer", help="The answer that is drawn.")] = "harden piece",
    workers: Annotated[int | None, typer.Option("--workers", help="Processes; else all processors.", min=1)] = None,
    scheduler: Annotated[
        str | None, typer.Option("--scheduler", help="Address of a Dask scheduler that stands ready.")
    ] = None,
    keep: Annotated[
        Path | None, typer.Option("--keep", help="File for the variants; the same call goes on where it was cut off.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="SVG file for the bars of what matters most.")] = None,
    whole: Annotated[
        int, typer.Option("--whole", help="Run so many of the best by the answer whole, with bands.", min=0, max=50)
    ] = 0,
    units: UnitsOption = "metric",
    as_json: Json = False,
) -> None:
    """Try variants of a dessert: what moves the hours most, and by how much."""
    from demoule.cli.exploring import explore_dessert

    raise typer.Exit(
        explore_dessert(
            dessert,
            vary=vary,
            kitchen=kitchen,
            variants=variants,
            answer=answer,
            workers=workers,
            scheduler=scheduler,
            keep=keep,
            out=out,
            whole=whole,
            units=units,
            as_json=as_json,
        )
    )


@cold.command("film")
def film(
    dessert: Annotated[Path, typer.Argument(help="Dessert file.")],
    out: Annotated[Path, typer.Option("--out", help="SVG file to write.")],
    kitchen: KitchenOption = None,
    stage: Annotated[str, typer.Option("--stage", help="The stage that is shown.")] = "harden piece",
    at: Annotated[str | None, typer.Option("--at", help="One moment instead, such as “40 min”.")] = None,
    night: Annotated[bool, typer.Option("--night", help="On a dark ground.")] = False,
) -> None:
    """Draw the frost moving through the piece as one picture for a screen, or its section at one moment."""
    from demoule.cli.filming import film_dessert

    raise typer.Exit(film_dessert(dessert, kitchen=kitchen, stage=stage, at=at, night=night, out=out))


@cold.command("mesh")
def mesh(
    file: Annotated[Path, typer.Argument(help="An STL, PLY or 3MF file of one cavity.")],
    units: Annotated[
        Literal["mm", "cm", "m", "in"] | None, typer.Option("--units", help="Of the file, where it does not say.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Look at a cavity from a drawing program: volume, area, how it stands, and its profile where it is round."""
    from demoule.cli.meshing import look_at_mesh

    raise typer.Exit(look_at_mesh(file, units=units, as_json=as_json))
