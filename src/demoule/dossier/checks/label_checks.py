"""What the label must say, and what only a supplier can: allergens, faith and alcohol, colours, names, untold facts."""

from __future__ import annotations

from collections.abc import Iterator

from demoule.composition import Constituent
from demoule.dossier.allergens import contains_lines, declared_allergens, unclaimed_allergens, untold_allergens
from demoule.dossier.checks.registry import LAW, check, finding
from demoule.dossier.ingredients import listed_ingredients, percentage
from demoule.dossier.label import added_polyols, amounts_of_piece, fruit_words, named_after
from demoule.dossier.nutrition import EU_LINES, tolerance
from demoule.dossier.view import View
from demoule.dossier.words import listed, opened, percent, rounded
from demoule.figures import Finding, Severity
from demoule.units import CubicMetre

__all__ = ["allergens", "defrosted", "fruit_named", "polyols", "serving", "table_sums", "untold"]


@check("allergens", looks_at="which allergens are in, and which suppliers must still say", source="eu-1169-2011")
def allergens(view: View) -> Iterator[Finding]:
    """Allergens of the piece, with the ingredients that bring them."""
    parts = view.contents.parts
    source = "eu-1169-2011" if view.market == "EU" else "us-falcpa"
    found = declared_allergens(parts, view.market)
    if found:
        yield finding(
            Severity.NOTE,
            "allergens",
            "piece",
            f"Contains {listed(contains_lines(found), most=12)}.",
            why="; ".join(f"{a.group} from {listed(a.brought_by, most=6)}" for a in found) + ".",
            remedy="traces by spray mist, shared bath or shared moulds are yours to assess, and “free from” never "
            f"follows from this list; {LAW}",
            source=source,
        )
    untold_names = untold_allergens(parts)
    if untold_names:
        yield finding(
            Severity.CAUTION,
            "allergens",
            "piece",
            f"Only the supplier's sheet can tell the allergens of {listed(untold_names, most=8)}.",
            why="Carriers, emulsifiers and release agents bring soya, milk, wheat or sulphites.",
            remedy=f"ask for the sheets and enter their allergens; {LAW}",
            source=source,
        )
    for ingredient in dict.fromkeys(i for i, mass in parts if mass > 0):
        unclaimed = unclaimed_allergens(ingredient, view.market)
        if unclaimed:
            yield finding(
                Severity.CAUTION,
                "allergens",
                "piece",
                f"{opened(ingredient.name)} lists {listed(unclaimed)} as a part of it, and not among its allergens.",
                why="One of the two is wrong: the sheet, or what is taken from the larder beside it.",
                remedy=f"read the pack again, and write contains: or allergens: as it says; {LAW}",
                source=source,
            )
    wheaten = [i.name for i, mass in parts if mass > 0 and "wheat exempt in the EU" in i.traits]
    if wheaten and view.market == "US":
        yield finding(
            Severity.CAUTION,
            "allergens",
            "piece",
            f"{opened(listed(wheaten))}: made of wheat or of maize is for the supplier to say.",
            why="Glucose syrup of wheat is exempt from the allergen list in the EU and not in the US.",
            remedy=f"ask for the botanical source; {LAW}",
            source=source,
        )
    sulphited = [i.name for i, mass in parts if mass > 0 and "sulphites" in i.traits]
    if sulphited:
        yield finding(
            Severity.CAUTION,
            "allergens",
            "piece",
            f"{opened(listed(sulphited))} may be sulphited, and how much is not told.",
            why="From 10 mg/kg of sulphur dioxide in the piece as eaten it is declared.",
            remedy=f"add up mg/kg from the suppliers' sheets; {LAW}",
            source=source,
        )
    faith = []
    if any("gelatine" in i.traits for i, _ in parts):
        fish = any("gelatine fish" in i.traits for i, _ in parts)
        faith.append("fish gelatine" if fish else "gelatine of an animal")
    if view.contents.composition[Constituent.ETHANOL] >= 0.001:
        faith.append("alcohol")
    if any("carmine" in i.name.casefold() or "E 120" in {a.e_number for a in i.additives} for i, _ in parts):
        faith.append("carmine, from insects")
    if faith:
        yield finding(
            Severity.NOTE,
            "allergens",
            "piece",
            f"Holds {listed(faith)}.",
            why="It matters to guests by faith or by choice, and no label asks for it to be marked.",
            remedy="say it on the card.",
            source="practice",
        )


@check("fruit named", looks_at="whether the fruit named or pictured is inside, and how much", source="ec-quid-2017")
def fruit_named(view: View) -> Iterator[Finding]:
    """A fruit look with no fruit inside, and the percentage that must stand in the list."""
    words = fruit_words(view.worked)
    entries = listed_ingredients(view.contents.parts, view.contents.mass, view.market, words)
    named = [entry for entry in entries if entry.named]
    if not named:
        yield finding(
            Severity.CAUTION,
            "fruit named",
            "name",
            f"The piece is called or looks like {named_after(view.worked)}, and nothing of it is inside.",
            why="Name and look must not make a buyer expect what is not there.",
            remedy="tell the fruit it stands for in the file, or describe it as “shaped like …, flavoured with …”.",
        )
        return
    share = sum(entry.share for entry in named)
    yield finding(
        Severity.NOTE,
        "fruit named",
        "name",
        f"{listed([entry.name for entry in named])}: {percentage(share)} of the piece at the time of use.",
        why="The ingredient named or pictured carries its percentage, and a look-alike must not pass for whole fruit.",
        remedy="print the percentage, and “moulded frozen dessert” beside the name.",
    )


@check("untold facts", looks_at="how much of the label rests on what no table tells", source="ec-tolerances-2012")
def untold(view: View) -> Iterator[Finding]:
    """Sugars and other figures that what is untold could move further than an analysis may differ."""
    amounts = amounts_of_piece(view.contents, "EU")
    open_rows = _heaviest(view, Constituent.UNKNOWN_SOLIDS) or ["your suppliers' goods"]
    for line in EU_LINES:
        declared = amounts[line.key]
        if declared.high is None or declared.unknown <= 0 or line.only_when_present:
            continue
        room = max(declared.high - declared.value, declared.value - declared.low)
        if room <= tolerance(line.key, declared.value):
            continue
        scale = line.per_gram
        yield finding(
            Severity.CAUTION,
            "untold facts",
            "piece",
            f"{opened(line.name.removeprefix('of which '))} lies between {rounded(scale * declared.low)} and "
            f"{rounded(scale * declared.high)} {line.unit} per 100 g: "
            f"{percent(declared.unknown)} of the mass is not told.",
            why="That is more than an analysis may differ from the label.",
            remedy=f"ask for the sheets of {listed(open_rows)}.",
        )
    silent = _heaviest(view, Constituent.UNKNOWN_SUGARS)
    share = view.contents.composition[Constituent.UNKNOWN_SUGARS]
    if silent and share > 0.01:
        yield finding(
            Severity.NOTE,
            "untold facts",
            "piece",
            f"{percent(share)} of the piece is sugar of a kind that no table tells, from {listed(silent)}.",
            why="Kinds of sugar decide softness, freezing and graining; the bands of those figures allow for it.",
            remedy="enter sucrose, glucose, fructose and lactose from the supplier's sheet.",
            source="practice",
        )


def _heaviest(view: View, constituent: Constituent) -> list[str]:
    """The ingredients that bring most of one constituent, the heaviest first."""
    weights = [(mass * i.composition[constituent], i.name) for i, mass in view.contents.parts]
    return [name for weight, name in sorted(weights, reverse=True)[:4] if weight > 0]


@check("table sums", looks_at="whether what tables tell of each component adds up to its mass", source="fao-recipe")
def table_sums(view: View) -> Iterator[Finding]:
    """Components of which more than a few per cent is of no told kind."""
    for part in view.used:
        composition = part.cooked.composition
        open_share = composition[Constituent.UNKNOWN_SOLIDS]
        if open_share <= 0.03 or not view.is_layer(part):
            continue
        worst = sorted(
            (
                (c.mass * c.ingredient.composition[Constituent.UNKNOWN_SOLIDS], c.ingredient.name)
                for c in part.cooked.contents
            ),
            reverse=True,
        )
        names = [name for weight, name in worst[:3] if weight > 0.1 * open_share]
        yield finding(
            Severity.NOTE,
            "table sums",
            part.where,
            f"{percent(open_share)} of {part.name} is dry matter of no told kind, from {listed(names)}.",
            why="It is counted as carbohydrate, and as more or less active where it could bind water.",
            remedy="enter the supplier's sheet.",
        )


@check("polyols", looks_at="whether so much polyol is added that a warning is due", source="eu-1169-2011")
def polyols(view: View) -> Iterator[Finding]:
    """Above 10 % of added polyols the EU asks for a statement."""
    share = added_polyols(view.contents)
    if view.market == "EU" and share > 0.10:
        yield finding(
            Severity.CAUTION,
            "polyols",
            "piece",
            f"Added polyols make up {percent(share)} of the piece.",
            why="Above 10 % the label must say that excessive consumption may produce laxative effects.",
            remedy="print the statement, or bring polyols below 10 %.",
        )


@check("defrosted", looks_at="whether a piece sold thawed has to say so", source="eu-1169-2011")
def defrosted(view: View) -> Iterator[Finding]:
    """Food frozen before sale and sold thawed."""
    if view.market == "EU" and view.thaw is not None:
        yield finding(
            Severity.NOTE,
            "defrosted",
            "cold.thaw",
            "Sold thawed, the name may have to carry “defrosted”.",
            why="There is an exemption where freezing is a necessary step of making, and it is read differently.",
            remedy="ask your authority whether the exemption holds for a piece that is moulded frozen.",
        )


_REFERENCE: CubicMetre = 2 / 3 * 236.5882365e-6
"""Two thirds of a US cup, coatings counted: frozen novelties, 21 CFR 101.12(b) table 2."""


@check("serving", looks_at="how many pieces make a serving in the US", source="us-21cfr101-12")
def serving(view: View) -> Iterator[Finding]:
    """The piece against the reference amount of a frozen novelty."""
    if view.market != "US":
        return
    volume = sum(layer.volume for layer in view.worked.piece.layers)
    share = volume / _REFERENCE
    whole = max(1, round(_REFERENCE / volume)) if share <= 0.5 else 1
    yield finding(
        Severity.NOTE,
        "serving",
        "piece",
        f"A piece of {1e6 * volume:.0f} ml is {percent(share)} of the reference amount of a frozen novelty (2/3 cup): "
        + (f"in a box of several {whole} pieces are a serving." if whole > 1 else "one piece is one serving."),
        why="The panel is per serving; a piece sold singly is one serving below twice the reference amount.",
        remedy="choose the category with your authority: a thawed mousse may come under puddings, 1/2 cup.",
    )
