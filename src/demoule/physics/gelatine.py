"""Gelatine: one grade for another, the water it swells in, how long it sets, and what takes its strength away."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from demoule.errors import BadInput
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.units import FloatArray, Fraction, Kelvin, Kilogram, MassFraction, Second, celsius

__all__ = [
    "GELATINE_AT",
    "LEAVES",
    "PROTEOLYTIC",
    "GelatineCheck",
    "GelatineSwap",
    "Leaf",
    "bromelain_inactivation",
    "enzyme_left",
    "full_set",
    "gelatine_check",
    "gelatine_firmness",
    "hydration_water",
    "leaves_of",
    "swap_gelatine",
]

BLOOM_TEST = 7.5 / (7.5 + 105.0)  # kg/kg, gelatine in the test that gives the Bloom strength its name (ward-courts)
WEAKEST, STRONGEST = 30.0, 300.0  # g Bloom sold (ward-courts)
SWELLS_IN = (5.0, 6.0)  # times its mass of water, leaf and powder (common practice)
GELATINE_AT: dict[str, tuple[Kelvin, Kelvin]] = {
    "dissolves": (323.15, 333.15),  # after swelling (gelatine-makers)
    "begins to gel": (303.15, 308.15),  # a strong solution on cooling (gelatine-makers)
    "sets": (288.15, 293.15),  # thin gels, below 20 °C (hydrocolloid-review)
    "melts": (298.15, 308.15),  # below 35 °C, by grade and dose (gelatine-makers)
}
"""Temperatures of gelatine, from and to [K]."""

_GAS = 8.314462618
_BAND = (0.7, 1.3)  # of a firmness (judged)
_SETS_FROM, _WEAK_FROM = 0.008, 0.005  # kg/kg on the water (common practice)
_ACID_LOSS, _MOST_ACID_LOSS = 0.15, 0.35  # of the firmness per unit of pH under 4, and at most (common practice)
_ALCOHOL_FELT, _ALCOHOL_MUCH = 0.05, 0.25  # kg/kg of the water phase (common practice)


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """A grade of leaf gelatine: its Bloom strength, from and to, and the mass of one leaf."""

    name: str
    bloom: tuple[float, float]
    mass: Kilogram


LEAVES: dict[str, Leaf] = {
    leaf.name: leaf
    for leaf in (
        Leaf(name="bronze", bloom=(125.0, 155.0), mass=0.0033),
        Leaf(name="silver", bloom=(160.0, 160.0), mass=0.0025),
        Leaf(name="gold", bloom=(190.0, 220.0), mass=0.0020),
        Leaf(name="platinum", bloom=(235.0, 265.0), mass=0.0017),
    )
}
"""Grades of leaves (leaf-table): a leaf of any grade sets about as much, so they are counted, not weighed."""

PROTEOLYTIC: dict[str, str] = {"pineapple": "bromelain", "papaya": "papain", "kiwi": "actinidin", "fig": "ficin"}
"""Fruit whose raw or frozen flesh keeps gelatine from setting, with its enzyme (power-of-enzymes)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GelatineSwap:
    """Mass of another grade for equal firmness by the rule that fits the form, and by both rules.

    Parameters
    ----------
    mass
        By the rule of its form: square root for powder, linear for leaves [kg].
    square_root, linear
        By each rule [kg]; they bound the answer.
    """

    mass: Kilogram
    square_root: Kilogram
    linear: Kilogram
    low: Kilogram
    high: Kilogram
    basis: tuple[Basis, ...]


@published(
    gives="mass of one gelatine in place of another",
    source="ward-courts",
    valid="30 to 300 g Bloom, the same form; square root for powder, linear for leaves",
    error="the two rules bound it: 12 % apart from 200 to 250 Bloom",
    status=Status.QUOTED,
)
def swap_gelatine(mass: Kilogram, bloom: float, to_bloom: float, *, form: str = "powder") -> GelatineSwap:
    """Gelatine of another Bloom strength for an equally firm gel.

    Parameters
    ----------
    mass
        Of the gelatine in the recipe [kg].
    bloom, to_bloom
        Its strength and that of the other [g].
    form
        "powder" or "leaf".

    Raises
    ------
    BadInput
        A strength outside 30 to 300, no mass, another form.

    Notes
    -----
    Firmness goes with B c^2, so m2 = m1 sqrt(B1/B2) (square root rule, ward-courts); the trade counts m2 = m1 B1/B2
    (texture-notes), which the masses of leaves on sale follow.

    Examples
    --------
    >>> swap = swap_gelatine(0.010, 200, 240)
    >>> round(swap.square_root * 1000, 2), round(swap.linear * 1000, 2)
    (9.13, 8.33)
    """
    for strength in (bloom, to_bloom):
        if not WEAKEST <= strength <= STRONGEST:
            raise BadInput(
                f"There is no gelatine of {strength:g} Bloom.", remedy="it is sold from 30 to 300; most is 160 to 250."
            )
    if not 0 <= mass < math.inf:
        raise BadInput("Gelatine has a mass of zero or more.", remedy="give its mass in g.")
    if form not in ("powder", "leaf"):
        raise BadInput(f"Gelatine comes as powder or as leaf, not as “{form}”.", remedy="say which.")
    root, linear = mass * math.sqrt(bloom / to_bloom), mass * bloom / to_bloom
    return GelatineSwap(
        mass=root if form == "powder" else linear,
        square_root=root,
        linear=linear,
        low=min(root, linear),
        high=max(root, linear),
        basis=(basis_of(swap_gelatine),),
    )


def leaves_of(mass: Kilogram, bloom: float, grade: str) -> float:
    """Leaves of a grade that set like a mass of gelatine of a Bloom strength (linear rule), a fraction of a leaf kept.

    >>> round(leaves_of(0.010, 200, "gold"), 1)
    4.9
    """
    if grade not in LEAVES:
        raise BadInput(f"There is no leaf called “{grade}”.", remedy=f"it is one of {', '.join(LEAVES)}.")
    leaf = LEAVES[grade]
    return swap_gelatine(mass, bloom, sum(leaf.bloom) / 2, form="leaf").mass / leaf.mass


def hydration_water(mass: Kilogram) -> tuple[Kilogram, Kilogram, Kilogram]:
    """Water that gelatine takes up while it swells, and which counts as water of the recipe: (usual, low, high) [kg].

    Five to six times its mass (common practice).

    >>> [round(kg * 1000) for kg in hydration_water(0.010)]
    [55, 50, 60]
    """
    low, high = (factor * mass for factor in SWELLS_IN)
    return (low + high) / 2, low, high


@published(
    gives="firmness of a gelatine gel",
    source="ward-courts",
    valid="0.8 to 10 % on the water, set in full at 10 °C, no enzyme, mild acid",
    error="30 %; order and ratios only",
    status=Status.QUOTED,
)
def gelatine_firmness(concentration: MassFraction | FloatArray, bloom: float | FloatArray) -> FloatArray:
    """Firmness in grams of the Bloom plunger, B (c/0.0667)^2, any shape.

    Parameters
    ----------
    concentration
        Gelatine over gelatine and water, not over the whole mix [kg/kg].
    bloom
        Its strength [g].

    Examples
    --------
    >>> round(float(gelatine_firmness(7.5 / 112.5, 200.0)))  # the test that gives the number its name
    200
    """
    result: FloatArray = np.asarray(bloom, dtype=float) * (np.asarray(concentration, dtype=float) / BLOOM_TEST) ** 2
    return result


@published(
    gives="time until a gelatine gel has its full firmness",
    source="gelatine-makers",
    valid="2 to 12 °C",
    error="as the range given",
    status=Status.READ,
)
def full_set(temperature: Kelvin) -> tuple[Second, Second]:
    """Time to greatest firmness, from and to [s]: 5 to 8 h at 5 °C, 15 to 20 h at 10 °C.

    Raises
    ------
    BadInput
        Frozen, or above 18 °C, where thin gels do not set.

    >>> [round(t / 3600) for t in full_set(278.15)], [round(t / 3600) for t in full_set(283.15)]
    ([5, 8], [15, 20])
    """
    t = celsius(temperature)
    if not -0.5 <= t <= 18:
        raise BadInput(
            f"Gelatine does not set at {t:.0f} °C in a useful time.", remedy="set it in a refrigerator, at 2 to 10 °C."
        )
    t = max(t, 2.0)  # colder than that is slower only on paper
    share = (t - 5.0) / 5.0
    low, high = 5 * (15 / 5) ** share, 8 * (20 / 8) ** share
    return low * 3600, high * 3600


@published(
    gives="rate at which heat destroys bromelain",
    source="sriwatanapongse-2000",
    valid="55 to 67 °C in pineapple juice; other enzymes are tougher",
    error="20 % in that range",
    status=Status.READ,
)
def bromelain_inactivation(temperature: Kelvin | FloatArray) -> FloatArray:
    """First-order rate [1/s] at which bromelain loses its activity in pineapple juice, any shape.

    k = 1.37e50 exp(-3.26e5/(R T)) per minute.

    >>> round(math.log(10) / float(bromelain_inactivation(333.15)) / 60, 1)  # minutes to a tenth at 60 °C
    21.8
    """
    T = np.asarray(temperature, dtype=float)
    result: FloatArray = 1.37e50 * np.exp(-3.26e5 / (_GAS * T)) / 60.0
    return result


def enzyme_left(time: Sequence[Second] | FloatArray, temperature: Sequence[Kelvin] | FloatArray) -> Fraction:
    """Share of bromelain's activity left after a path of temperature; above 70 °C the rate is kept at that of 70."""
    t = np.asarray(time, dtype=float)
    T = np.asarray(temperature, dtype=float)
    if t.size < 2 or t.shape != T.shape or (np.diff(t) < 0).any():
        raise BadInput("A heating needs its moments in order.", remedy="give times that rise, two or more.")
    fine = np.unique(np.concatenate([np.linspace(a, b, 41) for a, b in itertools.pairwise(t)]))
    rate = bromelain_inactivation(np.minimum(np.interp(fine, t, T), 343.15))
    return math.exp(-float(np.trapezoid(rate, fine))) if fine.size > 1 else 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GelatineCheck:
    """Whether a gelatine gel holds.

    Parameters
    ----------
    sets
        "yes", "weak", "no" or "not shown".
    firmness
        In grams of the plunger, with its range.
    """

    sets: str
    firmness: float
    low: float
    high: float
    stretched: bool
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


@published(
    gives="whether gelatine sets beside fruit, acid and alcohol",
    source="gelatine-makers",
    valid="dessert gels and mousses",
    error="a class",
    status=Status.JUDGED,
)
def gelatine_check(
    concentration: MassFraction,
    bloom: float,
    *,
    ph: float | None = None,
    alcohol: MassFraction = 0.0,
    raw_fruit: str = "",
    enzyme: Fraction | None = None,
    heated_to: Kelvin | None = None,
    held: Second = 0.0,
) -> GelatineCheck:
    """Judge a gelatine gel by dose, enzyme, acid, heat and alcohol.

    Parameters
    ----------
    concentration, bloom
        On the water [kg/kg]; strength [g].
    ph
        None: not known.
    alcohol
        Ethanol over ethanol and water [kg/kg].
    raw_fruit
        Name of a proteolytic fruit that went in without being scalded, or empty.
    enzyme
        Share of its enzyme left (`enzyme_left`); None: all of it.
    heated_to, held
        Hottest and how long the dissolved gelatine was kept there [K, s].
    """
    firmness = float(gelatine_firmness(concentration, bloom))
    low, high = (edge * firmness for edge in _BAND)
    sets = "yes" if concentration >= _SETS_FROM else ("weak" if concentration >= _WEAK_FROM else "no")
    findings: list[Finding] = []

    def say(severity: Severity, rule: str, says: str, why: str, remedy: str, source: str = "") -> None:
        findings.append(
            Finding(severity=severity, rule=rule, where="", says=says, why=why, remedy=remedy, source=source)
        )

    if sets != "yes":
        say(
            Severity.CAUTION,
            "gelatine dose",
            f"{concentration:.2%} of gelatine on the water hardly sets.",
            "below about half a per cent no network forms.",
            "0.8 to 1.6 % on the water is usual.",
        )
    fruit = next((name for name in PROTEOLYTIC if name in raw_fruit.casefold()), None)
    left = 1.0 if enzyme is None else enzyme
    if fruit is not None:
        if left > 0.01:
            sets, low = "no", 0.0
            say(
                Severity.STOP,
                "proteolytic fruit",
                f"Raw {fruit} keeps gelatine from setting.",
                f"its {PROTEOLYTIC[fruit]} cuts the protein; freezing does not destroy it.",
                "scald the fruit to 85 °C through, or set with agar or pectin.",
                "power-of-enzymes",
            )
        elif fruit != "pineapple":
            sets = "not shown"
            say(
                Severity.CAUTION,
                "proteolytic fruit",
                f"How much heat the {PROTEOLYTIC[fruit]} of {fruit} needs is not shown here.",
                "the figures known are those of pineapple; papain stands more heat.",
                "boil the fruit, or test one glass of gel overnight.",
                "sriwatanapongse-2000",
            )
    if ph is not None and ph < 4.0:
        # Gelatine loses firmness with acid, more so when it is hot: habit of the trade, no figure from a source.
        loss = min((4.0 - ph) * _ACID_LOSS, _MOST_ACID_LOSS)
        firmness, low, high = firmness * (1 - loss), low * (1 - 2 * loss), high * (1 - 0.5 * loss)
        say(
            Severity.NOTE if ph >= 3.0 else Severity.CAUTION,
            "gelatine in acid",
            f"At pH {ph:.1f} gelatine sets softer, by about {loss:.0%}.",
            "acid loosens the network; heat and acid together break the chains.",
            "melt the gelatine in the least acid part, add sour fruit below 40 °C, or give a tenth to a third more.",
        )
    if alcohol > _ALCOHOL_FELT:
        weak = alcohol > _ALCOHOL_MUCH
        if weak and sets == "yes":
            sets = "weak"
        low *= 0.6 if weak else 0.85
        say(
            Severity.CAUTION if weak else Severity.NOTE,
            "gelatine and alcohol",
            f"{alcohol:.0%} of alcohol in the water phase makes the gel "
            + ("cloudy and weak." if weak else "a little softer."),
            "alcohol takes water from the network; much of it throws gelatine out.",
            "add the spirit at the end and cool, and keep it under a quarter of the water.",
        )
    if heated_to is not None and celsius(heated_to) > 80 and held > 60:
        low *= 0.85
        say(
            Severity.NOTE,
            "gelatine boiled",
            f"Dissolved gelatine was kept at {celsius(heated_to):.0f} °C for {held / 60:.0f} min.",
            "it loses strength above 80 °C.",
            "melt it at 50 to 60 °C, at the end.",
        )
    tried = _SETS_FROM <= concentration <= 0.10
    return GelatineCheck(
        sets=sets,
        firmness=firmness,
        low=max(low, 0.0),
        high=high,
        stretched=not _WEAK_FROM <= concentration <= 0.10,
        basis=(
            basis_of(gelatine_check),
            basis_of(gelatine_firmness, stretched=not tried),
        ),
        findings=tuple(findings),
    )
