"""What matters most: each factor's part in how an answer varies over many variants."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations_with_replacement
from math import comb

import numpy as np
from numpy.polynomial import legendre

from demoule.cold.varying import Factor
from demoule.figures import Status, published
from demoule.units import FloatArray, Fraction

__all__ = ["ANSWERS", "Effect", "Exploration", "Outcome", "Shares", "variance_shares"]

ANSWERS: Mapping[str, tuple[str, str]] = {
    "harden heart": ("until the heart is hard", "s"),
    "harden piece": ("until the piece is hard", "s"),
    "thaw": ("until it is ready to eat", "s"),
    "window": ("how long it stays ready", "s"),
    "heart": ("weight of the heart", "kg"),
    "piece": ("weight of the piece", "kg"),
}
"""What every variant answers: in words, and its unit."""

_HIGHEST = 12  # degree of the polynomial
_MOST_TERMS = 400
_PER_TERM = 3  # variants for each of its terms
_TOO_ROUGH = 0.7  # of the variance that the polynomial foretells; below, shares would be guesses
_LEVEL = 1e-12  # of the square of the mean: an answer that varies no more than this does not vary


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One variant: the value of each factor, and each answer, None where it is not reached.

    `key` tells variants apart, also between two runs; `why` says why there is no answer at all.
    """

    key: str
    values: tuple[float, ...]
    answers: Mapping[str, float | None]
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What one factor does to one answer.

    Parameters
    ----------
    low, high
        The answer at the low and at the high end of the factor, everything else as it is; None: not reached.
    share
        Of the variance over all variants that this factor explains by itself; None: too few variants.
    with_others
        The same with what it does together with other factors.
    """

    factor: Factor
    low: float | None
    high: float | None
    share: Fraction | None
    with_others: Fraction | None = None

    @property
    def swing(self) -> float:
        """From low to high; infinite where one of them is not reached."""
        if self.low is None or self.high is None:
            return 0.0 if self.low is self.high else float("inf")
        return self.high - self.low


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shares:
    """Variance of an answer by factor, each of shape (n_factors,), and how much of it the fit foretells."""

    alone: FloatArray
    with_others: FloatArray
    foretold: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Exploration:
    """All variants of a dessert.

    Parameters
    ----------
    base
        As the dessert is.
    ends
        Each factor at its low and its high end alone, in the order of the factors.
    variants
        All factors varied together.
    whole
        False when it was cancelled before all variants were done.
    """

    factors: tuple[Factor, ...]
    base: Outcome
    ends: tuple[tuple[Outcome, Outcome], ...]
    variants: tuple[Outcome, ...]
    whole: bool = True

    def answers(self) -> tuple[str, ...]:
        """The answers that this dessert has."""
        return tuple(name for name in ANSWERS if self.base.answers.get(name) is not None)

    def effects(self, answer: str) -> tuple[Effect, ...]:
        """What each factor does to an answer, the strongest first."""
        shares = self.shares(answer)
        found = [
            Effect(
                factor=factor,
                low=low.answers.get(answer),
                high=high.answers.get(answer),
                share=None if shares is None else float(shares.alone[k]),
                with_others=None if shares is None else float(shares.with_others[k]),
            )
            for k, (factor, (low, high)) in enumerate(zip(self.factors, self.ends, strict=True))
        ]
        return tuple(sorted(found, key=lambda effect: -abs(effect.swing)))

    def column(self, answer: str) -> FloatArray:
        """An answer of all variants, NaN where it is not reached."""
        values = [outcome.answers.get(answer) for outcome in self.variants]
        return np.array([np.nan if value is None else value for value in values])

    def shares(self, answer: str) -> Shares | None:
        """Variance of an answer by factor; None: too few variants that reach it, or it does not vary."""
        y = self.column(answer)
        held = np.isfinite(y)
        if not held.any():
            return None
        x = np.array([outcome.values for outcome in self.variants])[held]
        low, high = (np.array([getattr(f, end) for f in self.factors]) for end in ("low", "high"))
        return variance_shares(2 * (x - low) / (high - low) - 1, y[held])


@published(
    gives="shares of the variance of an answer, by factor",
    source="sudret-2008",
    valid="answers that follow the factors smoothly; factors that do not hang together",
    error="told with each: the share of the variance that the fit foretells of variants it has not seen",
    status=Status.QUOTED,
)
def variance_shares(points: FloatArray, values: FloatArray) -> Shares | None:
    """Shares of a variance by factor: alone (first order), and with what a factor does together with others (total).

    Parameters
    ----------
    points
        Each factor between −1 and 1, spread evenly and independently, shape (n, n_factors).
    values
        The answer at each point, shape (n,).

    Returns
    -------
    Shares or None
        None where there are too few points, the values do not vary, or no polynomial foretells them.

    Notes
    -----
    Legendre polynomials in all factors are fitted by least squares; their squared coefficients add up to the variance,
    and each belongs to the factors that it contains. The degree is the one that foretells best each point from all
    others.
    """
    n, d = points.shape
    variance = float(np.var(values))
    if not variance > _LEVEL * max(float(np.mean(values)) ** 2, 1e-300):
        return None
    best: tuple[float, FloatArray, FloatArray] | None = None
    for degree in range(1, _HIGHEST + 1):
        if comb(d + degree, d) > min(_MOST_TERMS, n // _PER_TERM):
            break
        powers = _powers(d, degree)
        missed, fitted = _foretold(_columns(points, powers), values)
        if best is None or missed < best[0]:
            best = (missed, powers, fitted)
    if best is None or 1 - best[0] / variance < _TOO_ROUGH:
        return None
    missed, powers, fitted = best
    squares = fitted[1:] ** 2
    has = powers[1:] > 0
    total = float(squares.sum())
    by_itself = has.sum(axis=1) == 1
    return Shares(
        alone=np.array([float(squares[by_itself & has[:, k]].sum()) / total for k in range(d)]),
        with_others=np.array([float(squares[has[:, k]].sum()) / total for k in range(d)]),
        foretold=1 - missed / variance,
    )


def _powers(d: int, degree: int) -> FloatArray:
    """Degree of each factor in each term of all degrees up to one, the constant first, shape (n_terms, d)."""
    rows = [
        np.bincount(np.array(picked, dtype=np.int64), minlength=d + 1)[1:]
        for picked in combinations_with_replacement(range(d + 1), degree)
    ]
    rows.sort(key=lambda row: int(row.sum()))
    return np.array(rows, dtype=float)


def _columns(points: FloatArray, powers: FloatArray) -> FloatArray:
    """Every term at every point, of variance one each, shape (n, n_terms)."""
    highest = int(powers.max())
    # Legendre polynomials have the variance 1/(2p + 1) over −1 to 1.
    one_by_one = legendre.legvander(points, highest) * np.sqrt(2 * np.arange(highest + 1) + 1)
    made = np.ones((len(points), len(powers)))
    for k in range(points.shape[1]):
        made *= one_by_one[:, k, powers[:, k].astype(np.int64)]
    return made


def _foretold(columns: FloatArray, values: FloatArray) -> tuple[float, FloatArray]:
    """Mean square by which each value differs from what all others foretell, and the fitted coefficients."""
    q, r = np.linalg.qr(columns)
    if np.abs(np.diag(r)).min() < 1e-9 * np.abs(np.diag(r)).max():
        return float("inf"), np.zeros(columns.shape[1])
    fitted = np.linalg.solve(r, q.T @ values)
    leverage = np.minimum((q**2).sum(axis=1), 1 - 1e-9)
    off = (values - columns @ fitted) / (1 - leverage)
    return float(np.mean(off**2)), fitted
