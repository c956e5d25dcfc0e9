"""Heat: what freezing takes, specific heats, cocoa butter."""

from __future__ import annotations

from demoule.composition import Constituent
from demoule.figures import Evidence
from demoule.physics.density import density_of_mix
from demoule.physics.evidence.points import (
    Row,
    column,
    entry,
    temperature_c,
    vector,
)
from demoule.physics.fat import FAT_HEAT, solid_fat
from demoule.physics.freezing import ice_fraction, latent_heat_of_ice
from demoule.physics.heat import enthalpy, specific_heat
from demoule.physics.published import rows
from demoule.units import ZERO_CELSIUS, FloatArray, kelvin

__all__ = ["heat"]

_C = Constituent


def heat() -> list[Evidence]:
    """Everything of this page."""
    return [*_heat()]


def _over(mix: FloatArray, celsius: float) -> float:
    """Heat content over that at −40 °C [kJ/kg]."""
    return float(enthalpy(mix, kelvin(celsius)) - enthalpy(mix, kelvin(-40.0))) / 1e3


def _heat() -> list[Evidence]:
    kcal = 4.1868
    fish = vector([("water", 0.80), ("protein", 0.18), ("fat", 0.008), ("ash", 0.012)])
    table = rows("fao_340")
    removed = [r for r in table if r["quantity"] == "heat to remove"]
    ice = [r for r in table if r["quantity"] == "water that is ice"]
    content = [r for r in table if r["quantity"] == "heat content over -40 °C"]
    computed = [
        float(enthalpy(fish, kelvin(float(r["from_c"]))) - enthalpy(fish, kelvin(float(r["to_c"])))) / 1e3
        for r in removed
    ]
    found = [
        entry(
            "enthalpy",
            "heat to freeze white fish of 80 % water",
            *(removed, "from °C", lambda r: float(r["from_c"]), computed),
            unit="kJ/kg",
            tolerance=0.05,
            relative=True,
            scale=kcal,
        ),
        # Muscle holds small soluble substances that a table of water, protein, fat and ash does not tell: fish begins
        # to freeze at about −1 °C, this mix at −0.4 °C. Near there the two lie far apart.
        *(
            entry(
                "enthalpy",
                f"heat content of white fish over that at −40 °C, {words} 4 K under 0 °C",
                *(chosen, "°C", lambda r: float(r["from_c"])),
                [_over(fish, float(r["from_c"])) for r in chosen],
                unit="kJ/kg",
                tolerance=tolerance,
                scale=kcal,
            )
            for words, tolerance, chosen in (
                ("not in the", 13.0, [r for r in content if not -4 <= float(r["from_c"]) < 0]),
                ("in the", 115.0, [r for r in content if -4 <= float(r["from_c"]) < 0]),
            )
        ),
        entry(
            "ice fraction",
            "water of white fish that is ice",
            *(ice, "°C", lambda r: float(r["from_c"])),
            [100 * float(ice_fraction(fish, kelvin(float(r["from_c"])))) / 0.80 for r in ice],
            unit="%",
            tolerance=20.0,
        ),
    ]
    handbook = rows("earle_unit_operations")

    def wet(r: Row) -> FloatArray:
        water = float(r["water_percent"])
        return vector([("water", water), ("sucrose", 100 - water)])

    warm = [r for r in handbook if r["quantity"] == "specific heat above freezing"]
    found.append(
        entry(
            *("specific heat", "fruits and milk above freezing", warm, "% water", lambda r: float(r["water_percent"])),
            [float(specific_heat(wet(r), 283.15)) / 1e3 for r in warm],
            unit="kJ/(kg K)",
            tolerance=0.06,
            relative=True,
        )
    )
    latent = [r for r in handbook if r["quantity"] == "latent heat of fusion"]
    found.append(
        entry(
            *("latent heat of ice", "all water of fruits", latent, "% water", lambda r: float(r["water_percent"])),
            [float(latent_heat_of_ice(ZERO_CELSIUS)) / 1e3 * float(r["water_percent"]) / 100 for r in latent],
            unit="kJ/kg",
            tolerance=0.02,
            relative=True,
        )
    )
    butter = rows("beckett_2009")
    pure = vector([("cocoa_butter", 1.0)])
    for model, quantity, tolerance in (("density of mix", "density", 0.001), ("specific heat", "specific heat", 0.04)):
        chosen = [r for r in butter if r["quantity"] == quantity]
        function = density_of_mix if quantity == "density" else specific_heat
        # A table that gives a span is met anywhere inside it.
        values = [float(function(pure, kelvin(temperature_c(r)))) for r in chosen]
        inside = [
            float(r["value"]) if float(r["value"]) <= v <= float(r["highest"]) else v
            for r, v in zip(chosen, values, strict=True)
        ]
        found.append(
            entry(
                *(model, "cocoa butter, solid and liquid", chosen, "°C", temperature_c, inside),
                unit=chosen[0]["unit"],
                tolerance=tolerance,
                relative=True,
            )
        )
    melting = [r for r in butter if r["quantity"] == "latent heat"]
    found.append(
        entry(
            *("solid fat", "heat of melting of cocoa butter", melting, "°C", lambda _: 34.0),
            [FAT_HEAT[_C.COCOA_BUTTER]],
            unit="J/kg",
            tolerance=0.01,
            relative=True,
        )
    )
    curves = rows("fat_curves")
    for fat in (_C.COCOA_BUTTER, _C.MILK_FAT):
        chosen = [r for r in curves if r["fat"] == fat.name.lower()]
        found.append(
            entry(
                *("solid fat", f"{fat.name.lower().replace('_', ' ')}, typical curve", chosen, "°C", temperature_c),
                100 * solid_fat(fat, kelvin(0) + column(chosen, temperature_c)),
                unit="%",
                tolerance=1.0,
            )
        )
    return found
