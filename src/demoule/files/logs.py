"""What a logger wrote, whatever its make: columns, decimal signs, clocks and degrees found out, and said."""

from __future__ import annotations

import csv
import datetime
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from demoule.cold.records import Record
from demoule.errors import BadInput, Mistake, Mistakes, nearest
from demoule.units import FloatArray

__all__ = ["LARGEST", "Log", "decoded", "log_of", "read_log"]

LARGEST = 20_000_000
"""Bytes: a reading a second for a week is smaller."""

_WIDEST = 20_000
"""Signs of one line; a logger of a hundred probes writes two thousand."""

_DELIMITERS = (";", "\t", ",", "|")
_NUMBER = re.compile(r"^[-+−–]?\d+(?:[.,]\d+)?(?:\s*°?\s*[CcFf])?$")
_TIME_WORDS = re.compile(
    r"\b(time|date|zeit|datum|heure|hora|elapsed|seconds?|minutes?|hours?|uhrzeit|temps)\b|^(?:t|min|s|sec|h)$", re.I
)
_DATES = (
    "%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%d.%m.%Y", "%d.%m.%y", "%d/%m/%Y", "%m/%d/%Y", "%d/%m/%y", "%m/%d/%y",
    "%d-%m-%Y", "%m-%d-%Y", "%d %b %Y", "%d-%b-%Y", "%b %d %Y",
)  # fmt: skip
_CLOCKS = ("%H:%M:%S", "%H:%M:%S.%f", "%H:%M", "%I:%M:%S %p", "%I:%M %p")
_CLOCK = re.compile(r"\d[:T]\d")
_STEPS = {
    **dict.fromkeys(("s", "sec", "second", "seconds", "sek"), 1.0),
    **dict.fromkeys(("min", "minute", "minutes"), 60.0),
    **dict.fromkeys(("h", "hour", "hours"), 3600.0),
    **dict.fromkeys(("d", "days"), 86400.0),
    "ms": 1e-3,
}
Scale = Literal["C", "F"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Log:
    """The records of a file, one a column.

    Parameters
    ----------
    name
        Of the file.
    time
        Seconds since the first row.
    columns
        Header and values as written, NaN in gaps.
    scales
        What each header says of its degrees: "C", "F" or nothing.
    """

    name: str
    time: FloatArray
    begun: datetime.datetime | None
    columns: tuple[tuple[str, FloatArray], ...]
    scales: tuple[Scale | None, ...]
    notes: tuple[str, ...]

    def record(self, column: str | None = None, scale: Scale | None = None) -> Record:
        """One column as a record in kelvin.

        Raises
        ------
        BadInput
            Several columns and none named, a name that is not there, or degrees that may be °C as well as °F.
        """
        place = self._place(column)
        header, values = self.columns[place]
        found, words = (scale, ()) if scale is not None else self._scale(place)
        held = np.isfinite(values)
        kelvin = values[held] + 273.15 if found == "C" else (values[held] - 32) / 1.8 + 273.15
        time, notes = self.time[held], [*self.notes, *words]
        if (~held).any():
            notes.append(f"{int((~held).sum())} rows without a reading were left out")
        keep = np.concatenate([[True], np.diff(time) != 0]) if len(time) else np.zeros(0, dtype=bool)
        if not keep.all():
            notes.append(f"{int((~keep).sum())} readings of a moment already told were left out")
        gaps = np.diff(time[keep])
        if len(gaps) and gaps.max() > 5 * np.median(gaps) and gaps.max() > 120:
            notes.append(f"the longest gap is {gaps.max() / 60:.0f} min")
        first = float(time[0]) if len(time) else 0.0
        begun = self.begun + datetime.timedelta(seconds=first) if self.begun is not None else None
        label = self.name if len(self.columns) == 1 else f"{self.name}, {header}"
        return Record(name=label, time=time[keep] - first, temperature=kelvin[keep], begun=begun, notes=tuple(notes))

    def _place(self, column: str | None) -> int:
        names = [header for header, _ in self.columns]
        listed = ", ".join(f"“{name}”" for name in names)
        if column is None:
            if len(names) == 1:
                return 0
            raise BadInput(
                f"“{self.name}” has {len(names)} columns of temperatures: {listed}.",
                remedy="name the one of the probe in the piece with --column.",
            )
        folded = [name.casefold() for name in names]
        if column.casefold() in folded:
            return folded.index(column.casefold())
        parts = [place for place, name in enumerate(folded) if column.casefold() in name]
        if len(parts) == 1:
            return parts[0]
        hint = nearest(column, names)
        raise BadInput(
            f"“{self.name}” has no column called “{column}”.",
            remedy=f"did you mean “{hint}”?" if hint else f"write one of {listed}.",
        )

    def _scale(self, place: int) -> tuple[Scale, tuple[str, ...]]:
        """°C or °F by the header, else by what can be meant."""
        told = self.scales[place]
        if told is not None:
            return told, ()
        values = self.columns[place][1]
        low, high = float(np.nanmin(values)), float(np.nanmax(values))
        if low < -45 or (low < -12 and high < 32):
            # Colder than any freezer in °C, or a whole log below 32 that goes far below zero.
            return ("F", ("read as °F",)) if low < -60 else ("C", ("read as °C: it goes far below zero",))
        if low < -12:
            return "C", ("read as °C: it goes far below zero",)
        if high > 100:
            return "F", ("read as °F: it is too warm for °C",)
        raise BadInput(
            f"“{self.name}” goes from {low:.0f} to {high:.0f} degrees, which may be °C or °F.",
            remedy="say which with --degrees C or --degrees F.",
        )


def read_log(path: str | Path) -> Log:
    """The log of a file on disk.

    Raises
    ------
    Mistakes
        When it is not there, too large, or not a table of times and temperatures.
    """
    place, name = Path(path), str(path)
    try:
        if place.is_dir():
            raise _wrong(name, "This is a folder, not a file.", "name a file in it.")
        if place.stat().st_size > LARGEST:
            raise _wrong(name, f"The file holds more than {LARGEST / 1e6:.0f} MB.", "cut it to the stage that counts.")
        data = place.read_bytes()
    except FileNotFoundError:
        raise _wrong(name, "There is no such file.", "check its name and folder.") from None
    except OSError as error:
        raise _wrong(name, f"The file cannot be read: {error.strerror}.", "check that you may open it.") from None
    return log_of(decoded(data, name), place.name)


def log_of(text: str, name: str) -> Log:
    """The log in a text; see `read_log`."""
    lines = text.splitlines()
    rows, first, header = _table(lines, name)
    place, seconds, begun, notes = _clock(rows, header, name, first)
    columns, scales = [], []
    for column in range(max(map(len, rows))):
        if column in place:
            continue
        cells = [row[column].strip() if column < len(row) else "" for row in rows]
        values = np.array([_value(cell) for cell in cells])
        head = header[column] if column < len(header) and header[column] else f"column {column + 1}"
        # A column of row numbers is no temperature, nor is one of words.
        counts = np.isfinite(values)
        if counts.sum() < max(1, 0.3 * len(values)) or _is_numbering(head, values[counts]):
            continue
        if re.search(r"humid|feuchte|humidit|\brh\b|%|batter|volt|status|alarm|\bpress", head, re.I):
            continue
        columns.append((head, values))
        scales.append(_scale_of(head, cells))
    if not columns:
        raise _wrong(name, "No column of temperatures was found.", "export the log as CSV: a time and a temperature.")
    return Log(
        name=name,
        time=seconds,
        begun=begun,
        columns=tuple(columns),
        scales=tuple(scales),
        notes=tuple(notes),
    )


def decoded(data: bytes, name: str) -> str:
    """The text of a log's bytes; raises Mistakes when they are none."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace")
    if data[:4] in (b"PK\x03\x04", b"%PDF") or data.count(0) > 0:
        raise _wrong(name, "This is not a text file.", "export the log as CSV.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # older loggers write the degree sign in one byte


def _table(lines: Sequence[str], name: str) -> tuple[list[list[str]], int, list[str]]:
    """The rows of readings, the line of the first, and the header above them."""
    for number, line in enumerate(lines, 1):
        if len(line) > _WIDEST:
            raise _wrong(
                name,
                f"Line {number} has {len(line)} signs; no log has.",
                "export the log as CSV: a time, a temperature.",
            )
    best: tuple[int, str] = (0, ",")
    for delimiter in _DELIMITERS:
        widths = sorted(len(line.split(delimiter)) for line in lines if line.strip())
        wide = widths[len(widths) // 2] if widths else 0
        if wide > 1 and (wide > best[0] or best[0] == 0) and _reads(lines, delimiter):
            best = (wide, delimiter)
            break
    delimiter = best[1]
    parsed = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=delimiter, skipinitialspace=True))
    begin = next((k for k, row in enumerate(parsed) if _is_reading(row)), None)
    if begin is None:
        raise _wrong(
            name, "No row of a time and a temperature was found.", "export the log as CSV: a time, a temperature."
        )
    # A row with a moment in it is one whose reading is missing.
    above = [
        row for row in parsed[:begin] if sum(bool(c.strip()) for c in row) > 1 and not any(map(_CLOCK.search, row))
    ]
    header = above[-1] if above else []
    rows = [row for row in parsed[begin:] if any(cell.strip() for cell in row) and _is_reading(row, lenient=True)]
    if delimiter == ",":
        rows = _with_decimals(rows, len(header))
    return rows, begin + 1, [cell.strip() for cell in header]


def _with_decimals(rows: list[list[str]], named: int) -> list[list[str]]:
    """Rows in which a comma parts columns and decimals alike: each has one cell more for every column of numbers."""
    wide = 2 * named - 1
    widths = [len(row) for row in rows]
    if named < 2 or not set(widths) <= {named, wide} or 2 * widths.count(wide) <= len(rows):
        return rows
    if not all(re.match(r"^\s*\d+\s*$", cell) for row in rows if len(row) == wide for cell in row[2::2]):
        return rows
    return [
        row if len(row) == named else [row[0], *(f"{a},{b}" for a, b in zip(row[1::2], row[2::2], strict=True))]
        for row in rows
    ]


def _reads(lines: Sequence[str], delimiter: str) -> bool:
    rows = [row for row in csv.reader(lines[-50:], delimiter=delimiter, skipinitialspace=True) if row]
    return sum(_is_reading(row) for row in rows) >= max(1, len(rows) // 2)


def _is_reading(row: Sequence[str], *, lenient: bool = False) -> bool:
    """Whether a row begins with a time and holds a number besides."""
    cells = [cell.strip() for cell in row]
    if lenient:
        return any(_NUMBER.match(cell) or _CLOCK.search(cell) for cell in cells)
    timed = [c for c, cell in enumerate(cells) if cell and (_moment(cell) is not None or _NUMBER.match(cell))]
    return len(timed) >= 2


def _value(cell: str) -> float:
    text = re.sub(r"\s*°?\s*[CcFf]$", "", cell).replace("−", "-").replace("–", "-").replace(",", ".")
    try:
        return float(text) if re.match(r"^[-+]?\d+(\.\d+)?([eE][-+]?\d+)?$", text) else float("nan")
    except ValueError:
        return float("nan")


def _is_numbering(head: str, values: FloatArray) -> bool:
    steps = np.diff(values)
    return bool(len(values) > 2 and (steps == 1).all() and (values == np.round(values)).all() and (
        re.search(r"^(no|nr|n°|#|id|index|row|record|reading|sample|column)\b|^#|^n$", head, re.I) is not None
    ))  # fmt: skip


def _scale_of(head: str, cells: Sequence[str]) -> Scale | None:
    for text in (head, *cells[:5]):
        found = re.search(r"°\s*([CF])\b|[(\[]\s*(?:deg\.?\s*)?([CF])\s*[)\]]|\bdeg(?:rees)?[ _.]?([CF])\b|\d\s*([CF])$"
                          r"|_([CF])$", text)  # fmt: skip
        if found:
            return "C" if next(g for g in found.groups() if g) == "C" else "F"
        if re.search(r"celsius|centigrade", text, re.I):
            return "C"
        if re.search(r"fahrenheit", text, re.I):
            return "F"
    return None


def _moment(text: str, formats: Sequence[str] = ()) -> datetime.datetime | None:
    """A date with a time of day, or a time of day alone."""
    tidy = re.sub(r"\s+", " ", text.strip().rstrip("Z")).replace("T", " ") if re.search(r"\d[:T]\d", text) else ""
    if not tidy:
        return None
    tidy = re.sub(r"([+-]\d{2}:?\d{2})$", "", tidy) if re.match(r"\d{4}-", tidy) else tidy
    for form in formats or _FORMATS:
        try:
            return datetime.datetime.strptime(tidy, form)
        except ValueError:
            continue
    return None


_FORMATS = (*(f"{day} {clock}" for day in _DATES for clock in _CLOCKS), *_CLOCKS)


def _clock(
    rows: Sequence[Sequence[str]], header: Sequence[str], name: str, line: int
) -> tuple[set[int], FloatArray, datetime.datetime | None, list[str]]:
    """Columns of the time, seconds since the first row, the moment it began, and what was noticed."""
    width = min(map(len, rows))
    first = [cell.strip() for cell in rows[0]]
    for column in range(min(width, 4)):
        joined = {column}
        cells = [row[column].strip() for row in rows]
        if _date_only(first[column]) and column + 1 < width and _moment(first[column + 1]) is not None:
            cells = [f"{row[column].strip()} {row[column + 1].strip()}" for row in rows]
            joined = {column, column + 1}
        if _moment(cells[0]) is not None:
            seconds, begun, notes = _from_moments(cells, name, line)
            return joined, seconds, begun, notes
    named = [c for c in range(width) if c < len(header) and _TIME_WORDS.search(header[c])]
    place = named[0] if named else 0
    values = np.array([_value(row[place].strip()) for row in rows])
    if not np.isfinite(values).all():
        bad = int(np.flatnonzero(~np.isfinite(values))[0])
        raise _wrong(name, f"“{rows[bad][place]}” is no time.", "export the log with one time a row.", line=line + bad)
    unit, notes = _unit(header[place] if place < len(header) else "", values, name)
    if values[0] > 3e8:  # seconds since 1970
        scale = 1.0 if values[0] < 3e11 else 1e-3
        begun = datetime.datetime(1970, 1, 1) + datetime.timedelta(seconds=float(values[0]) * scale)
        return {place}, (values - values[0]) * scale, begun, ["times read as seconds since 1970"]
    return {place}, (values - values[0]) * unit, None, notes


def _unit(head: str, values: FloatArray, name: str) -> tuple[float, list[str]]:
    words = re.findall(r"[a-zäöü]+", head.casefold())
    told = [_STEPS[word] for word in reversed(words) if word in _STEPS]
    if told:
        return told[0], []
    step = float(np.median(np.diff(values))) if len(values) > 1 else 0.0
    if step >= 5 and values[-1] - values[0] > 600:
        return 1.0, ["times without a unit read as seconds"]
    if values[0] > 3e8:
        return 1.0, []
    raise BadInput(
        f"“{name}” does not say in what its time column counts.",
        remedy="write the unit into its header, such as time (min) or time (s).",
    )


def _date_only(text: str) -> bool:
    for form in _DATES:
        try:
            datetime.datetime.strptime(text.strip(), form)
        except ValueError:
            continue
        return True
    return False


def _from_moments(cells: Sequence[str], name: str, line: int) -> tuple[FloatArray, datetime.datetime | None, list[str]]:
    """Seconds since the first moment; which of day and month comes first is decided by all rows together."""
    notes: list[str] = []
    found: list[tuple[list[datetime.datetime], str]] = []
    for form in _FORMATS:
        if _moment(cells[0], (form,)) is None or _moment(cells[-1], (form,)) is None:
            continue  # a long log is read once a form that can be meant, not once a form
        read = [_moment(cell, (form,)) for cell in cells]
        moments = [moment for moment in read if moment is not None]
        if len(moments) == len(cells):
            found.append((moments, form))
    if not found:
        bad = next((k for k, cell in enumerate(cells) if _moment(cell) is None), 0)
        raise _wrong(name, f"“{cells[bad]}” is no time like those above it.", "mend this row.", line=line + bad)
    moments, form = min(found, key=lambda one: max(one[0]) - min(one[0]))
    dated = "%Y" in form or "%y" in form
    others = {one[0].date() for one, other in found if "%y" in other.casefold()} - {moments[0].date()}
    if dated and others:
        which = "day" if form.startswith("%d") else "month" if form.startswith("%m") else "year"
        notes.append(f"the log begins on {moments[0]:%d %B %Y}, with the {which} first in its dates")
    seconds = np.array([(moment - moments[0]).total_seconds() for moment in moments])
    if not dated:
        back = np.flatnonzero(np.diff(seconds) < -12 * 3600)
        for at in back:  # past midnight
            seconds[at + 1 :] += 86400.0
    steps = np.diff(seconds)
    if steps.size:
        usual = float(np.median(steps))
        back = np.flatnonzero(np.abs(steps + 3600 - usual) < max(2.0, 0.1 * usual))
        if len(back) == 1:
            seconds[back[0] + 1 :] += 3600.0
            notes.append("the clock was set back by an hour within the log: the hour was put back")
    return seconds, moments[0] if dated else None, notes


def _wrong(name: str, says: str, remedy: str, *, line: int = 1) -> Mistakes:
    return Mistakes([Mistake(file=name, line=line, column=1, says=says, remedy=remedy)])
