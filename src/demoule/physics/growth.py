"""How fast a germ would grow in a food by models from laboratories, for comparing schedules and never for a date."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from demoule.errors import BadInput, OutsideValidity, UnknownName
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.units import ZERO_CELSIUS, FloatArray, Kelvin, Second, celsius

__all__ = [
    "GROWTH",
    "WORDING",
    "Growth",
    "GrowthModel",
    "cardinal",
    "doubling_time",
    "growth",
    "growth_rate",
]

WORDING = "Prediction from a laboratory model. It does not replace a shelf-life study."
HOT = 333.15  # K, above which growth is taken as none
_HOUR = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthModel:
    """One published model of the growth of one germ in one food.

    Parameters
    ----------
    key, organism, medium
        Name to ask for, germ, and the food or broth it was made in.
    form
        "square root", "four parameters", "cardinal", "gamma".
    numbers
        Parameters in °C and per hour (natural logarithm), as printed.
    low, high
        Temperatures between which it was made [°C].
    most
        Greatest count it reaches [log10 per g]; None: not told.
    unit
        What is said of the unit of its rate.
    """

    key: str
    organism: str
    medium: str
    form: str
    numbers: tuple[tuple[str, float], ...]
    low: float
    high: float
    source: str
    most: float | None = None
    unit: str = "1/h"

    def __getitem__(self, name: str) -> float:
        return dict(self.numbers)[name]

    @property
    def least_temperature(self) -> float:
        """Below it the equation gives no growth [°C]."""
        return self["t_min"]


def _model(
    key: str,
    organism: str,
    medium: str,
    form: str,
    span: tuple[float, float],
    source: str,
    *,
    most: float | None = None,
    unit: str = "1/h",
    **numbers: float,
) -> GrowthModel:
    return GrowthModel(
        key=key,
        organism=organism,
        medium=medium,
        form=form,
        numbers=tuple(numbers.items()),
        low=span[0],
        high=span[1],
        source=source,
        most=most,
        unit=unit,
    )


_INFERRED = "1/h, inferred from its size"

GROWTH: dict[str, GrowthModel] = {
    model.key: model
    for model in (
        _model(
            "listeria in vanilla cream",
            "Listeria monocytogenes",
            "pasteurised vanilla cream",
            "square root",
            (3, 15),
            "panagou-nychas",
            unit=_INFERRED,
            b=0.017,
            t_min=-6.23,
        ),
        _model(
            "staphylococcus in milk",
            "Staphylococcus aureus",
            "milk",
            "square root",
            (10, 34),
            "fujikawa-morozumi",
            unit=_INFERRED,
            b=0.0442,
            t_min=5.407,
        ),
        _model(
            "salmonella in egg yolk",
            "Salmonella spp.",
            "egg yolk",
            "square root",
            (5, 37),
            "park-egg-yolk",
            unit="not told, taken as 1/h",
            b=0.02991,
            t_min=3.581,
        ),
        _model(
            "staphylococcus in egg yolk",
            "Staphylococcus aureus",
            "egg yolk",
            "square root",
            (5, 37),
            "park-egg-yolk",
            unit=_INFERRED,
            b=0.02826,
            t_min=3.908,
        ),
        _model(
            "salmonella in liquid egg",
            "Salmonella spp.",
            "liquid egg mix",
            "four parameters",
            (10, 45),
            "li-egg-mix",
            unit=_INFERRED,
            a=0.00136,
            t_min=2.62,
            c=0.436,
            t_max=45.8,
        ),
        _model(
            "bacillus in cooked rice",
            "Bacillus cereus",
            "cooked rice",
            "cardinal",
            (8.3, 46.7),
            "hwang-huang",
            unit=_INFERRED,
            best=2.21,
            t_min=8.23,
            t_best=37.6,
            t_max=46.8,
        ),
        _model(
            "bacillus in milk",
            "Bacillus cereus",
            "pasteurised milk",
            "gamma",
            (0, 37),
            "zwietering-1996",
            best=2.0,
            t_min=0.0,
            t_best=37.0,
            ph_min=4.9,
            ph_best=6.5,
            aw_min=0.95,
        ),
        _model(
            "staphylococcus in broth",
            "Staphylococcus aureus",
            "broth",
            "cardinal",
            (8, 50),
            "medvedova-2019",
            unit=_INFERRED,
            best=1.97,
            t_min=7.7,
            t_best=40.6,
            t_max=46.7,
            aw_min=0.808,
            aw_best=0.994,
        ),
        _model(
            "listeria in cold-smoked salmon",
            "Listeria monocytogenes",
            "cold-smoked salmon",
            "square root",
            (0, 25),
            "mc2d-salmon",
            most=7.3,
            # mu = 6.2 per day at 25 °C, (T - Tmin)^2 over that at 25 °C.
            b=math.sqrt(6.2 / 24) / (25 + 2.9),
            t_min=-2.9,
        ),
    )
}
"""The models by name."""


def cardinal(x: float | FloatArray, least: float, best: float, most: float, n: int = 2) -> FloatArray:
    """Cardinal parameter function CM(n): 1 at the best, 0 outside least to most, any shape (rosso-1995).

    >>> float(cardinal(37.0, 5.0, 37.0, 46.0)), float(cardinal(4.0, 5.0, 37.0, 46.0))
    (1.0, 0.0)
    """
    v = np.asarray(x, dtype=float)
    inside = (v > least) & (v < most)
    s = np.where(inside, v, best)
    top = (s - most) * (s - least) ** n
    bottom = (best - least) ** (n - 1) * (
        (best - least) * (s - best) - (best - most) * ((n - 1) * best + least - n * s)
    )
    return np.asarray(np.where(inside, top / bottom, 0.0))


def _rate(model: GrowthModel, temperature: FloatArray, ph: float | None, aw: float | None) -> FloatArray:
    """Rate [1/s] without a look at the range."""
    t = temperature - ZERO_CELSIUS
    above = np.maximum(t - model.least_temperature, 0.0)
    if model.form == "square root":
        mu = (model["b"] * above) ** 2
    elif model.form == "four parameters":
        mu = model["a"] * above**2 * np.maximum(1 - np.exp(model["c"] * (np.minimum(t, 60.0) - model["t_max"])), 0.0)
    elif model.form == "cardinal":
        mu = model["best"] * cardinal(t, model["t_min"], model["t_best"], model["t_max"])
        if aw is not None and "aw_min" in dict(model.numbers):
            mu = mu * cardinal(aw, model["aw_min"], model["aw_best"], 1.0 + 1e-9)
    else:
        mu = model["best"] * (above / (model["t_best"] - model["t_min"])) ** 2
        if ph is not None:
            low, best = model["ph_min"], model["ph_best"]
            mu = mu * max((ph - low) * (2 * best - low - ph) / (best - low) ** 2, 0.0)
        if aw is not None:
            mu = mu * max((aw - model["aw_min"]) / (1 - model["aw_min"]), 0.0)
    return np.asarray(mu / _HOUR)


def _found(organism: str) -> GrowthModel:
    if organism in GROWTH:
        return GROWTH[organism]
    wanted = organism.casefold()
    for model in GROWTH.values():  # "listeria" finds the first model of it: cream before fish
        if wanted and (wanted in model.key or wanted in model.organism.casefold()):
            return model
    raise UnknownName("growth model", organism, GROWTH)


def _refuse(model: GrowthModel, t: float) -> None:
    if not model.low - 1e-9 <= t <= model.high + 1e-9:
        raise OutsideValidity(
            f"The model of {model.organism} in {model.medium} was made between {model.low:g} and {model.high:g} °C, "
            f"not for {t:.1f} °C.",
            remedy="ask within that range; outside it nothing is shown.",
        )


@published(
    gives="growth rate of a germ",
    source="rosso-1995",
    valid="each model within its own temperatures, in its own food",
    error="a factor 2 between a model and a food",
    status=Status.READ,
)
def growth_rate(organism: str, temperature: Kelvin, *, ph: float | None = None, aw: float | None = None) -> float:
    """Growth rate without lag [1/s], natural logarithm.

    Parameters
    ----------
    organism
        Name of a model (`GROWTH`) or of a germ.
    temperature
        [K].
    ph, aw
        Where the model has them.

    Raises
    ------
    UnknownName, OutsideValidity
        No such model; a temperature outside the range in which it was made.

    Examples
    --------
    >>> round(growth_rate("listeria in vanilla cream", 278.15) * 3600, 5)  # 1/h
    0.03645
    """
    model = _found(organism)
    _refuse(model, celsius(temperature))
    return float(_rate(model, np.asarray(temperature, dtype=float), ph, aw))


def doubling_time(organism: str, temperature: Kelvin, *, ph: float | None = None, aw: float | None = None) -> Second:
    """Time in which a germ doubles [s]; infinite where it does not grow.

    >>> round(doubling_time("listeria", 277.15) / 3600)  # hours
    23
    """
    rate = growth_rate(organism, temperature, ph=ph, aw=aw)
    return math.log(2) / rate if rate > 0 else math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """Growth summed over a history.

    Parameters
    ----------
    log_increase
        log10 of the count over that at the start, without lag.
    counted, frozen, hot
        Time within the model's range, at or below its least temperature, and above 60 °C [s].
    not_shown
        Time outside the model's range at which growth cannot be ruled out [s].
    wording
        To be printed beside the figure.
    """

    log_increase: float
    counted: Second
    frozen: Second
    hot: Second
    not_shown: Second
    model: GrowthModel
    wording: str
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


@published(
    gives="growth of a germ over a history of temperature",
    source="rosso-1995",
    valid="each model within its own temperatures; time outside is counted apart",
    error="a factor 2 between a model and a food",
    status=Status.READ,
)
def growth(
    organism: str,
    time: Sequence[Second] | FloatArray,
    temperature: Sequence[Kelvin] | FloatArray,
    *,
    ph: float | None = None,
    aw: float | None = None,
    start: float | None = None,
) -> Growth:
    """Growth over a history of temperature, the whole life of a component.

    Parameters
    ----------
    organism
        Name of a model or of a germ.
    time, temperature
        Moments in order, shape (n,) [s, K]; straight lines between them, jumps where a time repeats.
    ph, aw
        Where the model has them.
    start
        Count at the start [log10 per g], for the ceiling of models that have one.

    Raises
    ------
    BadInput
        Times that run backwards.

    Examples
    --------
    >>> hours = growth("listeria in vanilla cream", [0.0, 72 * 3600.0], [277.15, 277.15])
    >>> round(hours.log_increase, 2)
    0.95
    """
    model = _found(organism)
    t = np.asarray(time, dtype=float)
    T = np.asarray(temperature, dtype=float)
    if t.size < 2 or t.shape != T.shape or (np.diff(t) < 0).any() or not np.isfinite(T).all():
        raise BadInput("A history needs its moments in order.", remedy="give times that rise, two or more.")
    # Middles of fine pieces, each short in kelvins, so that edges of ranges are met closely.
    counts = np.maximum(np.ceil(np.abs(np.diff(T)) / 0.1), 20).astype(int)
    counts[np.diff(t) == 0] = 0
    piece = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts) + 0.5) / counts[piece]
    at, dt = T[:-1][piece] + np.diff(T)[piece] * share, (np.diff(t) / np.maximum(counts, 1))[piece]
    c = at - ZERO_CELSIUS
    inside = (c >= model.low) & (c <= model.high)
    cold = c <= min(max(model.least_temperature, -1.5), model.low)
    hot = at >= HOT
    aside = ~(inside | cold | hot)
    # Below its range the equation still stands on the careful side; above it nothing is known.
    counted = inside | (aside & (c < model.low))
    increase = float(np.sum(_rate(model, at, ph, aw)[counted] * dt[counted])) / math.log(10)
    if start is not None and model.most is not None:
        increase = min(increase, max(model.most - start, 0.0))
    not_shown = float(dt[aside].sum())
    findings = [
        Finding(
            severity=Severity.NOTE,
            rule="growth model",
            where="",
            says=f"{model.organism} as in {model.medium} would grow by {increase:.1f} powers of ten over this history.",
            why=WORDING,
            remedy="use it to compare schedules; it sets no date, and the law where you sell decides.",
            source=model.source,
        )
    ]
    if not_shown > 300:
        findings.append(
            Finding(
                severity=Severity.CAUTION,
                rule="growth not shown",
                where="",
                says=f"For {not_shown / 3600:.1f} h the temperature lay outside what this model was made for "
                f"({model.low:g} to {model.high:g} °C): growth in that time is not shown.",
                remedy="cool faster through it, or judge it by the cooling rules.",
                source=model.source,
            )
        )
    return Growth(
        log_increase=increase,
        counted=float(dt[inside].sum()),
        frozen=float(dt[cold].sum()),
        hot=float(dt[hot].sum()),
        not_shown=not_shown,
        model=model,
        wording=WORDING,
        basis=(basis_of(growth, stretched=not_shown > 0),),
        findings=tuple(findings),
    )
