"""What the larder's two models are held against: printed compositions of syrups, and spirits in a food table."""

from __future__ import annotations

from demoule.composition import Constituent
from demoule.figures import Evidence, Status
from demoule.larder.hydrolysates import Process, dextrose_equivalent, hydrolysate
from demoule.larder.spirits import ethanol_by_mass
from demoule.larder.tables import read_csv, table

__all__ = ["evidence"]

_ROUNDED = 4.0  # what averages printed in whole per cent leave of a dextrose equivalent
_SHARE = 1e-9  # kg/kg: a published composition is met as printed
_FOOD_TABLE = 0.001  # kg/kg: a food table prints ethanol to 0.1 g, of spirits whose strength is not exact
_PROOF = {"rum_80_proof": 0.40, "distilled_100_proof": 0.50}
_KINDS = {
    "glucose": (Constituent.GLUCOSE,),
    "maltose": (Constituent.MALTOSE,),
    "maltotriose": (Constituent.MALTOTRIOSE,),
    "higher": (Constituent.DEXTRINS, Constituent.MALTODEXTRINS),
}


def evidence() -> list[Evidence]:
    """Published points beside what the larder gives for them."""
    found = []
    rows = list(read_csv("starch_hydrolysates.csv", "published"))
    processes: tuple[Process, ...] = ("acid", "enzymatic")
    for process in processes:
        for status in (Status.READ, Status.RECALLED):
            mine = [row for row in rows if row["process"] == process and row["status"] == status.value]
            named = tuple(dict.fromkeys(float(row["dextrose_equivalent"]) for row in mine))
            made = {de: hydrolysate(de, process) for de in named}
            found.append(
                Evidence(
                    model="hydrolysate",
                    title=f"dextrose equivalent of {process} syrups from their composition",
                    source="belitz-2009",
                    status=status,
                    unit="g/100 g",
                    at_name="dextrose equivalent named",
                    at=named,
                    published=named,
                    computed=tuple(dextrose_equivalent(made[de]) for de in named),
                    tolerance=_ROUNDED,
                )
            )
            found.append(
                Evidence(
                    model="hydrolysate",
                    title=f"sugars and higher saccharides in the dry matter of {process} syrups",
                    source="belitz-2009",
                    status=status,
                    unit="kg/kg",
                    at_name="dextrose equivalent named",
                    at=tuple(float(row["dextrose_equivalent"]) for row in mine),
                    published=tuple(float(row["value"]) / 100 for row in mine),
                    computed=tuple(
                        sum(made[float(row["dextrose_equivalent"])][kind] for kind in _KINDS[row["constituent"]])
                        for row in mine
                    ),
                    tolerance=_SHARE,
                )
            )
    found.append(
        Evidence(
            model="ethanol by mass",
            title="ethanol in spirits of 80 and 100 US proof",
            source="usda-sr28",
            status=Status.READ,
            unit="kg/kg",
            at_name="strength by volume",
            at=tuple(_PROOF.values()),
            published=tuple(table("USDA")[key].given["alcohol"] / 100 for key in _PROOF),
            computed=tuple(ethanol_by_mass(strength) for strength in _PROOF.values()),
            tolerance=_FOOD_TABLE,
        )
    )
    return found
