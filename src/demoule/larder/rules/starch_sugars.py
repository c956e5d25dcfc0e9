"""Glucose syrups, their powders and maltodextrins by dextrose equivalent and dry solids."""

from __future__ import annotations

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Status
from demoule.larder.hydrolysates import Process, hydrolysate
from demoule.larder.ingredient import Ingredient, Keeping, Nutrients, Record
from demoule.larder.naming import word_set
from demoule.larder.rules.asked import Asked
from demoule.larder.shelf import DAY, Shelf

__all__ = ["starch_sugar"]

_SYRUP_SOLIDS, _POWDER_SOLIDS = 80.0, 95.0  # kg dry matter per 100 kg as sold (practice)
_USUAL_DE = {"syrup": 42.0, "powder": 38.0, "maltodextrin": 18.0}  # when the name gives none (practice)
_ACID_TO = 60.0  # above it syrups are made with enzymes (practice)
_WORDS = word_set(
    """
    glucose syrup sirop corn powder poudre dried dry atomise atomised spray maltodextrin maltodextrine dextrose
    equivalent equivalence de enzymatic enzymatique acid acide high haute maltose solid extrait sec ds ms wheat
    ble maize mai starch hydrolysate
    """
)


def starch_sugar(asked: Asked, shelf: Shelf) -> Ingredient | None:
    """ "glucose syrup 60 DE enzymatic 81 %", "glucose powder 38 DE", "maltodextrin 10 DE"."""
    long = asked.has("maltodextrin", "maltodextrine")
    powder = asked.has("powder", "poudre", "dried", "dry", "atomise", "atomised")
    syrup = asked.has("syrup", "sirop")
    if not (long or (asked.has("glucose", "corn") and (powder or syrup))) or asked.without(_WORDS):
        return None
    de = asked.number(r"(\d+(?:\.\d+)?) ?de\b|\bde ?(\d+(?:\.\d+)?)(?! ?%)")
    kind = "maltodextrin" if long else "powder" if (powder and not syrup) or asked.has("dried", "atomise") else "syrup"
    if de is None and kind == "powder" and not asked.has("dried", "atomise", "atomised") and not syrup:
        kind = "powder"
    told = de is not None
    de = _USUAL_DE[kind] if de is None else de
    solids = asked.percent
    solids = (_SYRUP_SOLIDS if kind == "syrup" else _POWDER_SOLIDS) if solids is None else solids
    if not 50 <= solids <= 100:
        raise BadInput(
            f"A {kind} of {solids:g} % dry solids is not sold.", remedy="syrups have 70 to 86 %, powders 92 to 98 %."
        )
    process: Process = "acid"
    if asked.has("enzymatic", "enzymatique") or "high maltose" in asked.text or de > _ACID_TO or de <= 20:
        process = "enzymatic"
    dry = hydrolysate(de, process)
    parts = {constituent: share * solids for constituent, share in dry.items()} | {Constituent.WATER: 100 - solids}
    sugars = (parts[Constituent.GLUCOSE] + parts[Constituent.MALTOSE]) / 100
    name = f"{'maltodextrin' if kind == 'maltodextrin' else 'glucose ' + kind} {de:g} DE"
    if process == "enzymatic" and 20 < de <= _ACID_TO:
        name += " enzymatic"
    if solids not in (_SYRUP_SOLIDS, _POWDER_SOLIDS):
        name += f" {solids:g} %"
    notes = [f"{solids:g} % dry solids" + ("" if asked.percent is not None else " (usual)")]
    if not told:
        notes.append(f"a DE of {de:g} is taken, since none is named")
    wheat = asked.has("wheat", "ble")
    if wheat:
        name = f"wheat {name}"
        notes.append("no allergen to declare in the EU; in the US take advice")
    notes.append("the DE does not fix the composition: a supplier's sheet wins")
    label = {"syrup": "glucose syrup", "powder": "dried glucose syrup", "maltodextrin": "maltodextrin"}[kind]
    return shelf.finished(
        Ingredient(
            name=name,
            also=(
                {"syrup": "sirop de glucose", "powder": "glucose atomisé", "maltodextrin": "maltodextrine"}[kind]
                + f" {de:g} DE",
                *(("corn syrup",) if kind == "syrup" else ("dried glucose syrup",) if kind == "powder" else ()),
            ),
            composition=Composition.of(parts),
            record=Record(source="belitz-2009", table_version="", id=f"Table 19.7, DE {de:g}", status=Status.READ),
            group="syrup",
            nutrients=Nutrients.of(
                saturates=0.0, trans_fat=0.0, cholesterol=0.0, protein_n625=0.0, added_sugars=sugars, vitamin_d=0.0
            ),
            keeping=Keeping(dry=365 * DAY),
            allergens_told=not wheat,
            traits=frozenset(["wheat exempt in the EU"]),
            label_name=label,
            note="; ".join(notes),
        )
    )
