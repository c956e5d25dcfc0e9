"""Cook a component: weigh it, go through its steps, and say what has become of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from demoule.errors import BadInput, DemouleError, UnknownName
from demoule.figures import Finding, Severity
from demoule.formula.amounts import Line, lines_of
from demoule.formula.component import Blend, Candy, Component, Fold, Pan
from demoule.formula.cooked import Cooked
from demoule.formula.order import in_order, place
from demoule.formula.parts import Part, part_of
from demoule.formula.result import cooked_of
from demoule.formula.scale import factor_for, grown, with_ratios
from demoule.formula.steps import perform
from demoule.formula.surroundings import Surroundings
from demoule.formula.work import USUAL, Lost, Rules, Work
from demoule.larder.larder import Larder
from demoule.units import Kilogram

__all__ = ["cook", "cook_all"]

_EXACT = 1e-11
_NEAR = 2e-3
"""A measured yield may exceed what can be by so much of what was put in: scales and rounding."""


def cook_all(
    components: Sequence[Component], larder: Larder, surroundings: Surroundings | None = None
) -> dict[str, Cooked]:
    """Every component of a dessert, each after those that go into it.

    Raises
    ------
    BadInput
        For a component that contains itself, or one that cannot be made as written; `where` names it.
    UnknownName
        For an ingredient that is neither in the larder nor a component.
    """
    made: dict[str, Cooked] = {}
    for component in components:
        _syrups_known(component, [one.name for one in components])
    for component in in_order(components):
        made[component.name] = cook(component, larder, made, surroundings)
    return made


def cook(
    component: Component,
    larder: Larder,
    made: Mapping[str, Cooked],
    surroundings: Surroundings | None = None,
) -> Cooked:
    """One making of a component after its steps.

    Parameters
    ----------
    component
        As written.
    larder
        Where its ingredients are found.
    made
        The components it needs, by name.
    surroundings
        The place: altitude, hob, pans, rooms.

    Raises
    ------
    BadInput, UnknownName
        For what cannot be weighed or done, with its place.

    Notes
    -----
    Water leaves as water alone; what stays in a vessel takes everything in proportion, one vessel after the other in
    the order of work. Losses that the component tells count alone. When it tells none, the usual ones of the trade are
    taken where a step needs a vessel: 1.5 % in the pan, 1.5 % in the jug of a blender, 1.5 % in a sieve, 2 % in the
    bowl. What bag and palette knife take is counted when the component is filled into moulds.

    What was measured wins. A measured evaporation is shared among the steps as they would evaporate by themselves. A
    measured yield first moves the evaporation that was only computed, inside its band; what then still differs is a
    loss “not told”, or, when more came out than the usual losses allow, makes them smaller.

    `to_make` scales every line by one factor, found so that just that mass comes out. Minutes, pans and measured
    evaporation do not scale with it.
    """
    around = surroundings or Surroundings()
    where = place(component)
    try:
        _syrups_known(component, made)
        _must_be_possible(component)
        lines, findings = lines_of(component, larder, made)
        pans: Mapping[int, Pan] = {}
        if component.to_make is not None:
            component, lines, pans = _sized(component, lines, made, around)
        work = _measured(component, lines, made, around, pans)
        return cooked_of(component, lines, work, findings)
    except DemouleError as error:
        if not any(where in one or one in where for one in error.places):
            error.at(where)
        raise


def _must_be_possible(component: Component) -> None:
    """Refuse measured figures that no making can have."""
    for what, value, least in (
        ("comes out", component.gives, 1e-9),
        ("goes off as water", component.evaporation, 0.0),
        ("is the density (kg/m³)", component.density, 10.0),
    ):
        if value is not None and not least <= value < 1e6:
            raise BadInput(f"{value:g} cannot be what {what}.", remedy="check the measured figure and its unit.")


def _syrups_known(component: Component, names: Iterable[str]) -> None:
    for step in component.steps:
        if isinstance(step, Candy) and not any(step.syrup.casefold() == name.casefold() for name in names):
            raise UnknownName("component", step.syrup, names, where=place(component))


# ---- one run through the steps


def _run(
    component: Component,
    lines: Sequence[Line],
    made: Mapping[str, Cooked],
    around: Surroundings,
    rules: Rules,
    factor: float = 1.0,
) -> Work:
    parts = [part_of(line, around.air, factor) for line in lines]
    work = Work(component=component, where=place(component), parts=parts, made=made, around=around, rules=rules)
    work.entered = sum(part.total for part in parts)
    _let_wait(component, parts)
    work.note(work.temperature_of(work.in_work or parts), "weighed")
    for number, step in enumerate(component.steps):
        work.step = number
        perform(step, work)
    work.off_hob()
    for part in parts:
        part.stands = "in work"
    work.parts = [part for part in work.parts if part.total > 0]
    work.gather("ready" if component.steps else "weighed")
    if work.bowl_wetted:
        work.lose("bowl", USUAL["bowl"], work.parts, usual=True)
    for cause, share in component.losses:
        work.lose_told(cause, share)
    return work


def _let_wait(component: Component, parts: Sequence[Part]) -> None:
    """What a later step brings in by name, or folds in with its air, is not in work before."""
    waiting: list[Part] = []
    for step in component.steps:
        if isinstance(step, Blend | Fold) and step.part:
            words = step.part.casefold()
            waiting += [part for part in parts if _named(part, words)]
        elif isinstance(step, Fold):
            waiting += [part for part in parts if part.air > 0]
    if len({id(part) for part in waiting}) < len(parts):
        for part in waiting:
            part.stands = "waiting"


def _named(part: Part, words: str) -> bool:
    name = part.name.casefold()
    return name in words or any(word in words.replace(",", " ").split() for word in name.split() if len(word) > 3)


# ---- meeting what was measured


def _mass(work: Work) -> Kilogram:
    return sum(part.total for part in work.parts)


def _measured(
    component: Component,
    lines: Sequence[Line],
    made: Mapping[str, Cooked],
    around: Surroundings,
    pans: Mapping[int, Pan],
) -> Work:
    """The run that meets the measured evaporation and the measured yield."""

    def run(rules: Rules) -> Work:
        return _run(component, lines, made, around, rules)

    rules = Rules(pans=pans)
    work = run(rules)
    if component.evaporation is not None:
        rules = replace(rules, water=_shared(component.evaporation, work, component))
        computed, work = work, run(rules)
        _tell_evaporation(component.evaporation, computed, work)
    if component.gives is None:
        return work
    wanted = component.gives
    if work.candied_mass is not None:
        return _candied_to(wanted, rules, run)
    difference = _mass(work) - wanted
    if abs(difference) <= _EXACT * wanted:
        return work
    if any(not off.measured for off in work.water):
        rules, work = _nudged(wanted, difference, rules, run)
    return _vessels_to(wanted, rules, run, work)


def _shared(evaporation: Kilogram, work: Work, component: Component) -> dict[int, Kilogram]:
    """Water off by step, so that it adds up to what was measured."""
    computed = {off.step: off.mass for off in work.water}
    total = sum(computed.values())
    if total > 0:
        return {step: mass * evaporation / total for step, mass in computed.items()}
    if computed:
        return {next(iter(computed)): evaporation}
    if evaporation > 0:
        raise BadInput(
            f"{evaporation * 1000:.0f} g of water are said to go off, and no step heats anything.",
            where=place(component),
            remedy="write the step in which it goes off, or take the evaporation out.",
        )
    return {}


def _tell_evaporation(measured: Kilogram, computed: Work, work: Work) -> None:
    low = sum(off.band.low for off in computed.water)
    high = sum(off.band.high for off in computed.water)
    if low * 0.999 <= measured <= high * 1.001 or abs(measured - high) < 2e-3:
        return
    usual = sum(off.mass for off in computed.water)
    work.say(
        Finding(
            severity=Severity.NOTE,
            rule="evaporation measured",
            where=f"{work.where}.evaporation",
            says=f"{measured * 1000:.0f} g were measured to go off; pan, minutes and heat would take "
            f"{usual * 1000:.0f} g ({low * 1000:.0f} to {high * 1000:.0f} g).",
            why="The measured figure is used.",
            remedy="if it was a guess, weigh the pan before and after.",
        )
    )


def _nudged(wanted: Kilogram, difference: Kilogram, rules: Rules, run: Callable[[Rules], Work]) -> tuple[Rules, Work]:
    """Computed evaporation moved inside its band, as far as the measured yield asks."""
    end = 1.0 if difference > 0 else -1.0
    at_end = run(replace(rules, nudge=end))
    if (_mass(at_end) - wanted) * difference >= 0:
        return replace(rules, nudge=end), at_end
    from scipy.optimize import brentq  # loads slowly, and most never ask

    nudge = brentq(lambda n: _mass(run(replace(rules, nudge=n))) - wanted, 0.0, end, xtol=1e-15, rtol=1e-14)
    rules = replace(rules, nudge=float(nudge))
    return rules, run(rules)


def _vessels_to(wanted: Kilogram, rules: Rules, run: Callable[[Rules], Work], work: Work) -> Work:
    """The rest of a measured yield: a loss not told, or smaller losses to vessels."""
    mass = _mass(work)
    if mass < wanted:
        whole = run(replace(rules, vessels=0.0))
        most = _mass(whole)
        if most < wanted:
            if wanted > most + _NEAR * work.entered:
                raise BadInput(
                    f"{wanted * 1000:.0f} g are said to come out, and at most {most * 1000:.0f} g can be left.",
                    where=f"{work.where}.gives",
                    remedy="check what was weighed, what goes off and what comes out.",
                )
            work = whole
        else:
            from scipy.optimize import brentq  # loads slowly, and most never ask

            share = brentq(lambda s: _mass(run(replace(rules, vessels=s))) - wanted, 0.0, 1.0, xtol=1e-15, rtol=1e-14)
            work = run(replace(rules, vessels=float(share)))
        mass = _mass(work)
    if mass < wanted:
        work.take_back(wanted - mass)
        mass = _mass(work)
    if mass != wanted:
        rest = mass - wanted
        for part in work.parts:
            part.lose(rest / mass)
        if abs(rest) > _EXACT * wanted:
            cause = "not told" if rest > 0 else "rounding of what came out"
            work.lost.append(Lost(cause=cause, mass=rest, measured=True))
        elif work.lost:
            work.lost[-1] = replace(work.lost[-1], mass=work.lost[-1].mass + rest)
    return work


def _candied_to(wanted: Kilogram, rules: Rules, run: Callable[[Rules], Work]) -> Work:
    """A measured yield of candied fruit is that of the candying: sugar in and water out change, nothing is lost."""
    without = run(rules)
    assert without.candied_mass is not None
    kept = _mass(without) / without.candied_mass
    work = run(replace(rules, candied=wanted / kept))
    return _vessels_to(wanted, replace(rules, candied=wanted / kept), run, work)


# ---- size of a making


def _sized(
    component: Component, lines: tuple[Line, ...], made: Mapping[str, Cooked], around: Surroundings
) -> tuple[Component, tuple[Line, ...], Mapping[int, Pan]]:
    """The component and its lines scaled so that `to_make` comes out, and the pans chosen for that size."""
    wanted = component.to_make
    assert wanted is not None
    if not wanted > 0:
        raise BadInput(f"{wanted * 1000:g} g cannot be made.", where=place(component), remedy="give a mass above zero.")
    free = replace(component, to_make=None, steps=with_ratios(component, lines, made))
    if component.gives is not None:
        if all(line.amount.percent is not None for line in component.weighed):
            raise BadInput(
                "A measured yield of a recipe in percentages has no size to belong to.",
                where=place(component),
                remedy="give the amounts that were weighed when the yield was measured.",
            )
        factor = factor_for(component, wanted)
        return replace(grown(free, factor), gives=wanted), _times(lines, factor), {}
    entered = sum(line.mass for line in lines)

    tried: tuple[float, Kilogram, Mapping[int, Pan]] = (0.0, 0.0, {})

    def mass_at(factor: float, pans: Mapping[int, Pan]) -> Kilogram:
        """What comes out; nothing of a making so small that it would boil dry."""
        nonlocal tried
        try:
            work = _measured(grown(free, factor), _times(lines, factor), made, around, pans)
            tried = factor, _mass(work), work.pans
            return tried[1]
        except BadInput:
            if factor * entered < 2 * (wanted + (component.evaporation or 0.0)):
                return 0.0
            raise

    # The pans are chosen by the size, and then held: a bigger pan at just this size would jump past the mass wanted.
    factor = _root(lambda f: mass_at(f, {}) - wanted, wanted / entered, wanted, component)
    last, mass, pans = tried
    if last != factor or abs(mass - wanted) > _EXACT * wanted:
        pans = _measured(grown(free, factor), _times(lines, factor * (1 + 1e-9)), made, around, {}).pans
        if pans:
            factor = _root(lambda f: mass_at(f, pans) - wanted, factor, wanted, component)
    return grown(free, factor), _times(lines, factor), pans


def _root(over: Callable[[float], float], start: float, size: float, component: Component) -> float:
    """The factor at which nothing is over or short; what comes out grows with it, nearly in a straight line."""
    factor, before = start, None
    for _ in range(8):
        value = over(factor)
        if abs(value) <= _EXACT * size:
            return factor
        slope = size / start if before is None else (value - before[1]) / (factor - before[0])
        before = (factor, value)
        factor -= value / slope if slope > 0 else value / (size / start)
        if not factor > 0 or factor == before[0]:
            break
    low = high = start
    while over(low) > 0:
        low /= 1.5
    while over(high) < 0:
        high *= 1.5
        if high > 1e6 * start:
            raise BadInput(
                "However much is weighed, that mass does not come out.",
                where=place(component),
                remedy="check its losses.",
            )
    from scipy.optimize import brentq  # loads slowly, and most never ask

    return float(brentq(over, low, high, xtol=1e-300, rtol=1e-15, maxiter=200)) if high > low else high


def _times(lines: Sequence[Line], factor: float) -> tuple[Line, ...]:
    return tuple(replace(line, mass=line.mass * factor) for line in lines)
