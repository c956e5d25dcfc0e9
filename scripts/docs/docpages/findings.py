"""The page of all findings: the registered checks of a dossier, and what the stages before it say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from demoule.dossier.checks import CHECKS
from docpages.spoken import SEVERITIES, Spoken, spoken_rules
from docpages.text import filled, source_line, table

__all__ = ["LOOKS_AT", "page"]


# Checks that hand on what a model says, under the model's own keys.
_HANDS_ON: Mapping[str, tuple[str, ...]] = {
    "fat and water": ("ganache splits", "fat over water", "ganache blended warm"),
    "whipping": ("fat for whipping", "rest before whipping", "solid fat for whipping"),
    "gelatine": (
        "gelatine dose",
        "gelatine and alcohol",
        "gelatine boiled",
        "gelatine in acid",
        "proteolytic fruit",
    ),
    "gels set": ("gel sets",),
    "gels weep": ("gel weeps after thawing",),
}

_LAYERS = {
    "files": "Said when the file is read",
    "formula": "Said of a component",
    "physics": "Said by the models of the trade",
    "piece": "Said of the piece",
    "cold": "Said of its way through the cold",
    "batch": "Said of the number made",
    "plan": "Said of the week",
    "dossier": "Said of the label",
    "answers": "Said of small questions",
}

LOOKS_AT: Mapping[str, str] = {
    "house recipe": "a coating, a velvet or an almond disc that the piece names and the file does not write",
    "component not used": "a component that nothing uses",
    "density assumed": "a volume of something whose density the larder does not know",
    "crumb not weighed": "a baked base that nobody weighed: how light it is, is taken as usual",
    "open pan": "fruit candied without a lid: the syrup thickens while it stands hot",
    "evaporation measured": "a measured evaporation far from what pan, minutes and heat would take",
    "hotter than the boil": "a temperature wanted that lies above the boil of the mix",
    "overrun not told": "a whip without overrun or density",
    "blanches could be one": "several blanches that take hardly more out than one of their time in all",
    "fruit shrinks": "fruit that loses much of its volume while it is candied",
    "fruit shrivels in strong syrup": "raw fruit in a syrup far stronger than itself",
    "syrup grains": "a syrup that holds more sugar than stays dissolved at its coldest",
    "syrup browns": "a syrup cooked so hot that it colours",
    "dip model stretched": "a dip outside the fats, temperatures and seconds for which the model was made",
    "dip needs a cold piece": "a piece too warm for a coating to freeze on it",
    "dip warms the piece": "a dip that brings so much heat that the piece must go back into the cold",
    "shell is thick": "a shell that is thick to bite",
    "test dip is strange": "a test dip whose factors lie far from one",
    "frost before spraying": "frost or dew on a piece that stands before it is sprayed",
    "fat over water": "the habit's ratio of fat to water",
    "ganache splits": "a share of fat at which an emulsion does not hold",
    "ganache blended warm": "a share of fat that holds only with warmth and shear",
    "gelatine and alcohol": "alcohol that gelatine does not bear",
    "gelatine boiled": "gelatine heated so long or so hot that it loses strength",
    "gelatine dose": "too little gelatine on the water for a gel",
    "gelatine in acid": "acid that loosens the gel",
    "proteolytic fruit": "raw fruit whose enzyme cuts gelatine",
    "gel sets": "agar, pectin or carrageenan against its dose, solids, acid, calcium and boil",
    "gel weeps after thawing": "how much a gel or starch weeps after freezing and thawing",
    "growth not shown": "hours outside the temperatures that a growth model covers",
    "growth model": "growth that a laboratory model draws",
    "cooling rules": "a computed cooling curve against two cooling rules",
    "spray clogs": "a gun colder than its spray flows",
    "spray is heavy": "a coat so heavy that it cracks",
    "spray is thin": "a coat so thin that it does not cover",
    "spray needs a cold piece": "a piece too warm for a velvet",
    "fat for whipping": "too little or too much fat to whip",
    "rest before whipping": "a rest too short for the fat to set",
    "solid fat for whipping": "too little solid fat at the temperature of whipping",
    "body fill": "a stated body that leaves its room partly empty",
    "headspace": "more room left empty than freezing closes",
    "heart fill": "how full the heart's own cavity is",
    "heart opening": "whether the frozen heart passes the opening of the mould",
    "heart share": "how much of the piece is heart",
    "heart sinks": "a heart heavier than the body that must carry it",
    "inner wall": "the wall round a heart inside the heart",
    "overspray": "a stated overspray beyond what is usual",
    "re-freeze after the last coat": "how warm the coats leave the piece before it goes into store",
    "re-freeze before the next coat": "how warm a dip leaves the piece for the next",
    "shell": "a shell thinner or thicker than anybody makes",
    "spray": "a velvet or glaze too thick to hold",
    "stated weight": "a stated mass, volume and thickness that do not go together",
    "wall": "the smallest wall of body round the heart",
    "water fill": "a measured water fill that differs from the shape",
    "cold end not reached": "a stage whose end is never reached in its room",
    "cold window missed": "a ready window that the core never meets",
    "cold window short": "a ready window that the core leaves within minutes",
    "discs": "a disc on the piece whose mass is not that of a disc of the sheet",
    "not used": "a component that goes into no piece and no other component",
    "bath": "more coating than one bath holds",
    "baths": "more coatings to dip than the kitchen has baths",
    "bowl too large": "a mix too small for the smallest bowl to whip",
    "bowls": "a making whipped in several bowls",
    "packs": "packs that hold far more than is needed of what does not keep dry",
    "no margin": "a number that needs every cavity, with no piece to spare",
    "expires": "what would be used after its last day",
    "from stock": "pieces taken from stock first",
    "stands thawed": "pieces that would stand thawed too long before service",
    "clock change": "the hour lost or won when the clocks change",
    "late": "an order that cannot be ready in time",
    "plan before": "a week whose last plan found breaks a rule, and the one before it that is handed out instead",
    "time out of the cold": "the sum of minutes that a piece stands outside the cold",
    "alcohol": "alcohol that is counted as kept",
    "label whole and part": "a part of the label that comes out larger than the whole it belongs to",
}


def page() -> str:
    """The whole page."""
    spoken = spoken_rules()
    checks = table(
        ("rule", "severity", "looks at", "source"),
        (
            (f"`{rule.key}`", _of_check(rule.key, spoken), rule.looks_at, _source((rule.source,), "common practice"))
            for rule in CHECKS.values()
        ),
    )
    told = "".join(
        f"- `{check}` speaks as {', '.join(f'`{r}`' for r in rules)}\n" for check, rules in _HANDS_ON.items()
    )
    stages = []
    for layer, title in _LAYERS.items():
        rows = [(rule, one) for rule, one in sorted(spoken.items()) if rule not in CHECKS and _layer(one) == layer]
        if rows:
            listed = table(
                ("rule", "severity", "looks at", "source"),
                (
                    (f"`{rule}`", _in_order(one.severities), LOOKS_AT[rule], _source(sorted(one.sources), "–"))
                    for rule, one in rows
                ),
            )
            stages.append(f"## {title}\n\n{listed}")
    return filled("findings.md", checks=checks, told=told, stages="\n".join(stages))


def _of_check(key: str, spoken: Mapping[str, Spoken]) -> str:
    rules = _HANDS_ON.get(key, (key,))
    return _in_order({severity for rule in rules for severity in spoken[rule].severities})


def _in_order(severities: Iterable[str]) -> str:
    found = set(severities)
    assert found, "a rule without a severity"
    return ", ".join(f"*{severity}*" for severity in SEVERITIES if severity in found)


def _layer(one: Spoken) -> str:
    """The first stage that says it."""
    layers = {module.split(".")[1] for module in one.modules}
    return next(layer for layer in _LAYERS if layer in layers)


def _source(keys: Iterable[str], unsourced: str) -> str:
    told = [source_line(key) for key in keys if key not in ("practice", "judged")]
    return "; ".join(told) or unsourced
