"""The two cooling rules for cooked food, run on any record of its core temperature.

Between two readings the temperature is taken as a straight line. A clock starts where the core falls through the upper
temperature, or at the first reading when that is already below it. Food warmed up again starts a new round; the worst
round counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from demoule.dossier.verdict import Verdict, worst
from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.units import FloatArray, Kelvin, Second, kelvin

__all__ = ["RULES", "CoolingRule", "CoolingVerdict", "Leg", "cooling_verdict", "cooling_verdicts", "crossing_down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One clock of a rule: from the rule's upper temperature down to this one within a time."""

    to: Kelvin
    within: Second


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingRule:
    """A cooling rule of one jurisdiction; all its clocks start at the same upper temperature."""

    key: str
    market: str
    says: str
    start: Kelvin
    legs: tuple[Leg, ...]
    source: str


RULES: tuple[CoolingRule, ...] = (
    CoolingRule(
        key="US",
        market="US",
        says="57 to 21 °C within 2 h, and 57 to 5 °C within 6 h in all",
        start=kelvin(57),
        legs=(Leg(to=kelvin(21), within=7200.0), Leg(to=kelvin(5), within=21600.0)),
        source="fda-food-code",
    ),
    CoolingRule(
        key="FR",
        market="EU",
        says="63 to 10 °C at the core within 2 h (France)",
        start=kelvin(63),
        legs=(Leg(to=kelvin(10), within=7200.0),),
        source="fr-order-2013",
    ),
)
"""The rules of the FDA Food Code 3-501.14(A) and of the French order of 8 October 2013, Annex II. Status: read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingVerdict:
    """What one rule says of one record.

    Parameters
    ----------
    clocks
        For each leg of the rule, in the round that decides, the time taken [s]; None when its end is not reached.
    why
        One sentence for people.
    """

    rule: CoolingRule
    verdict: Verdict
    clocks: tuple[Second | None, ...]
    why: str


def crossing_down(times: FloatArray, temperatures: FloatArray, level: Kelvin, after: Second) -> Second | None:
    """When the record first stands at or below a level at or after a moment; None when it never does.

    Examples
    --------
    >>> crossing_down(np.array([0.0, 100.0]), np.array([320.0, 300.0]), 310.0, 0.0)
    50.0
    """
    for k in range(len(times)):
        if times[k] < after:
            continue
        if temperatures[k] <= level:
            if k == 0 or temperatures[k - 1] <= level:
                return float(max(times[k], after))
            share = (temperatures[k - 1] - level) / (temperatures[k - 1] - temperatures[k])
            return max(float(times[k - 1] + share * (times[k] - times[k - 1])), after)
    return None


def _rounds(times: FloatArray, temperatures: FloatArray, start: Kelvin) -> list[tuple[Second, int]]:
    """Moments at which a clock starts, each with the index of the last reading before the food is hot again."""
    above = temperatures > start
    rounds: list[tuple[Second, int]] = []
    begin: Second | None = None if above[0] else float(times[0])
    for k in range(1, len(times)):
        if above[k - 1] and not above[k]:
            share = (temperatures[k - 1] - start) / (temperatures[k - 1] - temperatures[k])
            begin = float(times[k - 1] + share * (times[k] - times[k - 1]))
        elif above[k] and not above[k - 1] and begin is not None:
            rounds.append((begin, k - 1))
            begin = None
    if begin is not None:
        rounds.append((begin, len(times) - 1))
    return rounds


@published(
    gives="verdict of a cooling rule",
    source="fda-food-code",
    valid="a record of the core; straight lines between readings",
    error="as fine as the readings are close",
    status=Status.READ,
    name="cooling rules",
)
def cooling_verdict(
    rule: CoolingRule, times: Sequence[Second] | FloatArray, temperatures: Sequence[Kelvin] | FloatArray
) -> CoolingVerdict:
    """Judge a record of the core by one rule.

    Parameters
    ----------
    times
        Seconds from any moment, rising.
    temperatures
        Of the core at these times [K].

    Returns
    -------
    CoolingVerdict
        "fail" also when the record is already longer than a clock allows; "not shown" when it ends too early to tell.

    Raises
    ------
    BadInput
        Fewer than two readings, times that do not rise, or readings that are no numbers.
    """
    t, temp = _checked(times, temperatures)
    rounds = _rounds(t, temp, rule.start)
    if not rounds:
        why = f"The core has not fallen below {_c(rule.start)} in the record."
        return CoolingVerdict(rule=rule, verdict=Verdict.NOT_SHOWN, clocks=(None,) * len(rule.legs), why=why)
    judged = [
        _judge(rule, t[: last + 1], temp[: last + 1], begin, reheated=last < len(t) - 1) for begin, last in rounds
    ]
    gravest = worst(entry.verdict for entry in judged)
    return next(entry for entry in reversed(judged) if entry.verdict == gravest)


def _clock(time: Second) -> str:
    """Minutes up to two hours, then hours and minutes: never rounded across a limit of whole hours."""
    minutes = math.ceil(time / 60 - 1e-6)
    return f"{minutes} min" if minutes <= 120 else f"{minutes // 60} h {minutes % 60:02d}"


def _judge(rule: CoolingRule, t: FloatArray, temp: FloatArray, begin: Second, *, reheated: bool) -> CoolingVerdict:
    seen = float(t[-1]) - begin
    clocks: list[Second | None] = []
    verdicts: list[Verdict] = []
    reasons: list[str] = []
    for leg in rule.legs:
        end = crossing_down(t, temp, leg.to, begin)
        taken = None if end is None else end - begin
        clocks.append(taken)
        name = f"{_c(rule.start)} to {_c(leg.to)}"
        if taken is not None:
            verdicts.append(Verdict.PASS if taken <= leg.within else Verdict.FAIL)
            verb = "in" if taken <= leg.within else "takes"
            reasons.append(f"{name} {verb} {_clock(taken)}")
        elif seen > leg.within:
            verdicts.append(Verdict.FAIL)
            reasons.append(f"{name} is not done after {_clock(seen)}")
        elif reheated:
            # Warmed up in time: this round ends without a verdict of its own, the next one counts.
            verdicts.append(Verdict.PASS)
            reasons.append(f"warmed up again before {_c(leg.to)}")
        else:
            verdicts.append(Verdict.NOT_SHOWN)
            reasons.append(f"{_c(leg.to)} is not reached in the record")
    verdict = worst(verdicts)
    told = [reason for reason, v in zip(reasons, verdicts, strict=True) if v == verdict]
    return CoolingVerdict(rule=rule, verdict=verdict, clocks=tuple(clocks), why="; ".join(told) + ".")


def cooling_verdicts(
    times: Sequence[Second] | FloatArray, temperatures: Sequence[Kelvin] | FloatArray, place: str = "core"
) -> tuple[CoolingVerdict, ...]:
    """Judge a record by every rule we hold; a probe that is not in the core shows nothing."""
    judged = tuple(cooling_verdict(rule, times, temperatures) for rule in RULES)
    if place == "core":
        return judged
    return tuple(
        CoolingVerdict(
            rule=entry.rule,
            verdict=Verdict.NOT_SHOWN,
            clocks=entry.clocks,
            why=f"The probe stood at the {place}; the rule asks for the core.",
        )
        for entry in judged
    )


def _checked(times: npt.ArrayLike, temperatures: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    t = np.asarray(times, dtype=float)
    temp = np.asarray(temperatures, dtype=float)
    if t.ndim != 1 or t.shape != temp.shape or len(t) < 2:
        raise BadInput(
            f"A cooling record needs at least two readings, each a time and a temperature; this one has {t.size}.",
            remedy="give time and temperature in pairs.",
        )
    if not (np.isfinite(t).all() and np.isfinite(temp).all()) or (np.diff(t) <= 0).any() or (temp < 0).any():
        raise BadInput(
            "The readings of the record are not in order of time, or one of them is no temperature.",
            remedy="sort the readings by time and take out the empty ones.",
        )
    return t, temp


def _c(temperature: Kelvin) -> str:
    return f"{temperature - 273.15:.0f} °C"
