"""Sucrose that acid splits on the way of a making: softer, sweeter and less grainy than what was weighed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.figures import Figure
from demoule.formula.cooked import Moment, Reading
from demoule.formula.matter import mix_density
from demoule.physics.cooking import Inverted, inverted, water_in_a_litre
from demoule.units import Kelvin

__all__ = ["split_by_acid"]

_HOT: Kelvin = 323.15  # the model was made from 50 °C up
_SOUR = 5.5  # pH above which a kitchen splits no sucrose worth telling
_TOLD = 0.005  # share of the sucrose below which nothing is done
_SUCROSE, _WATER = 0.02, 0.02  # kg/kg


def split_by_acid(
    composition: Composition, moments: Sequence[Moment], ph: float | None
) -> tuple[Composition, Inverted | None, Reading | None]:
    """The composition with the share of its sucrose that acid and heat have split, and what is to be told of it.

    Nothing is split where the pH is not known, nothing was hot, or there is hardly any sucrose or water.

    Notes
    -----
    Along the component's own record; sucrose that came in with another component counts as what is left of it there.
    A pot that thickens splits most in its last minutes: the water of the end is taken for the whole way. A factor of 2
    on the speed lies in the pH (vukov-1965).

    Solids and water stay what they were weighed and read as: the water that the splitting binds, a twentieth of the
    sugar split, is left as water, so that a Brix cooked to and a measured yield remain exact.
    """
    hottest = max((moment.temperature for moment in moments), default=0.0)
    if ph is None or ph > _SOUR or hottest < _HOT or len(moments) < 2:
        return composition, None, None
    if composition[Constituent.SUCROSE] < _SUCROSE or composition.water < _WATER:
        return composition, None, None
    litre = water_in_a_litre(1 - composition.water, mix_density(composition))
    times = np.maximum.accumulate(np.array([moment.time for moment in moments]))
    found = inverted(times, np.array([moment.temperature for moment in moments]), ph, litre)
    if found.share < _TOLD:
        return composition, None, None
    after = _held(composition, min(found.share, 1.0))
    figure = Figure(
        value=100 * found.share,
        unit="%",
        low=100 * found.low,
        high=100 * found.high,
        basis=found.basis,
        note=f"at pH {ph:.1f} along its heat; counted in what it is made of",
    )
    return after, found, Reading(key="inverted", name="of its sucrose split by the acid", figure=figure)


def _held(composition: Composition, share: float) -> Composition:
    """The composition with a share of its sucrose as equal masses of glucose and fructose."""
    x = composition.vector
    split = float(x[Constituent.SUCROSE]) * share
    x[Constituent.SUCROSE] -= split
    x[Constituent.GLUCOSE] += split / 2
    x[Constituent.FRUCTOSE] += split / 2
    return Composition(fractions=tuple((x / x.sum()).tolist()), unknown=composition.unknown)
