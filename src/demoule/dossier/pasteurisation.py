"""Whether a heat treatment meets a published time and temperature: a table of steps, never a curve through them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from demoule.dossier.published import rows
from demoule.dossier.verdict import Verdict
from demoule.errors import BadInput, UnknownName
from demoule.figures import Status, published
from demoule.units import Kelvin, Second, kelvin

__all__ = ["HeatStep", "HeatVerdict", "heat_steps", "pasteurised"]

# The published pairs of one table imply slopes between these; they only serve to tell "clearly less" from "not listed".
# [K per tenfold time]: frozen dessert mix from 69 °C/30 min to 80 °C/25 s, and from there to 83 °C/15 s.
_STEEPEST, _SHALLOWEST = 5.9, 13.5
# Printed temperatures converted from °F carry two decimals.
_ROUNDING = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatStep:
    """One listed pair: at least this hot for at least this long."""

    jurisdiction: str
    product: str
    temperature: Kelvin
    hold: Second
    source: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatVerdict:
    """What a table says of one treatment, and the step that decided."""

    verdict: Verdict
    why: str
    step: HeatStep | None
    source: str


@cache
def heat_steps() -> tuple[HeatStep, ...]:
    """Every listed pair we hold, with its source."""
    return tuple(
        HeatStep(
            jurisdiction=row["jurisdiction"],
            product=row["product"],
            temperature=kelvin(float(row["temperature_c"])),
            hold=float(row["value"]),
            source=row["source"],
            status=Status(row["status"]),
        )
        for row in rows("pasteurisation")
    )


@published(
    gives="verdict on a heat treatment",
    source="us-7cfr58-635",
    valid="the products and pairs listed, by jurisdiction",
    error="exact: a step table",
    status=Status.READ,
    name="pasteurisation steps",
)
def pasteurised(jurisdiction: str, product: str, temperature: Kelvin, hold: Second) -> HeatVerdict:
    """Judge a temperature held for a time by the pairs listed for a product.

    Parameters
    ----------
    jurisdiction, product
        As in the table ("US", "cream, 10 % fat or more, or sweetened").
    temperature, hold
        Reached by the coldest part [K], and held there [s].

    Returns
    -------
    HeatVerdict
        "pass" at or above a listed pair in both. "not shown" when it lies between a cooler and a hotter pair and would
        reach both with the slopes most in its favour that the tables themselves imply: then only an authority can say.
        Otherwise "fail".

    Raises
    ------
    UnknownName
        For a jurisdiction and product without listed pairs.
    BadInput
        For a hold that is negative or a temperature that is none.
    """
    if not (temperature > 0 and hold >= 0):
        raise BadInput("A heat treatment needs a temperature and a time of zero or more.", remedy="write 72 °C, 15 s.")
    steps = [s for s in heat_steps() if s.jurisdiction == jurisdiction and s.product == product]
    if not steps:
        known = {f"{s.jurisdiction}: {s.product}" for s in heat_steps()}
        raise UnknownName("heat treatment table", f"{jurisdiction}: {product}", known)
    met = [s for s in steps if temperature >= s.temperature - _ROUNDING and hold >= s.hold]
    if met:
        step = max(met, key=lambda s: s.temperature)
        return HeatVerdict(verdict=Verdict.PASS, why=f"At or above {_pair(step)}.", step=step, source=step.source)
    cooler = [s for s in steps if s.temperature <= temperature]
    hotter = [s for s in steps if s.temperature > temperature]
    between = bool(cooler) and any(hold >= s.hold for s in hotter)
    if not between or any(_short(step, temperature, hold) for step in steps):
        nearest = min(steps, key=lambda s: abs(s.temperature - temperature))
        return HeatVerdict(
            verdict=Verdict.FAIL, why=f"Less than {_pair(nearest)}.", step=nearest, source=nearest.source
        )
    listed = ", ".join(_pair(s) for s in sorted(steps, key=lambda s: s.temperature))
    return HeatVerdict(
        verdict=Verdict.NOT_SHOWN,
        why=f"Between the listed pairs ({listed}); only an authority or an equivalence study can say.",
        step=None,
        source=steps[0].source,
    )


def _short(step: HeatStep, temperature: Kelvin, hold: Second) -> bool:
    """Whether a treatment stays below a pair even with the slope most in its favour."""
    above = temperature - step.temperature
    slope = _STEEPEST if above > 0 else _SHALLOWEST
    return hold * 10 ** (above / slope) < step.hold


def _pair(step: HeatStep) -> str:
    hold = f"{step.hold / 60:g} min" if step.hold >= 60 else f"{step.hold:g} s"
    return f"{step.temperature - 273.15:.4g} °C for {hold}"
