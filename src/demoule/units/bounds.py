"""What can be meant by a quantity of each kind, and how it may be written, for messages."""

from __future__ import annotations

import math
from dataclasses import dataclass

from demoule.errors import BadInput
from demoule.units.table import Kind, Unit

__all__ = ["BOUNDS", "EXAMPLES", "Bounds", "such_as", "wanted"]

EXAMPLES: dict[Kind, str] = {
    Kind.MASS: "730 g or 2.5 oz",
    Kind.VOLUME: "80 ml or ¾ cup",
    Kind.COUNT: "2 leaves or 3 pieces",
    Kind.TEMPERATURE: "85 °C or 185 °F",
    Kind.TEMPERATURE_DIFFERENCE: "5 K or 9 °F",
    Kind.TIME: "90 min, 1 h 30 or 3 months",
    Kind.LENGTH: "24 mm or 1.5 in",
    Kind.AREA: "90 cm²",
    Kind.PERCENT: "60 %",
    Kind.BRIX: "56.7 °Bx",
    Kind.DENSITY: "1.12, 0.50 g/ml or 1120 kg/m³",
    Kind.POWER: "3.5 kW",
    Kind.PRESSURE: "2.5 bar",
    Kind.SURFACE_COEFFICIENT: "18 W/m²K",
    Kind.SPEED: "2 m/s",
    Kind.ENERGY: "900 kJ",
    Kind.ENERGY_CONTENT: "900 kJ/100 g",
    Kind.CONDUCTIVITY: "0.5 W/mK",
    Kind.HEAT_CAPACITY: "3.5 kJ/kgK",
    Kind.DIFFUSIVITY: "0.13 mm²/s",
    Kind.VISCOSITY: "900 mPa s",
    Kind.MASS_PER_AREA: "180 g/m²",
    Kind.MASS_RATE: "20 g/min",
    Kind.CONTENT: "150 mg/kg",
    Kind.MONEY: "5.20 EUR",
    Kind.PRICE: "5.20 EUR/kg",
    Kind.PAY: "18 EUR/h",
    Kind.ENERGY_PRICE: "0.28 EUR/kWh",
    Kind.NUMBER: "1.5",
}
"""How a quantity of each kind may be written, for messages and docs."""

# Least and most that can be meant, in SI; a least of zero is itself refused unless a caller allows zero.
BOUNDS: dict[Kind, tuple[float, float]] = {
    Kind.MASS: (0.0, 1000.0),
    Kind.VOLUME: (0.0, 1.0),
    Kind.COUNT: (0.0, 100_000.0),
    Kind.TEMPERATURE: (273.15 - 200, 273.15 + 500),
    Kind.TEMPERATURE_DIFFERENCE: (-500.0, 500.0),
    Kind.TIME: (0.0, 20 * 365.25 * 86400),
    Kind.LENGTH: (0.0, 10_000.0),
    Kind.AREA: (0.0, 100.0),
    Kind.PERCENT: (-1e-300, 100.0),
    Kind.BRIX: (-1e-300, 1.0),
    Kind.DENSITY: (0.0, 3000.0),
    Kind.POWER: (0.0, 1e6),
    Kind.PRESSURE: (0.0, 1e8),
    Kind.SURFACE_COEFFICIENT: (0.0, 1e5),
    Kind.SPEED: (0.0, 100.0),
    Kind.ENERGY: (0.0, 1e12),
    Kind.ENERGY_CONTENT: (-1e-300, 1e8),
    Kind.CONDUCTIVITY: (0.0, 500.0),
    Kind.HEAT_CAPACITY: (0.0, 1e5),
    Kind.DIFFUSIVITY: (0.0, 1e-2),
    Kind.VISCOSITY: (0.0, 1e6),
    Kind.MASS_PER_AREA: (0.0, 100.0),
    Kind.MASS_RATE: (0.0, 10.0),
    Kind.CONTENT: (-1e-300, 1.0),
    Kind.MONEY: (-1e-300, 1e6),
    Kind.PRICE: (-1e-300, 1e6),
    Kind.PAY: (-1e-300, 1e4 / 3600),
    Kind.ENERGY_PRICE: (-1e-300, 100 / 3.6e6),
    Kind.NUMBER: (-1e15, 1e15),
}


def wanted(kinds: tuple[Kind, ...]) -> str:
    """What is expected, with its article."""
    if len(kinds) > 3:
        return "an amount"
    words = [f"a {k.value}" if not k.value.startswith("a") else f"an {k.value}" for k in kinds]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def such_as(kinds: tuple[Kind, ...]) -> str:
    """An example of it."""
    return "write for example " + ", or ".join(EXAMPLES[k] for k in kinds[:2]) + "."


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """Bounds of one reading: those of the kind, unless a caller sets others."""

    zero: bool = False
    least: float | None = None
    most: float | None = None

    def complaint(self, si: float, of: Unit, written: str) -> BadInput | None:
        """What is wrong with a value, or None."""
        if not math.isfinite(si):
            return BadInput(f"“{written}” is not a number that can be used.", remedy=such_as((of.kind,)))
        habit_least, habit_most = BOUNDS[of.kind]
        least = habit_least if self.least is None else self.least
        most = habit_most if self.most is None else self.most
        if si == 0 and least == 0 and not self.zero and self.least is None:
            return BadInput(
                f"“{written}” is zero; a {of.kind.value} above zero is expected.", remedy=such_as((of.kind,))
            )
        if si < 0 and of.zero == 0 and least >= -1e-300:
            return BadInput(f"“{written}” is negative; that cannot be a {of.kind.value}.", remedy=such_as((of.kind,)))
        if si < least:
            return BadInput(
                f"“{written}” is too little: at least {_in(least, of)} is expected.", remedy="check number and unit."
            )
        if si > most:
            return BadInput(
                f"“{written}” is too much: at most {_in(most, of)} can be meant here.", remedy="check number and unit."
            )
        return None


def _in(si: float, of: Unit) -> str:
    value = of.from_si(si)
    number = f"{value:.10g}" if abs(value) < 1e6 else f"{value:,.0f}".replace(",", " ")
    return f"{number} {of.sign}".replace("-", "−") if of.name != "1" else number
