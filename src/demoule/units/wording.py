"""Quantities inside a finished sentence, turned into those of a US kitchen."""

from __future__ import annotations

import math
import re

from demoule.units.table import convert

__all__ = ["beside_in", "sentence_in"]

_US = {"°C": "°F", "mm": "in", "cm": "in", "g": "oz", "kg": "lb", "ml": "fl oz", "l": "quart"}
_NUMBER = r"[−-]?\d+(?:[\u202f  ]\d{3})*(?:\.\d+)?"
_QUANTITY = re.compile(
    rf"(?P<quoted>“[^”]*”)|(?<![\w/.])(?P<one>{_NUMBER})(?:(?P<to> to |–| and )(?P<other>{_NUMBER}))?"
    r"(?P<gap>[\u202f  ])(?P<unit>°C|mm|cm|kg|g|ml|l)(?![\w/²³·])"
)


def sentence_in(system: str, text: str) -> str:
    """A sentence as it is read in a system of units: "us" turns its quantities, names in quotation marks stay.

    Examples
    --------
    >>> sentence_in("us", "The heart leaves 3.6 mm; cool from 63 to 10 °C, 0.60 g/ml, in “half sphere 15 ml”.")
    'The heart leaves 0.14 in; cool from 145 to 50 °F, 0.60 g/ml, in “half sphere 15 ml”.'
    >>> sentence_in("metric", "Spread the 690 g no deeper than 20 mm.")
    'Spread the 690 g no deeper than 20 mm.'
    """
    return _QUANTITY.sub(_turned, text) if system == "us" else text


_SIZE = re.compile(rf"(?P<one>{_NUMBER})(?P<gap>[\u202f  ])(?P<unit>mm|cm|kg|g|ml|l)(?![\w/²³·])")


def beside_in(system: str, name: str) -> str:
    """The name of a pan or a pack, with what its size is in a US kitchen beside it; a name stays what is called out.

    Examples
    --------
    >>> beside_in("us", "16 cm pan"), beside_in("us", "GN 1/1 40 mm"), beside_in("us", "1 kg tub")
    ('16 cm (6.3 in) pan', 'GN 1/1 40 mm (1.6 in)', '1 kg (2.2 lb) tub')
    >>> beside_in("metric", "16 cm pan")
    '16 cm pan'
    """
    return _SIZE.sub(lambda found: f"{found[0]} ({_turned_one(found)})", name) if system == "us" else name


def _turned_one(found: re.Match[str]) -> str:
    value, unit = _value(found["one"]), found["unit"]
    to = "oz" if unit == "kg" and value < 0.45 else _US[unit]
    told = _shown(value, unit, to)
    return f"{told}{found['gap']}{'quarts' if to == 'quart' and told != '1' else to}"


def _turned(found: re.Match[str]) -> str:
    if found["quoted"]:
        return found["quoted"]
    unit = found["unit"]
    to = _US[unit]
    if unit == "kg" and found["other"] is None and _value(found["one"]) < 0.45:
        to = "oz"
    numbers = [_shown(_value(found["one"]), unit, to)]
    if found["other"] is not None:
        numbers += [found["to"], _shown(_value(found["other"]), unit, to)]
    told = "".join(numbers)
    sign = "quarts" if to == "quart" and told != "1" else to
    return f"{told}{found['gap']}{sign}"


def _value(written: str) -> float:
    return float(re.sub(r"[\u202f  ]", "", written).replace("−", "-"))


def _shown(value: float, unit: str, to: str) -> str:
    """A converted number to two significant digits, three from 100 upwards; degrees whole."""
    turned = convert(value, unit, to)
    if to == "°F":
        return f"{round(turned)}".replace("-", "−")
    if turned == 0:
        return "0"
    digits = 1 - math.floor(math.log10(abs(turned)))
    text = f"{round(turned, digits) if abs(turned) < 100 else round(turned):.{max(digits, 0)}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text).replace("-", "−")
