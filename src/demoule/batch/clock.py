"""Days and times as people write them: "Saturday 19:30", "Tue–Sat 10:00", "2026-05-02 19:30", "Mon–Sat 07:00–15:30"."""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise

from demoule.batch.orders import WEEKDAYS, Due
from demoule.errors import BadInput, nearest
from demoule.units import Second
from demoule.units.number import tidy

__all__ = ["due", "shift", "shifts"]

_DAYS = {name.casefold(): number for number, name in enumerate(WEEKDAYS)}
for _number, _name in enumerate(WEEKDAYS):
    for _short in (_name[:2], _name[:3], _name[:4]):
        _DAYS.setdefault(_short.casefold(), _number)
_DAYS |= {"thurs": 3, "tues": 1}
_ALL = {"daily": tuple(range(7)), "every day": tuple(range(7)), "weekdays": tuple(range(5)), "weekend": (5, 6)}
_TIME = re.compile(r"(\d{1,2})(?::|\s?h\s?|\.)(\d{2})?|(\d{1,2})\s?(am|pm)", re.IGNORECASE)
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_HOW = "write for example Saturday 19:30, Tue–Sat 10:00 or 2026-05-02 19:30."


def due(text: str) -> Due:
    """The moment of service.

    Examples
    --------
    >>> due("Tue–Sat 10:00").days
    (1, 2, 3, 4, 5)
    >>> due("2026-05-02 19:30").date.isoformat()
    '2026-05-02'
    """
    tidied = tidy(text)
    iso = _ISO.match(tidied)
    rest = tidied[iso.end() :].strip(" ,T") if iso else tidied
    before, time = _time_at_end(rest, text)
    if iso:
        if before.strip(" ,"):
            raise BadInput(f"“{before}” stands between the date and the time.", remedy=_HOW)
        try:
            day = date(int(iso[1]), int(iso[2]), int(iso[3]))
        except ValueError:
            raise BadInput(f"“{iso[0]}” is no day of the calendar.", remedy="write year-month-day.") from None
        return Due(date=day, time=time, written=text)
    return Due(days=_days(before, text), time=time, written=text)


def shift(text: str) -> tuple[tuple[int, ...], Second, Second]:
    """Days of the week with the beginning and the end of work in seconds after midnight; an end may lie past it.

    Examples
    --------
    >>> shift("Wed–Sat 12:30–20:30")
    ((2, 3, 4, 5), 45000.0, 73800.0)
    """
    tidied = tidy(text)
    match = re.search(rf"({_TIME.pattern})\s*(?:–|-|to)\s*({_TIME.pattern})$", tidied, re.IGNORECASE)
    if not match:
        raise BadInput(f"“{text}” does not end in the hours of work.", remedy="write for example Mon–Sat 07:00–15:30.")
    start = _seconds(match[1], text)
    end = _seconds(match[6], text)
    if end == start:
        raise BadInput(f"“{text}”: the shift begins and ends at the same hour.", remedy="write its end.")
    return _days(tidied[: match.start()], text), start, end if end > start else end + 86400.0


def shifts(text: str) -> tuple[tuple[tuple[int, ...], Second, Second], ...]:
    """All the shifts of a person, parted by ";"; raises BadInput when two of them overlap.

    Examples
    --------
    >>> [hours for _, *hours in shifts("Mon–Fri 07:00–11:00; Mon–Fri 16:00–20:00")]
    [[25200.0, 39600.0], [57600.0, 72000.0]]
    """
    found = tuple(shift(part) for part in text.split(";") if part.strip())
    spans = sorted((day * 86400.0 + start, day * 86400.0 + end) for days, start, end in found for day in days)
    around = [*spans, *((spans[0][0] + 604800.0, spans[0][1] + 604800.0),)] if spans else []
    for (_, end), (start, _) in pairwise(around):
        if start < end:
            day = WEEKDAYS[int(start // 86400) % 7]
            raise BadInput(f"“{text}”: two shifts overlap on {day}.", remedy="end the one before the other begins.")
    return found


def _time_at_end(text: str, written: str) -> tuple[str, Second]:
    match = re.search(rf"(?:\bat\s+)?({_TIME.pattern})$", text, re.IGNORECASE)
    if not match:
        raise BadInput(f"“{written}” does not say at what time.", remedy=_HOW)
    return text[: match.start()].strip(), _seconds(match[1], written)


def _seconds(text: str, written: str) -> Second:
    match = _TIME.fullmatch(text.strip())
    assert match is not None  # found by the same pattern
    if match[4]:
        hours, minutes = int(match[3]) % 12 + (12 if match[4].lower() == "pm" else 0), 0
        valid = 1 <= int(match[3]) <= 12
    else:
        hours, minutes = int(match[1]), int(match[2] or 0)
        valid = hours < 24 and minutes < 60
    if not valid:
        raise BadInput(f"“{text}” in “{written}” is no time of day.", remedy="write hours and minutes, such as 19:30.")
    return hours * 3600.0 + minutes * 60.0


def _days(text: str, written: str) -> tuple[int, ...]:
    words = text.strip(" ,").casefold()
    if words in _ALL:
        return _ALL[words]
    if not words:
        raise BadInput(f"“{written}” does not say on which day.", remedy=_HOW)
    found: list[int] = []
    for part in re.split(r"\s*(?:,|\band\b|\+|&)\s*", words):
        ends = [_day(word, written) for word in re.split(r"\s*(?:–|-|\bto\b)\s*", part)]
        if len(ends) > 2:
            raise BadInput(f"“{part}” is no range of days.", remedy=_HOW)
        day = ends[0]
        found.append(day)
        while day != ends[-1]:
            day = (day + 1) % 7
            found.append(day)
    return tuple(sorted(set(found)))


def _day(word: str, written: str) -> int:
    word = word.strip().rstrip(".")
    if word.endswith("s") and word[:-1] in _DAYS:
        word = word[:-1]  # "Saturdays"
    if word in _DAYS:
        return _DAYS[word]
    hint = nearest(word, WEEKDAYS)
    raise BadInput(
        f"“{word}” in “{written}” is no day of the week.", remedy=f"did you mean “{hint}”?" if hint else _HOW
    )
