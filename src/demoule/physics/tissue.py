"""How readily the flesh of a fruit lets sugar and water pass, raw or opened by heat."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demoule.composition import Constituent
from demoule.errors import BadInput
from demoule.figures import Status, published
from demoule.physics.diffusion import sugar_diffusivity, water_self_diffusivity
from demoule.physics.viscosity import viscosity_of_sucrose_solution
from demoule.units import FloatArray, Kelvin, MassFraction, celsius

__all__ = ["COOKED", "RAW", "Tissue", "tissue_diffusivity", "tissue_for"]

UNCALIBRATED = 3.0  # time of a first guess may be wrong by this factor either way (judged)
CALIBRATED = 1.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Tissue:
    """How readily the flesh of a fruit lets sugar and water pass.

    Parameters
    ----------
    diffusivity_at_90
        Effective diffusivity at 90 °C in thin syrup [m2/s].
    water_per_sugar
        Water that leaves per sugar that enters [kg/kg]: 1 to 2 when cooked, 3 to 6 when raw.
    spread
        Factor by which its times may be wrong either way.
    learned_from
        The measurement it came from; empty for a first guess.
    """

    diffusivity_at_90: float = 8e-10
    water_per_sugar: float = 1.5
    spread: float = UNCALIBRATED
    learned_from: str = ""

    def __post_init__(self) -> None:
        if not 0 < self.diffusivity_at_90 <= float(water_self_diffusivity(363.15)):
            raise BadInput(
                f"A diffusivity of {self.diffusivity_at_90:.2g} m²/s at 90 °C is more than a watery tissue allows: "
                f"water itself moves at {float(water_self_diffusivity(363.15)):.1e} m²/s there.",
                remedy="calibrate with one weighing and one Brix reading instead of a printed value.",
            )
        if not -1.0 <= self.water_per_sugar <= 10.0 or self.spread < 1:
            raise BadInput(
                f"{self.water_per_sugar:g} kg of water out per kg of sugar in is not possible.",
                remedy="weigh again: 1 to 2 is usual for cooked fruit, 3 to 6 for raw.",
            )


COOKED = Tissue()
"""Fruit whose cells heat has opened: carrot tissue gives 3e-10 to 8e-10 m2/s at 60 to 90 °C (selman-1983)."""

RAW = Tissue(diffusivity_at_90=1.4e-10, water_per_sugar=4.5, spread=4.0)
"""Fruit whose cells are whole: 0.1 to 0.3 of the cooked value (judged), and it gives more water than it takes sugar."""


def tissue_for(temperature: Kelvin, *, blanched: bool = False) -> Tissue:
    """First guess of the tissue at a syrup temperature: raw to 55 °C, cooked from 75 °C or once blanched.

    Between them the cells open by degrees (beet opens all its cells in 30 minutes at 75 °C, yang-cenkowski-1993).
    """
    share = 1.0 if blanched else min(max((celsius(temperature) - 55.0) / 20.0, 0.0), 1.0)
    if share in (0.0, 1.0):
        return COOKED if share else RAW
    d = RAW.diffusivity_at_90 * (COOKED.diffusivity_at_90 / RAW.diffusivity_at_90) ** share
    r = RAW.water_per_sugar + share * (COOKED.water_per_sugar - RAW.water_per_sugar)
    return Tissue(diffusivity_at_90=d, water_per_sugar=r, spread=4.0)


@published(
    gives="effective diffusivity of sugar in the tissue of fruit",
    source="selman-1983",
    valid="cooked tissue, 20 to 105 °C, up to 75 °Bx",
    error="a factor 3 either way before a calibration; printed values span three powers of ten",
    status=Status.JUDGED,
)
def tissue_diffusivity(tissue: Tissue, solids: MassFraction | FloatArray, temperature: Kelvin) -> FloatArray:
    """Effective diffusivity [m2/s] in the flesh at a content of soluble solids in its juice; any shape.

    Activation energy 28.2 kJ/mol (selman-1983); slowed by the thickening syrup with the power 0.4 (recalled from
    sucrose in water at 60 %); never above that of sucrose in water.

    >>> float(round(tissue_diffusivity(COOKED, 0.0, 363.15) * 1e10, 2))
    8.0
    """
    x = np.clip(np.asarray(solids, dtype=float), 0.0, 0.85)
    heat = math.exp(-3392.0 * (1 / temperature - 1 / 363.15))
    thin = viscosity_of_sucrose_solution(0.0, temperature)
    thick = viscosity_of_sucrose_solution(x, temperature)
    result: FloatArray = tissue.diffusivity_at_90 * heat * (thin / thick) ** 0.4
    return np.minimum(result, float(sugar_diffusivity(Constituent.SUCROSE, temperature)))
