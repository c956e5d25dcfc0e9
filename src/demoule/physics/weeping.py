"""How much a gel weeps after it has been frozen and thawed, as a class, why, and what lowers it."""

from __future__ import annotations

import enum
from collections.abc import Callable
from dataclasses import dataclass, replace

from demoule.errors import BadInput, UnknownName
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.units import Fraction, MassFraction

__all__ = ["Gel", "WeepClass", "Weeping", "weep_class_of_drip", "weeping"]

KINDS = ("agar", "gelatine", "HM pectin", "LM pectin", "kappa carrageenan", "starch")


class WeepClass(enum.IntEnum):
    """How much liquid stands beside a gel after one freeze and thaw."""

    NONE = 0
    SLIGHT = 1
    VISIBLE = 2
    SPONGY = 3

    @property
    def words(self) -> str:
        """As a person reads it."""
        return ("none", "slight", "visible", "strong, spongy")[self.value]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gel:
    """A gel as it goes into the freezer.

    Parameters
    ----------
    kind
        agar, gelatine, HM pectin, LM pectin, kappa carrageenan or starch.
    concentration
        [kg/kg]; of gelatine on the water.
    solids
        Sugars and other dissolved solids of the mix [kg/kg].
    freezing
        "fast" (blast), "slow" (still air) or "" when not known.
    thaws
        How often it is thawed.
    locust_bean, xanthan, pectin_with_calcium
        Helpers in the mix [kg/kg], and LM pectin with calcium in a starch.
    gelidium
        Whether an agar comes from Gelidium weed: with that from Gracilaria locust bean gum does nothing.
    """

    kind: str
    concentration: MassFraction
    solids: MassFraction
    freezing: str = ""
    thaws: int = 1
    locust_bean: Fraction = 0.0
    xanthan: Fraction = 0.0
    pectin_with_calcium: bool = False
    gelidium: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Weeping:
    """Class of weeping with its neighbours, its reasons, and the changes that lower it."""

    weep_class: WeepClass
    low: WeepClass
    high: WeepClass
    reasons: tuple[str, ...]
    lowered_by: tuple[str, ...]
    measured: bool
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


def weep_class_of_drip(drip: Fraction) -> WeepClass:
    """Class of a drip that was weighed: a cube before freezing and after thawing on a rack for an hour (judged edges).

    >>> weep_class_of_drip(0.05).words
    'visible'
    """
    if not 0 <= drip < 1:
        raise BadInput(f"A drip of {drip:.0%} is not possible.", remedy="weigh the cube before and after.")
    return WeepClass(sum(drip >= edge for edge in (0.01, 0.03, 0.10)))


def _base(gel: Gel) -> tuple[int, str]:
    """Class of the gel itself, before speed and number of thaws."""
    c, s = gel.concentration, gel.solids
    if gel.kind == "HM pectin":
        return (0, "HM pectin over 60 % solids holds its water") if s > 0.60 else (1, "HM pectin at low solids")
    if gel.kind == "gelatine":
        if c < 0.015:
            return 2, f"gelatine under 1.5 % of the water ({c:.1%})"
        if c < 0.020 and s <= 0.20:
            return 2, f"gelatine of {c:.1%} with little sugar"
        return 1, f"gelatine of {c:.1%}"
    if gel.kind == "LM pectin":
        return (1, "LM pectin at 30 % solids or more") if s >= 0.30 else (2, "LM pectin under 30 % solids")
    if gel.kind == "kappa carrageenan":
        return 2, "kappa carrageenan shrinks and weeps by itself"
    if gel.kind == "starch":
        return 3, "native starch turns to a sponge"
    return 3, "freezing is how agar is freed of its water where it is made"


@published(
    gives="class of weeping after freezing and thawing",
    source="weeping-order",
    valid="agar, gelatine, pectins, kappa carrageenan and native starch in dessert mixes",
    error="one class; order from published evidence, the classes themselves judged",
    status=Status.PRACTICE,
)
def weeping(gel: Gel, *, drip: Fraction | None = None) -> Weeping:
    """Class of weeping of a gel, or of a drip that was weighed, which wins.

    Parameters
    ----------
    gel
        As it goes into the freezer.
    drip
        Weighed after one thaw: mass lost over mass before; None: not weighed.

    Raises
    ------
    UnknownName, BadInput
        Another gel; a number of thaws below one.

    Examples
    --------
    >>> weeping(Gel(kind="agar", concentration=0.01, solids=0.15)).weep_class.words
    'strong, spongy'
    """
    if gel.kind not in KINDS:
        raise UnknownName("gel", gel.kind, KINDS)
    if gel.thaws < 1 or not 0 <= gel.solids < 1 or gel.concentration < 0 or gel.freezing not in ("", "fast", "slow"):
        raise BadInput(
            "A gel is frozen fast or slowly and thawed once or more.",
            remedy="say “fast” for a blast freezer, “slow” for still air.",
        )
    found, reasons = _class(gel)
    if drip is not None:
        found = weep_class_of_drip(drip)
        reasons = (f"a cube of it lost {drip:.1%} when it was tried",)
    lowered = tuple(words for words, change in _CHANGES.items() if _class(change(gel))[0] < _class(gel)[0])
    findings: tuple[Finding, ...] = ()
    if found >= WeepClass.VISIBLE:
        findings = (
            Finding(
                severity=Severity.CAUTION if found is WeepClass.SPONGY else Severity.NOTE,
                rule="gel weeps after thawing",
                where="",
                says=f"After freezing and thawing the {gel.kind} gel weeps: {found.words}.",
                why="; ".join(reasons) + ".",
                remedy=("; or ".join(lowered) + ".") if lowered else "take gelatine or pectin at more solids.",
                source="weeping-order",
            ),
        )
    edge = 0 if drip is not None else 1
    return Weeping(
        weep_class=found,
        low=WeepClass(max(found - edge, 0)),
        high=WeepClass(min(found + edge, 3)),
        reasons=reasons,
        lowered_by=lowered,
        measured=drip is not None,
        basis=(basis_of(weeping),),
        findings=findings,
    )


def _class(gel: Gel) -> tuple[WeepClass, tuple[str, ...]]:
    base, why = _base(gel)
    reasons = [why]
    shift = 0

    def by(classes: int, reason: str) -> None:
        nonlocal shift
        shift += classes
        reasons.append(reason)

    bean = gel.locust_bean >= 0.0005
    if gel.kind == "agar":
        # Sugar and locust bean gum each help; both together are no better than one (the ranking this rests on).
        if bean and not gel.gelidium:
            reasons.append("locust bean gum does nothing with agar from Gracilaria")
        helped = bean and gel.gelidium
        if helped or gel.solids > 0.30:
            by(-1, "locust bean gum" if helped else "more than 30 % solids")
    elif gel.kind == "kappa carrageenan":
        if bean:
            by(-1, "locust bean gum with the carrageenan")
        if gel.solids > 0.30:
            by(-1, "more than 30 % solids")
    elif gel.kind == "starch":
        if gel.xanthan >= 0.002:
            by(-1, "xanthan in the starch")
        if gel.pectin_with_calcium:
            by(-1, "LM pectin with calcium in the starch")
        if gel.solids > 0.30:
            by(-1, "more than 30 % solids")
    elif gel.kind == "gelatine" and gel.solids > 0.30:
        by(-1, "more than 30 % solids")
    helpers = max(shift, -2)
    if gel.freezing == "fast":
        helpers = max(helpers - 1, -2)
        reasons.append("frozen fast")
    worse = 0
    if gel.freezing == "slow":
        worse += 1
        reasons.append("frozen slowly: large crystals")
    if gel.thaws > 1:
        worse += gel.thaws - 1
        reasons.append(f"thawed {gel.thaws} times")
    total = max(min(helpers + min(worse, 2), 2), -2)
    return WeepClass(max(0, min(3, base + total))), tuple(reasons)


_CHANGES: dict[str, Callable[[Gel], Gel]] = {
    "freeze it fast": lambda gel: replace(gel, freezing="fast"),
    "thaw it once only": lambda gel: replace(gel, thaws=1),
    "bring its solids over 30 %": lambda gel: replace(gel, solids=max(gel.solids, 0.32)),
    "bring its solids over 60 %": lambda gel: replace(gel, solids=max(gel.solids, 0.62)),
    "add 0.1 to 0.2 % locust bean gum": lambda gel: replace(gel, locust_bean=max(gel.locust_bean, 0.002)),
    "add 0.2 to 0.5 % xanthan": lambda gel: replace(gel, xanthan=max(gel.xanthan, 0.003)),
    "set with gelatine at 2 % of the water": lambda gel: replace(gel, kind="gelatine", concentration=0.02),
}
