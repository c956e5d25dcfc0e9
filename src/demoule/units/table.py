"""Every unit that people write or read here, with its exact factor to SI.

Factors are exact by definition: NIST Special Publication 811, Appendix B, and NIST Handbook 44, Appendix C.
"""

from __future__ import annotations

import enum
from collections.abc import Iterable
from dataclasses import dataclass

from demoule.errors import BadInput, nearest

__all__ = ["CURRENCIES", "Kind", "Unit", "convert", "from_si", "to_si", "unit", "units_spelt"]


class Kind(enum.StrEnum):
    """What a quantity measures; the value is how a person calls it."""

    MASS = "mass"
    VOLUME = "volume"
    COUNT = "number of pieces"
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    TIME = "time"
    LENGTH = "length"
    AREA = "area"
    PERCENT = "percentage"
    BRIX = "degree Brix"
    DENSITY = "density"
    POWER = "power"
    PRESSURE = "pressure"
    SURFACE_COEFFICIENT = "surface coefficient"
    SPEED = "speed"
    ENERGY = "energy"
    ENERGY_CONTENT = "energy content"
    CONDUCTIVITY = "heat conductivity"
    HEAT_CAPACITY = "specific heat"
    DIFFUSIVITY = "diffusivity"
    VISCOSITY = "viscosity"
    MASS_PER_AREA = "mass per area"
    MASS_RATE = "mass per time"
    CONTENT = "content by mass"
    MONEY = "price"
    PRICE = "price by mass"
    PAY = "pay per hour"
    ENERGY_PRICE = "price of energy"
    NUMBER = "number"


# Kinds that count the same thing: a fraction of one.
_SAME = {
    Kind.PERCENT: "fraction",
    Kind.BRIX: "fraction",
    Kind.NUMBER: "fraction",
    Kind.CONTENT: "fraction",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One unit.

    Parameters
    ----------
    name
        As figures and code name it ("kg/m3").
    factor, zero
        A value in this unit times `factor` plus `zero` is SI.
    sign
        As it is printed ("kg/m³").
    spellings
        What people write, the name and the sign among them.
    currency
        For money.
    """

    name: str
    kind: Kind
    factor: float
    zero: float = 0.0
    sign: str = ""
    spellings: tuple[str, ...] = ()
    currency: str = ""

    @property
    def dimension(self) -> str:
        """Units of the same dimension can be turned into each other."""
        return _SAME.get(self.kind, self.kind.value) + self.currency

    def in_si(self, value: float) -> float:
        """A value in this unit, in SI; divided where the factor is a whole part, so that 56.7 % is 0.567."""
        parts = 1 / self.factor
        whole = round(parts)
        si = value / whole if parts > 1 and abs(parts - whole) < 1e-9 * parts else value * self.factor
        return si + self.zero

    def from_si(self, si: float) -> float:
        """An SI value in this unit."""
        return (si - self.zero) / self.factor


_POUND = 0.45359237  # kg, exact
_OUNCE = 0.028349523125  # kg, exact: a sixteenth of it
_FLUID_OUNCE = 29.5735295625e-6  # m3, exact: 1/128 of a gallon of 231 cubic inches
_IMPERIAL_FLUID_OUNCE = 28.4130625e-6  # m3, exact: 1/160 of 4.54609 l
_INCH = 0.0254  # m, exact
_FAHRENHEIT_ZERO = 273.15 - 32 / 1.8
_MONTH = 86400 * 365.25 / 12

# name, kind, factor, zero, sign, further spellings
_ROWS: tuple[tuple[str, Kind, float, float, str, str], ...] = (
    ("kg", Kind.MASS, 1.0, 0, "", "kilo|kilos|kilogram|kilograms|kilogramme|kilogrammes|kgs"),
    ("g", Kind.MASS, 1e-3, 0, "", "gr|gram|grams|gramme|grammes"),
    ("mg", Kind.MASS, 1e-6, 0, "", "milligram|milligrams|milligramme|milligrammes"),
    ("µg", Kind.MASS, 1e-9, 0, "", "ug|μg|mcg|microgram|micrograms"),
    ("t", Kind.MASS, 1e3, 0, "", "tonne|tonnes"),
    ("lb", Kind.MASS, _POUND, 0, "", "lbs|pound|pounds"),
    ("oz", Kind.MASS, _OUNCE, 0, "", "ounce|ounces|oz."),
    ("l", Kind.VOLUME, 1e-3, 0, "", "L|litre|litres|liter|liters"),
    ("dl", Kind.VOLUME, 1e-4, 0, "", "decilitre|decilitres|deciliter|deciliters"),
    ("cl", Kind.VOLUME, 1e-5, 0, "", "centilitre|centilitres|centiliter|centiliters"),
    ("ml", Kind.VOLUME, 1e-6, 0, "", "mL|cc|cm3|millilitre|millilitres|milliliter|milliliters"),
    ("m3", Kind.VOLUME, 1.0, 0, "m³", ""),
    ("mm3", Kind.VOLUME, 1e-9, 0, "mm³", ""),
    ("fl oz", Kind.VOLUME, _FLUID_OUNCE, 0, "", "floz|fl. oz.|fl. oz|fluid ounce|fluid ounces|US fl oz"),
    ("tsp", Kind.VOLUME, _FLUID_OUNCE / 6, 0, "", "teaspoon|teaspoons|tsps"),
    ("tbsp", Kind.VOLUME, _FLUID_OUNCE / 2, 0, "", "tablespoon|tablespoons|tbsps|tbs"),
    ("pinch", Kind.VOLUME, _FLUID_OUNCE / 96, 0, "", "pinches|pincée|pincées"),  # a sixteenth of a teaspoon (practice)
    ("cup", Kind.VOLUME, 8 * _FLUID_OUNCE, 0, "", "cups|US cup|US cups"),
    ("pint", Kind.VOLUME, 16 * _FLUID_OUNCE, 0, "", "pints|pt|US pint|US pints"),
    ("quart", Kind.VOLUME, 32 * _FLUID_OUNCE, 0, "", "quarts|qt|qts|US quart|US quarts"),
    ("gallon", Kind.VOLUME, 128 * _FLUID_OUNCE, 0, "", "gallons|gal|US gallon|US gallons"),
    ("imperial fl oz", Kind.VOLUME, _IMPERIAL_FLUID_OUNCE, 0, "", "imp fl oz"),
    ("imperial pint", Kind.VOLUME, 20 * _IMPERIAL_FLUID_OUNCE, 0, "", "imperial pints|imp pint|imp pints"),
    ("imperial gallon", Kind.VOLUME, 160 * _IMPERIAL_FLUID_OUNCE, 0, "", "imperial gallons|imp gal"),
    ("metric cup", Kind.VOLUME, 250e-6, 0, "", "metric cups"),
    ("cubic inch", Kind.VOLUME, _INCH**3, 0, "", "cubic inches|cu in|in3"),
    ("leaf", Kind.COUNT, 1.0, 0, "", "leaves|feuille|feuilles"),
    ("sheet", Kind.COUNT, 1.0, 0, "", "sheets"),
    ("pod", Kind.COUNT, 1.0, 0, "", "pods|gousse|gousses"),
    ("piece", Kind.COUNT, 1.0, 0, "", "pieces|pcs|pc|pièce|pièces"),
    ("egg", Kind.COUNT, 1.0, 0, "", "eggs|œuf|œufs|oeuf|oeufs"),
    ("yolk", Kind.COUNT, 1.0, 0, "", "yolks|jaune|jaunes"),
    ("white", Kind.COUNT, 1.0, 0, "", "whites|blanc|blancs"),
    ("zest", Kind.COUNT, 1.0, 0, "", "zests|zeste|zestes"),
    ("sprig", Kind.COUNT, 1.0, 0, "", "sprigs|brin|brins"),
    ("stick", Kind.COUNT, 1.0, 0, "", "sticks|bâton|bâtons"),
    ("°C", Kind.TEMPERATURE, 1.0, 273.15, "", "C|deg C|degC|celsius|degrees C|degrees celsius|degree celsius"),
    ("°F", Kind.TEMPERATURE, 1 / 1.8, _FAHRENHEIT_ZERO, "", "F|deg F|degF|fahrenheit|degrees F|degrees fahrenheit"),
    ("K", Kind.TEMPERATURE, 1.0, 0, "", "kelvin"),
    ("K", Kind.TEMPERATURE_DIFFERENCE, 1.0, 0, "", "kelvin|°C|C"),
    ("°F", Kind.TEMPERATURE_DIFFERENCE, 1 / 1.8, 0, "", "F"),
    ("s", Kind.TIME, 1.0, 0, "", "sec|secs|second|seconds|seconde|secondes"),
    ("min", Kind.TIME, 60.0, 0, "", "mins|minute|minutes|mn"),
    ("h", Kind.TIME, 3600.0, 0, "", "hr|hrs|hour|hours|heure|heures"),
    ("d", Kind.TIME, 86400.0, 0, "", "day|days|jour|jours|j"),
    ("week", Kind.TIME, 7 * 86400.0, 0, "", "weeks|wk|wks|semaine|semaines"),
    ("month", Kind.TIME, _MONTH, 0, "", "months|mo|mois"),
    ("year", Kind.TIME, 12 * _MONTH, 0, "", "years|yr|yrs|an|ans"),
    ("m", Kind.LENGTH, 1.0, 0, "", "metre|metres|meter|meters|mètre|mètres"),
    ("cm", Kind.LENGTH, 1e-2, 0, "", "centimetre|centimetres|centimeter|centimeters"),
    ("mm", Kind.LENGTH, 1e-3, 0, "", "millimetre|millimetres|millimeter|millimeters"),
    ("µm", Kind.LENGTH, 1e-6, 0, "", "um|μm|micron|microns"),
    ("km", Kind.LENGTH, 1e3, 0, "", ""),
    ("in", Kind.LENGTH, _INCH, 0, "", 'inch|inches|"|in.'),
    ("ft", Kind.LENGTH, 12 * _INCH, 0, "", "foot|feet|'"),
    ("m2", Kind.AREA, 1.0, 0, "m²", "sq m"),
    ("cm2", Kind.AREA, 1e-4, 0, "cm²", "sq cm"),
    ("mm2", Kind.AREA, 1e-6, 0, "mm²", "sq mm"),
    ("sq in", Kind.AREA, _INCH**2, 0, "", "in2|square inch|square inches"),
    ("sq ft", Kind.AREA, (12 * _INCH) ** 2, 0, "", "ft2|square foot|square feet"),
    ("%", Kind.PERCENT, 0.01, 0, "", "percent|per cent|pct|pour cent"),
    ("°Bx", Kind.BRIX, 0.01, 0, "", "°Brix|Bx|Brix|deg Bx|degBx|degrees Brix|%"),
    ("g/ml", Kind.DENSITY, 1e3, 0, "", "g/mL|g/cm3|g/cc|kg/l|kg/L|kg/dm3"),
    ("kg/m3", Kind.DENSITY, 1.0, 0, "kg/m³", "g/l|g/L"),
    ("lb/gal", Kind.DENSITY, _POUND / (128 * _FLUID_OUNCE), 0, "", "lb/US gal"),
    ("oz/fl oz", Kind.DENSITY, _OUNCE / _FLUID_OUNCE, 0, "", ""),
    ("W", Kind.POWER, 1.0, 0, "", "watt|watts"),
    ("kW", Kind.POWER, 1e3, 0, "", "kilowatt|kilowatts"),
    ("Pa", Kind.PRESSURE, 1.0, 0, "", "pascal"),
    ("hPa", Kind.PRESSURE, 1e2, 0, "", "mbar"),
    ("kPa", Kind.PRESSURE, 1e3, 0, "", ""),
    ("MPa", Kind.PRESSURE, 1e6, 0, "", ""),
    ("bar", Kind.PRESSURE, 1e5, 0, "", "bars"),
    ("atm", Kind.PRESSURE, 101325.0, 0, "", ""),
    ("psi", Kind.PRESSURE, _POUND * 9.80665 / _INCH**2, 0, "", ""),
    ("W/m2K", Kind.SURFACE_COEFFICIENT, 1.0, 0, "W/m²K", "W/m2·K|W/m2 K|W/(m2K)|W/(m2 K)|W/(m2·K)|W/K/m2|W/m2/K"),
    ("m/s", Kind.SPEED, 1.0, 0, "", ""),
    ("cm/s", Kind.SPEED, 1e-2, 0, "", ""),
    ("mm/s", Kind.SPEED, 1e-3, 0, "", ""),
    ("km/h", Kind.SPEED, 1 / 3.6, 0, "", ""),
    ("ft/s", Kind.SPEED, 12 * _INCH, 0, "", ""),
    ("J", Kind.ENERGY, 1.0, 0, "", "joule|joules"),
    ("kJ", Kind.ENERGY, 1e3, 0, "", ""),
    ("MJ", Kind.ENERGY, 1e6, 0, "", ""),
    ("kcal", Kind.ENERGY, 4184.0, 0, "", "Cal|kilocalorie|kilocalories"),  # thermochemical
    ("kcal IT", Kind.ENERGY, 4186.8, 0, "", ""),
    ("cal", Kind.ENERGY, 4.184, 0, "", ""),
    ("Wh", Kind.ENERGY, 3600.0, 0, "", ""),
    ("kWh", Kind.ENERGY, 3.6e6, 0, "", ""),
    ("Btu", Kind.ENERGY, 1055.05585262, 0, "", "BTU"),
    ("J/kg", Kind.ENERGY_CONTENT, 1.0, 0, "", ""),
    ("kJ/kg", Kind.ENERGY_CONTENT, 1e3, 0, "", "J/g"),
    ("kJ/100 g", Kind.ENERGY_CONTENT, 1e4, 0, "", "kJ/100g"),
    ("kcal/100 g", Kind.ENERGY_CONTENT, 41840.0, 0, "", "kcal/100g"),
    ("W/mK", Kind.CONDUCTIVITY, 1.0, 0, "", "W/(m K)|W/(mK)|W/m K|W/m·K|W/(m·K)|W/m/K"),
    ("J/kgK", Kind.HEAT_CAPACITY, 1.0, 0, "", "J/(kg K)|J/(kgK)|J/kg K|J/kg·K|J/(kg·K)|J/kg/K"),
    ("kJ/kgK", Kind.HEAT_CAPACITY, 1e3, 0, "", "kJ/(kg K)|kJ/(kgK)|kJ/kg K|kJ/kg·K|kJ/(kg·K)|J/gK|J/(g K)|kJ/kg/K"),
    ("m2/s", Kind.DIFFUSIVITY, 1.0, 0, "m²/s", ""),
    ("mm2/s", Kind.DIFFUSIVITY, 1e-6, 0, "mm²/s", ""),
    ("Pa s", Kind.VISCOSITY, 1.0, 0, "Pa·s", "Pa·s|Pas"),
    ("mPa s", Kind.VISCOSITY, 1e-3, 0, "mPa·s", "mPa·s|mPas|cP"),
    ("kg/m2", Kind.MASS_PER_AREA, 1.0, 0, "kg/m²", ""),
    ("g/m2", Kind.MASS_PER_AREA, 1e-3, 0, "g/m²", ""),
    ("g/cm2", Kind.MASS_PER_AREA, 10.0, 0, "g/cm²", ""),
    ("mg/cm2", Kind.MASS_PER_AREA, 1e-2, 0, "mg/cm²", ""),
    ("g/100 cm2", Kind.MASS_PER_AREA, 1e-1, 0, "g/100 cm²", "g/100cm2|g/100cm²"),
    ("oz/sq ft", Kind.MASS_PER_AREA, _OUNCE / (12 * _INCH) ** 2, 0, "", "oz/ft2|oz/ft²"),
    ("kg/h", Kind.MASS_RATE, 1 / 3600, 0, "", ""),
    ("g/min", Kind.MASS_RATE, 1e-3 / 60, 0, "", ""),
    ("g/h", Kind.MASS_RATE, 1e-3 / 3600, 0, "", ""),
    ("kg/kg", Kind.CONTENT, 1.0, 0, "", ""),
    ("g/kg", Kind.CONTENT, 1e-3, 0, "", ""),
    ("mg/kg", Kind.CONTENT, 1e-6, 0, "", "ppm|µg/g"),
    ("g/100 g", Kind.CONTENT, 1e-2, 0, "", "g/100g"),
    ("mg/100 g", Kind.CONTENT, 1e-5, 0, "", "mg/100g"),
    ("1", Kind.NUMBER, 1.0, 0, "", ""),
)

CURRENCIES = {"EUR": "€", "USD": "$", "GBP": "£", "CHF": "CHF", "CAD": "CAD", "AUD": "AUD", "JPY": "¥", "DKK": "DKK"}
"""Currencies by their code, with the sign that is printed; a kitchen uses one of them."""


def _money() -> Iterable[Unit]:
    for code, sign in CURRENCIES.items():
        names = tuple(dict.fromkeys((code, sign)))
        yield Unit(name=code, kind=Kind.MONEY, factor=1.0, sign=sign, spellings=names, currency=code)
        for kind, per, factor, also in (
            (Kind.PRICE, "kg", 1.0, ""),
            (Kind.PRICE, "100 g", 10.0, "100g"),
            (Kind.PRICE, "g", 1000.0, ""),
            (Kind.PRICE, "lb", 1 / _POUND, ""),
            (Kind.PRICE, "oz", 1 / _OUNCE, ""),
            (Kind.PAY, "h", 1 / 3600, "hour"),
            (Kind.ENERGY_PRICE, "kWh", 1 / 3.6e6, ""),
        ):
            spelt = tuple(f"{name}/{way}" for name in names for way in (per, also) if way)
            yield Unit(
                name=f"{code}/{per}",
                kind=kind,
                factor=factor,
                sign=f"{sign}/{per}",
                spellings=spelt,
                currency=code,
            )


def _units() -> Iterable[Unit]:
    for name, kind, factor, zero, sign, also in _ROWS:
        spelt = dict.fromkeys((name, sign or name, *(also.split("|") if also else ())))
        yield Unit(name=name, kind=kind, factor=factor, zero=zero, sign=sign or name, spellings=tuple(spelt))
    yield from _money()


_UNITS: tuple[Unit, ...] = tuple(_units())
_BY_NAME: dict[str, Unit] = {}
_BY_SPELLING: dict[str, list[Unit]] = {}
for _unit in _UNITS:
    _BY_NAME.setdefault(_unit.name, _unit)  # "K" and "°F" alone are temperatures
    for _spelt in _unit.spellings:
        _BY_SPELLING.setdefault(_spelt, []).append(_unit)
# Capitals are forgiven ("Kg", "ML") wherever they cannot mean another unit.
_FOLDED: dict[str, list[Unit] | None] = {}
for _spelt, _found in _BY_SPELLING.items():
    _key = _spelt.casefold()
    _FOLDED[_key] = _found if _FOLDED.get(_key, _found) == _found else None


def units_spelt(spelling: str) -> tuple[Unit, ...]:
    """The units that a spelling may mean ("K" is a temperature and a difference); empty when none."""
    return tuple(_BY_SPELLING.get(spelling) or _FOLDED.get(spelling.casefold()) or ())


def spellings(kinds: Iterable[Kind] | None = None) -> tuple[str, ...]:
    """Every spelling of the units of some kinds, or of all."""
    wanted = None if kinds is None else set(kinds)
    return tuple(s for s, found in _BY_SPELLING.items() if wanted is None or any(u.kind in wanted for u in found))


def unit(name: str) -> Unit:
    """The unit of a name as figures use it; raises BadInput with the nearest one."""
    found = _BY_NAME.get(name)
    if found is None:
        several = units_spelt(name)
        if several:
            return several[0]
        hint = nearest(name, _BY_NAME)
        raise BadInput(f"There is no unit “{name}”.", remedy=f"did you mean “{hint}”?" if hint else "use a known unit.")
    return found


def to_si(value: float, unit_name: str) -> float:
    """A value in a unit, in SI."""
    return unit(unit_name).in_si(value)


def from_si(value: float, unit_name: str) -> float:
    """An SI value in a unit."""
    return unit(unit_name).from_si(value)


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """A value from one unit into another of the same kind.

    Parameters
    ----------
    value
        In `from_unit`.
    from_unit, to_unit
        Units as figures name them ("g", "oz", "°C", "kg/m3", "EUR/kg"); the "K" and "°F" of this function are
        temperatures, not differences.

    Returns
    -------
    float
        In `to_unit`.

    Raises
    ------
    BadInput
        When one is not known, or the two measure different things.

    Notes
    -----
    Source: nist-sp811, Appendix B; nist-hb44, Appendix C. Exact factors. Status: quoted.

    Examples
    --------
    >>> convert(2.5, "lb", "g")
    1133.980925
    >>> round(convert(195, "°F", "°C"), 2)
    90.56
    """
    one, other = unit(from_unit), unit(to_unit)
    if one.dimension != other.dimension:
        raise BadInput(
            f"“{from_unit}” is a {one.kind.value} and “{to_unit}” a {other.kind.value}.",
            remedy="ask for a unit of the same kind.",
        )
    if one is other:
        return value
    return (value * one.factor + (one.zero - other.zero)) / other.factor
