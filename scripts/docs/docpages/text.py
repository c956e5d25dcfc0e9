"""Small parts of a Markdown page: tables, figures rounded to what they are good for, sources in words."""

from __future__ import annotations

import contextlib
import io
import math
import tomllib
from collections.abc import Iterable, Sequence
from functools import cache
from importlib.resources import files
from pathlib import Path
from unittest import mock

__all__ = ["cell", "error_text", "filled", "printed", "short", "source_line", "sources", "table"]

_MADE = "<!-- Made by scripts/docs from the product and from scripts/docs/prose: change those, not this page. -->\n"
_PROSE = Path(__file__).resolve().parents[1] / "prose"

_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_NOTHING = 1e-9  # of the values compared: below, only rounding of the machine is left


def filled(name: str, **parts: str) -> str:
    """A page from its prose: each `{{ part }}` is replaced, and every part must stand there once."""
    text = (_PROSE / name).read_text(encoding="utf-8")
    for part, words in parts.items():
        mark = f"{{{{ {part} }}}}"
        assert text.count(mark) == 1, f"{mark} in {name}"
        text = text.replace(mark, words)
    assert "{{ " not in text, f"an open place in {name}"
    return _MADE + text.rstrip("\n") + "\n"


def cell(words: object) -> str:
    """Words that may stand in a table."""
    return " ".join(str(words).split()).replace("|", "\\|")


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A Markdown table."""
    lines = [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}"]
    lines += [f"| {' | '.join(cell(part) for part in row)} |" for row in rows]
    return "\n".join(lines) + "\n"


def short(value: float, digits: int = 2) -> str:
    """A number to so many significant digits, in plain figures where that is readable."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "–"
    size = math.floor(math.log10(abs(value)))
    rounded = round(value, digits - 1 - size)
    if -4 <= size < 6:
        return f"{rounded:.{max(0, digits - 1 - size)}f}".replace("-", "−")
    mantissa, _, power = f"{value:.{digits - 1}e}".partition("e")
    return f"{mantissa.replace('-', '−')} × 10{str(int(power)).translate(_RAISED)}"


def error_text(error: float, scale: float, unit: str, *, relative: bool) -> str:
    """An error in its unit, or in per cent; "0" when nothing but rounding is left."""
    if not math.isfinite(error):
        return "–"
    if error <= _NOTHING * (1.0 if relative else max(scale, 1e-300)):
        return "0"
    if relative:
        return f"{short(100 * error)} %"
    return short(error) if unit == "1" else f"{short(error)} {unit}"


@cache
def sources() -> dict[str, dict[str, object]]:
    """Every source by its key."""
    return tomllib.loads((files("demoule") / "sources.toml").read_text(encoding="utf-8"))


def source_line(key: str) -> str:
    """A source in words: title, author, year, standard or DOI."""
    entry = sources()[key]
    parts = [str(entry["title"])]
    parts += [str(entry[name]) for name in ("author", "standard", "year", "doi") if name in entry]
    return ", ".join(parts).rstrip(".")


def printed(command: str) -> str:
    """What a `demoule …` command prints, run in this process."""
    import shlex

    from demoule.cli.main import run

    words = shlex.split(command)
    assert words[0] == "demoule", command
    out = io.StringIO()
    with mock.patch("sys.argv", words), contextlib.redirect_stdout(out), contextlib.suppress(SystemExit):
        run()
    return out.getvalue()
