"""How heart and body cut when they are eaten: too hard, too soft, or apart from each other; and what would mend it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from demoule.cold.softness import CLASSES, ICE_DENSITY, softness
from demoule.composition import Constituent
from demoule.dossier.checks.registry import check, finding
from demoule.dossier.offers import more_of
from demoule.dossier.soft_figures import ice_volume_of, serving_temperature
from demoule.dossier.view import Part, View
from demoule.dossier.words import degrees, grams, percent
from demoule.figures import Finding, Offer, Severity
from demoule.physics import freezing_point, ice_fraction
from demoule.units import Kelvin, kelvin

__all__ = ["body_softness", "dextrose_to_soften", "heart_and_body", "heart_leaks", "heart_softness"]

_SLICEABLE = next(end for word, end, _ in CLASSES if word == "sliceable")
_LEAKS: Kelvin = kelvin(-6)  # a heart that begins to freeze below this runs when it thaws (practice)
_APART = 0.20  # of the volume: ice in the heart beyond that of the body at the same moment
_MOST_DEXTROSE = 0.25  # kg per kg: beyond, the recipe is another one


def dextrose_to_soften(part: Part, temperature: Kelvin, goal: float = 0.8 * _SLICEABLE) -> float | None:
    """Dextrose that brings the ice of a mix down to a share of its volume [kg per kg of mix]; None when none would do.

    Parameters
    ----------
    temperature
        At which it is eaten [K].
    goal
        Ice share of the volume wanted; the default lies well inside "sliceable".
    """
    added = np.linspace(0.0, _MOST_DEXTROSE, 51)
    mixes = np.tile(part.cooked.composition.vector, (len(added), 1))
    # Trade dextrose carries 9.09 % water of crystallisation.
    mixes[:, Constituent.GLUCOSE] += 0.9091 * added
    mixes[:, Constituent.WATER] += 0.0909 * added
    mixes /= mixes.sum(axis=1, keepdims=True)
    volumes = np.asarray(ice_fraction(mixes, temperature)) * part.cooked.density / ICE_DENSITY
    enough = np.flatnonzero(volumes <= goal)
    return float(added[enough[0]]) if len(enough) else None


@check("heart softness", looks_at="whether the heart can be cut when the piece is ready")
def heart_softness(view: View) -> Iterator[Finding]:
    """The heart at the coldest and at the warmest core at which the piece is called ready."""
    heart = view.role("heart")
    if heart is None or not heart[1].aqueous:
        return
    layer, part = heart
    cold, warm = view.ready
    at_cold, at_warm = (ice_volume_of(part, t)[1] for t in (cold, warm))
    word_cold, word_warm = softness(at_cold), softness(at_warm)
    where = layer.where or part.where
    if word_warm.word in ("firm", "hard"):
        yield _too_hard(part, where, warm, str(word_warm), Severity.CAUTION, cold)
    elif word_cold.word in ("firm", "hard"):
        yield finding(
            Severity.NOTE,
            "heart softness",
            where,
            f"At {degrees(cold)}, where the piece is already called ready, the heart is {word_cold}; at "
            f"{degrees(warm)} it is {word_warm}.",
            why=f"{percent(at_cold)} of its volume is then ice.",
            remedy=f"serve nearer to {degrees(warm)}, or soften it: {_softer(part, cold)}.",
            offers=_sweetened(part, cold),
        )


def _too_hard(part: Part, where: str, at: Kelvin, word: str, severity: Severity, cold: Kelvin) -> Finding:
    return finding(
        severity,
        "heart softness",
        where,
        f"The heart is still {word} at {degrees(at)}, when the piece is ready.",
        why=f"{percent(ice_volume_of(part, at)[1])} of its volume is ice: much water, few sugars.",
        remedy=f"{_softer(part, at)}, or let the core come to {degrees(max(at, cold) + 2)}.",
        offers=_sweetened(part, at),
    )


def _softer(part: Part, at: Kelvin) -> str:
    wanted = dextrose_to_soften(part, at)
    if wanted is None:
        return "more fruit solids and sugars than dextrose alone can bring"
    return f"{grams(wanted * part.cooked.mass)} dextrose to the {grams(part.cooked.mass)} make it sliceable"


def _sweetened(part: Part, at: Kelvin) -> tuple[Offer, ...]:
    """The dextrose that makes it sliceable, weighed into it."""
    wanted = dextrose_to_soften(part, at)
    return more_of(part, "dextrose", wanted * part.cooked.mass) if wanted is not None else ()


@check("heart leaks", looks_at="whether the heart is so sweet that it runs when it thaws")
def heart_leaks(view: View) -> Iterator[Finding]:
    """A heart that begins to freeze far below the others, with little to hold it."""
    heart = view.role("heart")
    if heart is None or not heart[1].aqueous:
        return
    layer, part = heart
    point = float(freezing_point(part.cooked.composition.vector))
    fatty = part.cooked.composition.fat > 0.12  # a caramel is meant to flow
    if point < _LEAKS and not fatty:
        held = bool(part.contents("gelling"))
        yield finding(
            Severity.NOTE if held else Severity.CAUTION,
            "heart leaks",
            layer.where or part.where,
            f"The heart begins to freeze at {degrees(point)} only.",
            why="Below −6 °C it is never hard in a −18 °C store and runs into the body on thawing"
            + (", unless its gel holds." if held else "; nothing in it gels."),
            remedy="take sugar out until it begins to freeze above −6 °C, add 0.1 to 0.2 % of gelling agent, or line "
            "it with cocoa butter.",
        )


@check("body softness", looks_at="whether the body can be cut when the piece is ready")
def body_softness(view: View) -> Iterator[Finding]:
    """The body at its temperature when the window opens."""
    body = view.role("body")
    if body is None or not body[1].aqueous:
        return
    layer, part = body
    at = serving_temperature(view, "body")
    word = softness(ice_volume_of(part, at)[1])
    if word.word in ("firm", "hard"):
        yield finding(
            Severity.CAUTION,
            "body softness",
            layer.where or part.where,
            f"The body is {word} at {degrees(at)}, when the core is ready.",
            why=f"{percent(word.ice_volume)} of its volume is ice.",
            remedy=f"thaw longer, whip more air in, or add sugars: {_softer(part, at)}.",
            offers=_sweetened(part, at),
        )


@check("heart and body", looks_at="whether heart and body are ready at the same time")
def heart_and_body(view: View) -> Iterator[Finding]:
    """Ice in the heart against ice in the body, when the window opens."""
    heart, body = view.role("heart"), view.role("body")
    if heart is None or body is None or not heart[1].aqueous:
        return
    core = view.ready[0]
    inside = ice_volume_of(heart[1], core)[1]
    outside = ice_volume_of(body[1], max(serving_temperature(view, "body"), core))[1]
    if inside - outside > _APART and softness(inside).word not in ("thawed", "spoon-soft"):
        yield finding(
            Severity.NOTE,
            "heart and body",
            heart[0].where or heart[1].where,
            f"With the core at {degrees(core)} the heart is {softness(inside).word} while the body is "
            f"{softness(outside).word}.",
            why="The knife meets a stone in cream.",
            remedy=f"raise the sugars of the heart: {_softer(heart[1], core)}.",
            offers=_sweetened(heart[1], core),
        )
