"""What fruit takes from a syrup and gives to it, sugar by sugar, and what a blanching washes out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.figures import Basis, Figure, Finding, Severity, Status
from demoule.formula.component import Blanch, Candy
from demoule.formula.cooked import Cooked, Left
from demoule.formula.evaporation import evaporation_flux, pan_for
from demoule.formula.matter import boils_at, mix_density
from demoule.formula.parts import Part, seen
from demoule.formula.work import Work
from demoule.physics.blanching import Blanched, BlanchWater, blanch
from demoule.physics.candy_course import Fruit, SyrupStage
from demoule.physics.candy_shapes import PieceShape, piece_shape
from demoule.physics.candying import Candied, candy, candying_time
from demoule.physics.graining import saturation_of_mixture
from demoule.physics.tissue import COOKED, Tissue, tissue_for
from demoule.units import FloatArray, Fraction, Kelvin, Kilogram, MassFraction

__all__ = ["blanched", "candied", "dissolved", "liquid_of"]

_C = Constituent
_STAYS = np.array(
    [_C.MILK_FAT, _C.COCOA_BUTTER, _C.OTHER_FAT, _C.PROTEIN, _C.STARCH, _C.FIBRE, _C.UNKNOWN_SOLIDS], dtype=int
)
_SAME = 12  # digits by which two candyings count as the same

# Water for blanching over fruit when none is told, and the piece when no candying tells it (practice).
_WATERS, _PIECE, _SIZE = 5.0, "cube", 0.016

# Nobody stirs, so the low figure of an open pan counts; and nobody lets more than this share of the water go (judged).
_OPEN_MOST: Fraction = 0.5

MEASURED = Basis(model="measured yield of candied fruit", source=Status.PRACTICE.value, valid="this recipe")


def liquid_of(mass: FloatArray) -> FloatArray:
    """What of a mass of constituents is liquid: water and all that is dissolved in it; any shape (..., COUNT)."""
    liquid = mass.copy()
    liquid[..., _STAYS] = 0.0
    return liquid


def dissolved(mass: FloatArray) -> FloatArray:
    """What of a mass of constituents is dissolved in its water; any shape (..., COUNT)."""
    sugars = liquid_of(mass)
    sugars[..., [_C.WATER, _C.ETHANOL]] = 0.0
    return sugars


@dataclass(frozen=True, slots=True)
class _Exchange:
    """Mass that the fruit gains [kg]: dissolved solids and water; and how far the sugars have changed places."""

    solids: Kilogram
    water: Kilogram
    share: Fraction


def candied(step: Candy, work: Work) -> None:
    """Candy all that is in work in a syrup that is another component.

    Notes
    -----
    Solids gained and water given come from the model of two flows, or from what was measured. Beyond the net flow the
    sugars of fruit and syrup mix: by the share that has changed places, each kind goes from its own to the common
    proportion, so that an old syrup carries sugars of the fruit. Every constituent is conserved between the two.
    """
    parts = work.gather("into the syrup")
    syrup = next(made for name, made in work.made.items() if name.casefold() == step.syrup.casefold())
    fruit = np.sum([part.mass for part in parts], axis=0)
    total = float(fruit.sum())
    bath_mass = syrup.mass if step.ratio is None else step.ratio * total
    bath = bath_mass * syrup.composition.vector
    run = _course(step, work, fruit, bath, total)
    exchange = _measured(step, work.rules.candied, run, fruit, total)
    _possible(exchange, fruit, bath, work)
    new_fruit, new_bath = _mixed(exchange, fruit, bath)
    evaporated = min(run.evaporated * total, 0.98 * float(new_bath[_C.WATER]))
    new_bath[_C.WATER] -= evaporated

    work.pass_time(parts, step.temperature, 0.0, "into the syrup")
    work.pass_time(parts, step.temperature, step.duration, "candy")
    for after in step.later:
        work.pass_time(parts, after.temperature, 0.0, "candy")
        work.pass_time(parts, after.temperature, after.duration, "candy")
    whole = step.duration + sum(after.duration for after in step.later)
    work.wait("candy", whole, None, step.temperature)
    uptake = max(exchange.solids, 0.0) / float(dissolved(bath).sum())
    one = _together(parts, new_fruit, syrup, bath_mass * uptake, step)
    work.parts = [part for part in work.parts if part not in parts] + [one]
    work.exchanged += exchange.solids + exchange.water
    work.candied_mass = one.total
    left_mass = float(new_bath.sum())
    work.left_over.append(
        Left(
            what=syrup.name,
            used=bath_mass,
            mass=left_mass,
            composition=_composition(new_bath, syrup, bath_mass, uptake),
        )
    )
    for basis in run.basis:
        work.stands_on(basis)
    for finding in run.findings:
        work.say(replace(finding, where=finding.where or work.at))
    if work.rules.candied is not None or step.gives is not None or step.solids is not None:
        work.stands_on(MEASURED)
    _tell_candying(run, one, left_mass, new_bath, work)


def _tell_candying(run: _Course, one: Part, syrup_mass: Kilogram, bath: FloatArray, work: Work) -> None:
    """Brix, share of the way and time, with their bands, of fruit and syrup."""
    liquid = float(liquid_of(one.mass).sum())
    solids = 100 * float(dissolved(one.mass).sum()) / liquid
    syrup = 100 * float(dissolved(bath).sum()) / float(liquid_of(bath).sum())
    low, high = run.fruit_solids
    learned = f"learned from {run.learned_from}" if run.learned_from else ""

    def tell(key: str, name: str, value: float, unit: str, band: tuple[float, float], note: str = "") -> None:
        lowest, highest = min(value, *band), max(value, *band)
        figure = Figure(value=value, unit=unit, low=lowest, high=highest, basis=run.basis, measured=learned, note=note)
        work.tells(key, name, figure)

    shift = solids - 100 * run.likely_solids  # where the yield was measured, the band moves with it
    tell("fruit_brix", "Brix of the fruit's juice", solids, "°Bx", (100 * low + shift, 100 * high + shift))
    tell("syrup_brix", "Brix of the syrup afterwards", syrup, "°Bx", (syrup - 1.0, syrup + 1.0), _mass(syrup_mass))
    shares = (100 * run.reached[0], 100 * run.reached[1])
    tell("candied_share", "share of the way to rest", 100 * run.share_of_way, "%", shares, "as a whole")
    if run.to_ninety is not None:
        hours = run.to_ninety / 3600
        band = (hours / run.spread, hours * run.spread)
        tell("candy_time_90", "time to nine tenths of the way", hours, "h", band, "in the last syrup")


def _mass(mass: Kilogram) -> str:
    return f"{1000 * mass:.0f} g are left"


@dataclass(frozen=True, slots=True)
class _Course:
    """What the model says, per kilogram of fruit put in."""

    solids: float
    water: float
    share: float
    evaporated: float
    water_per_sugar: float
    fruit_solids: tuple[float, float]
    likely_solids: float
    reached: tuple[float, float]
    share_of_way: float
    to_ninety: float | None
    spread: float
    learned_from: str
    basis: tuple[Basis, ...]
    findings: tuple[Finding, ...]


def _course(step: Candy, work: Work, fruit: FloatArray, bath: FloatArray, total: Kilogram) -> _Course:
    liquid = float(liquid_of(fruit).sum())
    bath_liquid = float(liquid_of(bath).sum())
    away = 0.0
    if not step.covered:
        around = work.around
        syrup = Composition(fractions=tuple((bath / bath.sum()).tolist()))
        pan = pan_for((float(bath.sum()) + total) / mix_density(syrup), around.pans)
        flux = evaporation_flux(step.temperature, boils_at(syrup, around.altitude), strength="gentle")
        away = flux.low * pan.open_area * around.factor("evaporation") / total
        most = _OPEN_MOST * float(bath[_C.WATER]) / total
        if away * step.duration > most:
            away = most / step.duration
            work.say(_open_pan(step, work))
    scalded = any(isinstance(earlier, Blanch) for earlier in work.component.steps[: work.step])
    return _remembered(
        replace(step, gives=None, solids=None, ratio=None),
        round(float(dissolved(fruit).sum()) / liquid, _SAME),
        round(1 - liquid / total, _SAME),
        round(bath_liquid / total, _SAME),
        round(float(dissolved(bath).sum()) / bath_liquid, _SAME),
        round(away, _SAME + 6),
        scalded,
        work.around.factor("candying"),
        work.around.tissue(work.component.name),
        tuple(_clear_to(bath, at) for at in (step.temperature, *(one.temperature for one in step.later))),
    )


def _clear_to(bath: FloatArray, temperature: Kelvin) -> MassFraction:
    """Solids to which a syrup of these sugars stays clear [kg/kg]."""
    syrup = Composition(fractions=tuple((bath / bath.sum()).tolist()))
    return round(float(saturation_of_mixture(syrup, temperature)), _SAME)


@lru_cache(maxsize=256)
def _remembered(
    step: Candy,
    solids: MassFraction,
    insoluble: Fraction,
    ratio: float,
    bath_solids: MassFraction,
    away: float,
    scalded: bool,
    faster: float,
    learned: Tissue | None,
    clear_to: tuple[MassFraction, ...],
) -> _Course:
    """A candying of one kilogram; the same one is asked again and again while a making is sized."""
    tissue = tissue_for(step.temperature, blanched=scalded)
    if learned is not None and tissue.spread <= COOKED.spread:
        tissue = learned  # raw flesh is another matter than what was measured in a hot syrup
    elif faster != 1.0:
        tissue = replace(
            tissue,
            diffusivity_at_90=min(tissue.diffusivity_at_90 * faster, 2 * COOKED.diffusivity_at_90),
            spread=1.25,
            learned_from="kitchen",
        )
    fruit = Fruit(
        mass=1.0,
        soluble_solids=solids,
        insoluble=max(insoluble, 0.0),
        shape=piece_shape(step.piece, step.size),
        tissue=tissue,
        skinned=step.skin,
    )
    stages = [
        SyrupStage(
            mass=ratio,
            solids=bath_solids,
            temperature=step.temperature,
            duration=step.duration,
            evaporates=away,
            saturation=clear_to[0],
        )
    ]
    for number, later in enumerate(step.later, 1):
        stages.append(
            SyrupStage(
                solids=later.to_solids,
                temperature=later.temperature,
                duration=later.duration,
                raised_by="boiling",
                saturation=clear_to[number],
            )
        )
    run: Candied = candy(fruit, stages)
    # What is boiled off between the days is missing at the end.
    boiled = ratio + 1.0 - float(run.syrup_mass[-1] + run.fruit_mass[-1]) - run.evaporated
    to_ninety = run.time_to(0.9)
    if to_ninety is None:
        alone = len(stages) == 1 and stages[0].evaporates == 0
        to_ninety = candying_time(fruit, stages[0], 0.9)[0] if alone else None
    return _Course(
        solids=run.sugar_gained,
        water=-run.water_lost,
        share=run.exchanged,
        evaporated=run.evaporated + max(boiled, 0.0),
        water_per_sugar=tissue.water_per_sugar,
        fruit_solids=(run.low[0], run.high[0]),
        likely_solids=float(run.fruit_solids[-1]),
        reached=(run.low[2], run.high[2]),
        share_of_way=float(run.share[-1]),
        to_ninety=to_ninety,
        spread=tissue.spread,
        learned_from=tissue.learned_from,
        basis=run.basis,
        findings=run.findings,
    )


def _open_pan(step: Candy, work: Work) -> Finding:
    return Finding(
        severity=Severity.CAUTION,
        rule="open pan",
        where=work.at,
        says=f"An open pan at {step.temperature - 273.15:.0f} °C would lose more than half of the syrup's water in "
        f"{step.duration / 3600:.1f} h; it is taken to be topped up so far.",
        why="A syrup that thickens draws water out of the fruit faster than sugar goes in, and grains.",
        remedy="cover the pan, or top the syrup up with water to its weight.",
    )


def _measured(step: Candy, candied_to: Kilogram | None, run: _Course, fruit: FloatArray, total: Kilogram) -> _Exchange:
    """The exchange as the model says, with what was measured in its place."""
    gives = step.gives if candied_to is None else candied_to
    dry = total - float(fruit[_C.WATER]) - float(fruit[_C.ETHANOL])
    solids = run.solids * total
    if step.solids is not None:
        if gives is not None:
            solids = step.solids * gives - dry
        else:
            solids = (step.solids * total - dry) / (1 - step.solids * (1 - run.water_per_sugar))
    water = -run.water_per_sugar * solids if step.solids is not None else run.water * total
    if gives is not None:
        water = gives - total - solids
    return _Exchange(solids=solids, water=water, share=min(max(run.share, 0.0), 1.0))


def _possible(exchange: _Exchange, fruit: FloatArray, bath: FloatArray, work: Work) -> None:
    there = float(dissolved(bath).sum())
    if exchange.solids > there:
        raise BadInput(
            f"The fruit would take up {exchange.solids * 1000:.0f} g of sugar; the syrup holds {there * 1000:.0f} g.",
            where=work.at,
            remedy="check the measured yield and solids, or make more syrup.",
        )
    if -exchange.solids > float(dissolved(fruit).sum()):
        raise BadInput(
            "The fruit would lose more sugar than it has.", where=work.at, remedy="check the measured solids."
        )
    if -exchange.water > float(fruit[_C.WATER]) or exchange.water > float(bath[_C.WATER]):
        raise BadInput(
            f"{abs(exchange.water) * 1000:.0f} g of water would change places, more than there is.",
            where=work.at,
            remedy="check the measured yield and solids.",
        )


def _mixed(exchange: _Exchange, fruit: FloatArray, bath: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Fruit and syrup after the exchange [kg of each constituent]; their sum is what it was."""
    own, other = dissolved(fruit), dissolved(bath)
    pool = own + other
    gained = exchange.solids
    after = float(own.sum()) + gained
    giver = other / other.sum() if gained >= 0 else own / own.sum()
    net = own + gained * giver
    common = after * pool / pool.sum()
    inside = (1 - exchange.share) * net + exchange.share * common
    new_fruit = fruit - own + inside
    new_fruit[_C.WATER] += exchange.water
    new_bath = bath - other + (pool - inside)
    new_bath[_C.WATER] -= exchange.water
    return np.maximum(new_fruit, 0.0), np.maximum(new_bath, 0.0)


def _together(parts: list[Part], mass: FloatArray, syrup: Cooked, taken: Kilogram, step: Candy) -> Part:
    """The candied fruit as one part: its own ingredients, and those of the syrup that its sugar came from.

    `taken` is the mass of syrup whose dissolved matter went in; its water stayed out, and so does water
    as an ingredient.
    """
    contents = []
    for part in parts:
        for content in part.contents:
            heated, held = seen(content.heated_to, content.held, part.spells)
            contents.append(replace(content, mass=content.mass * part.kept, heated_to=heated, held=held))
    for content in syrup.contents:
        if content.ingredient.composition.water < 0.98:
            heated, held = seen(content.heated_to, content.held, parts[0].spells[-1:])
            contents.append(replace(content, mass=content.mass * taken, heated_to=heated, held=held))
    return Part(
        name=parts[0].name,
        mass=mass,
        unknown=np.sum([part.unknown for part in parts], axis=0) + taken * np.array(syrup.composition.unknown),
        nutrients=np.sum([part.nutrients for part in parts], axis=0) + taken * np.array(syrup.nutrients.amounts),
        untold=np.sum([part.untold for part in parts], axis=0) + taken * np.array(syrup.nutrients.unknown),
        contents=tuple(contents),
        temperature=step.temperature,
    )


def _composition(bath: FloatArray, syrup: Cooked, bath_mass: Kilogram, uptake: Fraction) -> Composition:
    """The syrup afterwards; what was unknown in it and did not go into the fruit is unknown still."""
    total = float(bath.sum())
    unknown = np.array(syrup.composition.unknown) * bath_mass * (1 - uptake) / total
    fractions = bath / total
    return Composition(
        fractions=tuple((fractions / fractions.sum()).tolist()), unknown=tuple(np.clip(unknown, 0.0, 1.0).tolist())
    )


@lru_cache(maxsize=256)
def _washed(shape: PieceShape, water: BlanchWater, times: int) -> Blanched:
    """A blanching; the same one is asked again while a making is sized."""
    return blanch(shape, [water] * times)


def _splitting(step: Blanch, result: Blanched) -> str:
    if result.splitting_helps:
        return "fresh waters take more than one water of the same time"
    return "several waters take hardly more than one of the same time; taste decides" if step.times > 1 else ""


def blanched(step: Blanch, work: Work) -> None:
    """Scald all that is in work; dissolved matter goes into the water, and as much water comes in.

    Notes
    -----
    The mass stays: fruit in water neither swells nor shrinks by more than a few per cent, and nothing readable says by
    how much. Shape and size are those of the candying that follows, else cubes of 16 mm.
    """
    parts = work.gather("blanch")
    total = sum(part.total for part in parts)
    ratio = _WATERS if step.water is None else step.water / total
    later = [one for one in work.component.steps[work.step + 1 :] if isinstance(one, Candy)]
    shape = piece_shape(later[0].piece, later[0].size) if later else piece_shape(_PIECE, _SIZE)
    if step.piece:
        shape = piece_shape(step.piece, step.size)
    water = BlanchWater(ratio=round(ratio, _SAME), temperature=step.temperature, duration=step.duration)
    result = _washed(shape, water, step.times)
    left = result.left[-1]
    for part in parts:
        gone = dissolved(part.mass) * (1 - left)
        part.mass = part.mass - gone
        part.mass[_C.WATER] += float(gone.sum())
    for basis in result.basis:
        work.stands_on(basis)
    for finding in result.findings:
        work.say(replace(finding, where=finding.where or work.at))
    work.tells(
        "washed_left",
        "soluble bitterness left by the blanch",
        Figure(
            value=100 * left,
            unit="%",
            low=100 * min(result.low, result.high),
            high=100 * max(result.low, result.high),
            basis=result.basis,
            note=_splitting(step, result),
        ),
    )
    work.pass_time(parts, step.temperature, 0.0, "blanch")
    work.pass_time(parts, step.temperature, step.duration * step.times, "blanch")
