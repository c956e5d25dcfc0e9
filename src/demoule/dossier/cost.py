"""What one good piece costs: material with trim and losses, hands, packaging, cold; and what it should sell for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from demoule.dossier.answer import Cost, CostLine
from demoule.figures import Basis, Figure, Status, basis_of, published
from demoule.units import Joule, Kelvin

if TYPE_CHECKING:
    from demoule.worked import Worked

__all__ = ["cold_work", "cost_of", "material_of"]

_MATERIAL_BAND = 0.05  # of weighing, packs and yields (practice)
_LABOUR_BAND = 0.15  # of minutes told by the trade's habit (practice)
_COLD_BAND = 0.40  # judged
_KWH = 3.6e6

_MATERIAL = Basis(
    model="prices per kg of what is used, trim and losses in it", source="practice", valid="prices as entered"
)
_LABOUR = Basis(model="hands-on time at the mean pay of the kitchen", source="practice", valid="a practised team")
_TOLD = Basis(model="stated in the kitchen file", source="practice", valid="as entered")


@published(
    gives="electric work of taking heat away",
    source="judged",
    valid="rooms from −45 to 8 °C",
    error="40 %; fans, doors and defrosting not counted",
    status=Status.JUDGED,
    name="work of a freezer",
)
def cold_work(heat: Joule, air: Kelvin, kitchen: Kelvin) -> Joule:
    """Electric work for taking heat out of a piece in a cold room.

    Parameters
    ----------
    heat
        Taken out, positive [J].
    air, kitchen
        Of the cold room, and around the condenser [K].

    Returns
    -------
    Joule
        At 45 % of the ideal coefficient of performance, the evaporator 8 K colder than the air of the room and the
        condenser 12 K warmer than the kitchen: 1.2 at −36 °C, 3.1 at 3 °C in a kitchen of 22 °C.

    Examples
    --------
    >>> round(20000 / cold_work(20000, 237.15, 295.15), 2)
    1.32
    """
    evaporator, condenser = air - 8.0, kitchen + 12.0
    return heat * (condenser - evaporator) / (0.45 * evaporator)


def _banded(value: float, share: float, currency: str, *basis: Basis, note: str = "") -> Figure:
    return Figure(value=value, unit=currency, low=value * (1 - share), high=value * (1 + share), basis=basis, note=note)


_FEW = 2  # prices that a figure names; the cost page names all


def _without(unpriced: list[str]) -> str:
    few = len(unpriced) <= _FEW
    return f"without {' and '.join(unpriced)}" if few else f"without {len(unpriced)} prices that nobody told"


def _unknown(at_least: float | None, currency: str, *basis: Basis, note: str) -> Figure:
    return Figure(value=None, unit=currency, low=at_least, basis=basis, note=note)


def material_of(worked: Worked) -> tuple[Figure, list[CostLine], list[str]]:
    """What goes into one good piece: its cost, line by line with the dearest first, and what has no price."""
    currency = worked.kitchen.currency
    good = worked.weighing.pieces + max(worked.weighing.spare, 0)
    lines: list[CostLine] = []
    unpriced: list[str] = []

    known = 0.0
    for buying in worked.weighing.buying:
        name = buying.ingredient.name
        if buying.cost_used is None:
            if not buying.ingredient.is_water:
                unpriced.append(name)
                untold = _unknown(None, currency, _MATERIAL, note="price not told")
                lines.append(CostLine(what=name, kind="material", per_piece=untold))
            continue
        each = buying.cost_used / good
        known += each
        lines.append(CostLine(what=name, kind="material", per_piece=_banded(each, _MATERIAL_BAND, currency, _MATERIAL)))
    lines.sort(key=lambda line: -(line.per_piece.value if line.per_piece.value is not None else math.inf))
    material = (
        _unknown(known * (1 - _MATERIAL_BAND), currency, _MATERIAL, note=_without(unpriced))
        if unpriced
        else _banded(known, _MATERIAL_BAND, currency, _MATERIAL)
    )
    return material, lines, unpriced


def cost_of(worked: Worked) -> Cost:
    """Cost of one good piece and of the order.

    Returns
    -------
    Cost
        All figures but `order_total` are per good piece, spare ones shared in. A figure in which a price is missing has
        no value; its `low` is what is known of it, and `unpriced` names what is missing.
    """
    kitchen, weighing = worked.kitchen, worked.weighing
    currency = kitchen.currency
    good = weighing.pieces + max(weighing.spare, 0)
    material, lines, unpriced = material_of(worked)

    labour = _labour(worked, good, lines)
    packaging = Figure(
        value=kitchen.packaging,
        unit=currency,
        low=kitchen.packaging,
        high=kitchen.packaging,
        basis=(_TOLD,),
        note="" if kitchen.packaging else "none told",
    )
    lines.append(CostLine(what="packaging", kind="packaging", per_piece=packaging))
    energy = _energy(worked)
    lines.append(CostLine(what="cold", kind="energy", per_piece=energy))

    # Taking the heat away costs a fraction of a cent: without its price the total still stands, and says so.
    counted = (material, labour, packaging) if energy.value is None else (material, labour, packaging, energy)
    total = _sum(counted, currency, note="energy not counted" if energy.value is None else "")
    return Cost(
        lines=tuple(lines),
        material=material,
        labour=labour,
        packaging=packaging,
        energy=energy,
        total=total,
        order_total=_times(total, weighing.pieces),
        price=_times(
            total,
            1 / (1 - kitchen.margin),
            note=f"{kitchen.margin:.0%} of it is left after the costs above, before tax",
        ),
        unpriced=(
            *unpriced,
            *(("labour",) if labour.value is None else ()),
            *(("energy",) if energy.value is None else ()),
        ),
    )


def _labour(worked: Worked, good: int, lines: list[CostLine]) -> Figure:
    kitchen = worked.kitchen
    pays = [person.pay for person in kitchen.people]
    if not pays:
        untold = _unknown(None, kitchen.currency, _LABOUR, note="no pay told")
        lines.append(CostLine(what="hands", kind="labour", per_piece=untold))
        return untold
    per_second = sum(pays) / len(pays) / 3600
    total = 0.0
    for what, seconds in worked.weighing.hands_on:
        each = seconds * per_second / good
        total += each
        lines.append(
            CostLine(what=what, kind="labour", per_piece=_banded(each, _LABOUR_BAND, kitchen.currency, _LABOUR))
        )
    minutes = sum(seconds for _, seconds in worked.weighing.hands_on) / good / 60
    return _banded(
        total, _LABOUR_BAND, kitchen.currency, _LABOUR, note=f"{minutes:.1f} min at {3600 * per_second:.2f}/h"
    )


def _energy(worked: Worked) -> Figure:
    kitchen = worked.kitchen
    basis = basis_of(cold_work)
    work = sum(
        cold_work(-run.heat, run.room.air, kitchen.air)
        for run in worked.cold.stages
        if run.heat < 0 and run.room.air < kitchen.air
    )
    kwh = work / _KWH
    if kitchen.energy_price is None:
        return _unknown(None, kitchen.currency, basis, note=f"price of energy not told; {kwh:.4f} kWh per piece")
    note = f"{kwh:.4f} kWh to take the heat of freezing away"
    return _banded(kwh * kitchen.energy_price, _COLD_BAND, kitchen.currency, basis, note=note)


def _sum(figures: tuple[Figure, ...], currency: str, note: str) -> Figure:
    basis = tuple(dict.fromkeys(entry for figure in figures for entry in figure.basis))
    missing = [figure for figure in figures if figure.value is None]
    if missing:
        least = sum(figure.low or 0.0 for figure in figures)
        told = "; ".join(part for part in (*(f.note for f in missing), note) if part)
        return Figure(value=None, unit=currency, low=least, basis=basis, note=told)
    value = sum(figure.value or 0.0 for figure in figures)
    below = math.hypot(
        *((f.value or 0.0) - (f.value if f.low is None else f.low) for f in figures if f.value is not None)
    )
    above = math.hypot(*((f.value if f.high is None else f.high) - f.value for f in figures if f.value is not None))
    return Figure(value=value, unit=currency, low=value - below, high=value + above, basis=basis, note=note)


def _times(figure: Figure, factor: float, note: str = "") -> Figure:
    def scaled(value: float | None) -> float | None:
        return None if value is None else factor * value

    return Figure(
        value=scaled(figure.value),
        unit=figure.unit,
        low=scaled(figure.low),
        high=scaled(figure.high),
        basis=figure.basis,
        note="; ".join(part for part in (note, figure.note) if part),
    )
