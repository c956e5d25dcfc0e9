"""From one piece to many: what to weigh for each making, what comes back, and what to buy."""

from __future__ import annotations

from dataclasses import dataclass

from demoule.figures import Finding
from demoule.larder.ingredient import Ingredient, Pack
from demoule.units import Fraction, Kilogram, Second

__all__ = ["Buying", "Making", "NeedOf", "WeighLine", "Weighing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighLine:
    """One line of a weigh-up list, rounded to what a scale shows."""

    what: str
    is_component: bool
    exact: Kilogram
    mass: Kilogram  # rounded
    leaves: float | None = None  # whole leaves of gelatine, pods
    leaves_called: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedOf:
    """What one component must give for the whole number of pieces.

    Parameters
    ----------
    on_pieces
        Mass that ends on good and rejected pieces [kg].
    used
        Mass that leaves the last vessel: on pieces, overspray, drip, bath that must be deep enough, and what goes into
        other components [kg]. It is what all makings give.
    comes_back
        Of that, what is recovered from bath and gun, and spare discs of whole sheets [kg].
    lost
        Of that, what is lost after the last vessel, by cause [kg].
    cooking_losses
        What is lost up to the last vessel in all makings, by cause [kg].
    discs
        Discs needed out of it.
    lines
        For one making, `makings` times.
    """

    component: str
    makings: int
    factor: float  # one making over the recipe as written
    on_pieces: Kilogram
    used: Kilogram
    comes_back: Kilogram
    lost: tuple[tuple[str, Kilogram], ...]
    lines: tuple[WeighLine, ...]
    gives: Kilogram  # one making
    hands_on: Second  # one making
    vessel: str = ""
    cooking_losses: tuple[tuple[str, Kilogram], ...] = ()
    discs: int = 0
    into_components: Kilogram = 0.0  # of `used`, what goes into other components


@dataclass(frozen=True, slots=True, kw_only=True)
class Making:
    """One mould cycle: how many cavities are filled at once."""

    number: int
    cavities: int
    trays: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Buying:
    """One line of the shopping list."""

    ingredient: Ingredient
    need: Kilogram  # as bought, trim and losses in it
    packs: tuple[tuple[Pack, int], ...]
    cost_used: float | None  # of what is used, in the currency; None: price unknown
    cost_packs: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """The whole number of pieces of one dessert.

    Parameters
    ----------
    pieces, started
        Good pieces wanted, and those to be made so that as many are good.
    spare
        Good pieces expected beyond those wanted.
    room
        Good pieces more that these makings would give, were every cavity filled.
    needs
        In the order of work.
    """

    pieces: int  # good ones wanted
    started: int  # to be made so that as many are good
    makings: tuple[Making, ...]
    heart_makings: int
    needs: tuple[NeedOf, ...]  # in the order of work
    buying: tuple[Buying, ...]
    spare: int  # good pieces expected beyond those wanted
    hands_on: tuple[tuple[str, Second], ...]  # by kind of work, for all pieces
    findings: tuple[Finding, ...] = ()
    reject_share: Fraction = 0.0
    room: int = 0  # good pieces more, were every cavity of these makings filled
