"""`demoule cold learn`: one probe log, what it teaches of a room, and the line that keeps it in the kitchen file."""

from __future__ import annotations

import datetime
import json
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from demoule.errors import BadInput

if TYPE_CHECKING:
    from demoule.cold.learning import Fitted, Lesson
    from demoule.units.showing import System

__all__ = ["learn_from_log"]


def learn_from_log(
    log: Path,
    *,
    dessert: Path,
    kitchen: Path | None,
    stage: str,
    column: str | None,
    degrees: Literal["C", "F"] | None,
    place: str,
    body: bool,
    write: bool,
    out: Path | None,
    units: System,
    as_json: bool,
) -> int:
    """Learn from a log, print it, draw it, keep it."""
    from demoule.cold.learning import learn_room
    from demoule.cold.life import opening
    from demoule.files.learned import conduction_line, learned_line
    from demoule.files.logs import read_log
    from demoule.worked import varied_from, work_up

    made, place_of_work, kitchen_file = one_dessert(dessert, kitchen)
    worked = work_up(made, place_of_work)
    record = read_log(log).record(column, degrees)
    whole = varied_from(worked)
    begins = opening(
        worked.piece,
        worked.cooked,
        whole.programme,
        place_of_work.rooms,
        stage,
        filled_at=whole.filled_at,
        kitchen_air=place_of_work.air,
    )
    lesson = learn_room(begins, record, place=place, body=body, now=datetime.datetime.now())
    today = datetime.date.today()
    line = learned_line(lesson, today)
    already = whole.programme.conduction
    conduction = conduction_line(lesson, made.name, 1.0 if already is None else already.factor, today)
    written: list[str] = []
    if out is not None:
        from demoule.sheets.learned import lesson_svg

        write_whole(out, lesson_svg(lesson, system=units))
        written.append(f"Picture: {out}")
    if write:
        written.append(_keep(lesson, line, conduction, kitchen_file))
    if as_json:
        print(json.dumps(_as_json(lesson, line, conduction), ensure_ascii=False))
    else:
        _tell(lesson, units)
        print(
            "\n".join(written) if written else "Add --write to keep it in the kitchen file, --out FILE.svg to see it."
        )
    return 0


def one_dessert(path: Path, kitchen: Path | None) -> tuple[Any, Any, Path | None]:
    """The one dessert of a file, the kitchen it is made in, and the kitchen's file."""
    from demoule.batch import plain_kitchen
    from demoule.files import read_desserts, read_kitchen
    from demoule.larder import standard_larder

    beside = path.parent / "kitchen.yaml"
    file = kitchen or (beside if beside.is_file() else None)
    place = read_kitchen(file) if file else plain_kitchen(standard_larder())
    desserts = read_desserts(path, place.larder, place)
    if len(desserts) != 1:
        raise BadInput(f"{path} holds {len(desserts)} desserts.", remedy="give a file with the one that is meant.")
    return desserts[0], place, file


def write_whole(path: Path, text: str) -> None:
    """A file that appears whole or not at all."""
    import os
    import tempfile

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="") as opened:
                opened.write(text)
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise BadInput(
            f"{path} cannot be written: {error.strerror or error}.", remedy="name a file in a folder of yours."
        ) from None


def _keep(lesson: Lesson, line: dict[str, str], conduction: dict[str, str] | None, kitchen_file: Path | None) -> str:
    from demoule.files.learned import with_lesson
    from demoule.files.text import read_text

    if kitchen_file is None:
        raise BadInput("There is no kitchen file to keep this in.", remedy="give one with --kitchen.")
    text = read_text(kitchen_file)
    write_whole(kitchen_file, with_lesson(text, lesson.room.name, line, conduction=conduction, name=str(kitchen_file)))
    return f"Kept in {kitchen_file}: every later answer uses it."


def _tell(lesson: Lesson, units: System) -> None:
    from demoule.units import shown

    def degrees(kelvin: float) -> str:
        return shown(kelvin - 273.15, "°C", system=units)

    h, air = lesson.surface, lesson.air
    print(f"Learned from {lesson.record.name}: {lesson.stage} in “{lesson.room.name}”\n")
    print(f"  takes heat  {h.value:.1f} W/m²K   likely {h.low:.1f} to {h.high:.1f}")
    print(f"  air         {degrees(air.value)}   likely {degrees(air.low)} to {degrees(air.high)}")
    if lesson.body is not None:
        k = lesson.body
        print(f"  conductivity of the mixes, of what is computed  {k.value:.0%}   likely {k.low:.0%} to {k.high:.0%}")
    minutes = lesson.put_in / 60
    when = f"{minutes:.0f} min after" if minutes >= 0.5 else f"{-minutes:.0f} min before" if minutes < -0.5 else "with"
    print(f"  put in {when} the first reading; the readings scatter by {lesson.scatter:.2f} K about the curve")
    if lesson.room.surface is not None:
        print(f"  so far      {lesson.room.surface:.3g} W/m²K and {degrees(lesson.room.air)} in the kitchen file")
    for note in lesson.notes:
        print(textwrap.fill(note, 94, initial_indent="  · ", subsequent_indent="    "))
    print()


def _as_json(lesson: Lesson, line: dict[str, str], conduction: dict[str, str] | None) -> dict[str, object]:
    def told(fitted: Fitted, unit: str, shift: float = 0.0) -> dict[str, object]:
        return {"value": fitted.value + shift, "unit": unit, "low": fitted.low + shift, "high": fitted.high + shift}

    return {
        "room": lesson.room.name,
        "stage": lesson.stage,
        "answer": {
            "surface_coefficient": told(lesson.surface, "W/m2K"),
            "air": told(lesson.air, "°C", -273.15),
            **({"conductivity": told(lesson.body, "of computed")} if lesson.body else {}),
        },
        "put_in_min": lesson.put_in / 60,
        "scatter_k": lesson.scatter,
        "readings": len(lesson.record.time),
        "notes": list(lesson.notes),
        "learned": line,
        "conduction": conduction,
    }
