"""The life of a piece in the cold: harden the heart, harden the piece around it, keep, let stand, thaw."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.airing import has_pulses
from demoule.cold.bands import conductivity_band
from demoule.cold.bodies import COATS, Part, body_from, coat_wall, conducting, heart_parts, mould_wall, piece_parts
from demoule.cold.loading import load
from demoule.cold.marks import SLUMPS
from demoule.cold.programme import HARDENING, Programme, Room, Stage
from demoule.cold.run import ColdRun, Mark, StageRun
from demoule.cold.softness import softness_words
from demoule.cold.stages import COARSE, Dress, Opening, Snapshot, Thing, run_stage
from demoule.cold.surface import moisture_heating, surface_coefficient
from demoule.errors import BadInput, DemouleError, UnknownName
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.memory import Memory
from demoule.physics.heat import conductivity, enthalpy, heat_stretched
from demoule.units import ZERO_CELSIUS, Joule, Kelvin, Second

if TYPE_CHECKING:
    from demoule.formula.cooked import Cooked
    from demoule.piece import Mould, Piece

__all__ = ["Life", "opening", "run_programme"]

_FROZEN: Kelvin = 255.15  # −18 °C, of hearts and pieces from a store that is not told
_CORE_PAST: Kelvin = 275.15  # 2 °C, where no window to eat is told
_LITTLE = 0.05  # of the mass: a thin disc of light crumb outside the range tried moves no hours (judged)
_SHORT: Second = 1800.0  # a window that nobody can serve in
_TWO_PLACES = ("heart", "inner heart")


@published(
    gives="temperatures, ice and hours of a layered piece in its rooms",
    source="hundsdorfer-verwer-2003",
    valid="round bodies and closed meshes; nothing flows inside, no supercooling, the load does not warm the room",
    error="0.5 % of the equations; surface coefficients and conductivities make 20 to 40 %",
    status=Status.RECALLED,
)
def run_programme(
    piece: Piece,
    cooked: Mapping[str, Cooked],
    programme: Programme,
    rooms: Sequence[Room],
    *,
    filled_at: Mapping[str, Kelvin] | None = None,
    kitchen_air: Kelvin = 295.15,
    memory: Memory | None = None,
    bands: bool = True,
    pieces: int | None = None,
) -> ColdRun:
    """Take a piece through the stages of its programme.

    Parameters
    ----------
    cooked
        Every component, for the temperature at which it goes into the mould.
    rooms
        Of the kitchen; a stage names one, or brings its own.
    filled_at
        By component, wins over the temperature at the end of its steps [K].
    kitchen_air
        Where moulds and bases stand before they are filled [K].
    memory
        Where stages are kept, so that one whose piece, room and past did not change is not run again.
    bands
        Whether each time gets its band; without, each stage is run once.
    pieces
        Made at once: hardening stages are run a second time with all their trays in the room, as far as there are
        moulds; None: one piece alone.

    Raises
    ------
    UnknownName
        A stage in a room that the kitchen does not have.
    BadInput
        Temperatures below absolute zero, sizes, times or coefficients not above zero, a mould thicker than the piece.
    """
    if not (programme.grid > 0 and programme.tolerance > 0):
        raise BadInput("Grid and tolerance of the cold room must be above zero.", remedy="leave them out.")
    life = Life(piece, cooked, programme, rooms, filled_at or {}, kitchen_air, memory or Memory(most=0), bands, pieces)
    runs: list[StageRun] = []
    for stage in programme.stages:
        try:
            run = life.run(stage)
        except DemouleError as error:
            raise error.at(stage.where or f"cold, {stage.what}") from None
        if run is not None:
            runs.append(run)
    findings = [finding for run in runs for finding in _findings(run)]
    return ColdRun(stages=tuple(runs), findings=tuple(findings))


def opening(
    piece: Piece,
    cooked: Mapping[str, Cooked],
    programme: Programme,
    rooms: Sequence[Room],
    what: str,
    *,
    filled_at: Mapping[str, Kelvin] | None = None,
    kitchen_air: Kelvin = 295.15,
) -> Opening:
    """The first stage of a name about to begin, all stages before it run.

    Raises
    ------
    UnknownName
        A stage that the programme does not have, or a room that the kitchen does not have.
    """
    life = Life(piece, cooked, programme, rooms, filled_at or {}, kitchen_air, Memory(most=0), bands=False)
    for stage in programme.stages:
        if stage.what == what:
            found = life.opening(stage)
            if found is not None:
                return found
        life.run(stage)
    raise UnknownName("stage", what, [stage.what for stage in programme.stages])


@dataclass(slots=True, kw_only=True)
class _Past:
    """What a thing went through, as a key, and where it stands; the thing itself only once it is needed."""

    key: Hashable
    parts: tuple[Part, ...]
    start: tuple[Kelvin, ...]
    thing: Thing | None
    after: Snapshot | None


class Life:
    """The piece on its way from stage to stage."""

    def __init__(
        self,
        piece: Piece,
        cooked: Mapping[str, Cooked],
        programme: Programme,
        rooms: Sequence[Room],
        filled_at: Mapping[str, Kelvin],
        kitchen_air: Kelvin,
        memory: Memory,
        bands: bool = True,
        pieces: int | None = None,
    ) -> None:
        self.piece, self.cooked, self.programme = piece, cooked, programme
        self.rooms = {room.name: room for room in rooms}
        self.filled_at, self.kitchen_air = filled_at, kitchen_air
        self.memory, self.bands, self.pieces = memory, bands, pieces
        self.frozen_heart: Kelvin | None = None
        self.whole: _Past | None = None
        self.finished = False  # dipped and sprayed
        self.hardened = False
        # Core and mean of the body from which on a piece on the table is past its best.
        thaws = [stage for stage in programme.stages if stage.ready is not None]
        self.best = (
            thaws[0].ready[1] if thaws and thaws[0].ready else _CORE_PAST,
            thaws[0].ready_body[1] if thaws and thaws[0].ready_body else SLUMPS,
        )
        airs = []
        for stage in programme.stages:
            try:
                airs.append(self._room(stage).air)
            except UnknownName as error:
                raise error.at(stage.where or f"cold, {stage.what}") from None
        self.setting: Hashable = (
            tuple(airs),
            kitchen_air,
            programme.grid,
            programme.tolerance,
            programme.stills,
            programme.conduction,
            bands,
        )

    def run(self, stage: Stage) -> StageRun | None:
        """One stage, from where the last one ended; None for a heart that is not there."""
        coming = self._coming(stage)
        if coming is None:
            return None
        past, mould, assumed = coming
        run, after = self._kept(past, stage, self._room(stage), mould, assumed)
        if stage.what == "harden heart":
            self.frozen_heart = run.ended[1]
        else:
            self.whole = after
        return run

    def opening(self, stage: Stage) -> Opening | None:
        """A stage about to begin; None for a heart that is not there."""
        coming = self._coming(stage)
        if coming is None:
            return None
        past, mould, assumed = coming
        return self._opened(stage, self._room(stage), self._standing(past), mould, assumed)

    def _coming(self, stage: Stage) -> tuple[_Past, Mould | None, tuple[str, ...]] | None:
        """What comes into a stage, in which mould, and what is assumed of it."""
        _check(stage)
        if stage.what == "harden heart":
            parts = self._conducting(heart_parts(self.piece))
            if not parts:
                return None
            start = [*[_FROZEN] * (len(parts) - 1), self._filling(parts[-1].component)]
            return self._begun(parts, start), self.piece.heart_mould, ()
        assumed: tuple[str, ...] = ()
        if self.whole is None:
            parts = self._conducting(piece_parts(self.piece))
            start, assumed = self._put_together(parts, hard=stage.what != "harden piece")
            self.whole = self._begun(parts, start)
        if stage.what == "dip and spray":
            if self.finished:
                raise BadInput("The piece is dipped and sprayed twice.", remedy="keep one of the two stages.")
            brought = self._warmth()
            if brought:
                assumed = (f"the coats bring {brought / 1000:.1f} kJ, which the outer 3 mm take first",)
        if stage.what in ("keep", "thaw", "table") and not self.finished:
            self.finished = True
            at = self.piece.coated_at
            if at is not None and self.hardened:
                # Dipped and sprayed in between: the coats have warmed it, and its warmth has evened out.
                self.whole = self._begun(self.whole.parts, [at] * len(self.whole.parts))
                assumed = (f"the coats leave the piece at {_degrees(at)} throughout",)
        self.hardened = self.hardened or stage.what == "harden piece"
        return self.whole, self.piece.mould, assumed

    def _conducting(self, parts: tuple[Part, ...]) -> tuple[Part, ...]:
        """Parts that conduct as this kitchen has learned."""
        learned = self.programme.conduction
        if learned is None:
            return parts
        return tuple(replace(part, matter=conducting(part.matter, learned.factor)) for part in parts)

    def _standing(self, past: _Past) -> Thing:
        """The thing at the end of its past."""
        if past.thing is None:
            past.thing = self._thing(past.parts, past.start)
            if past.after is not None:
                past.thing.restore(past.after)
        return past.thing

    def _begun(self, parts: Sequence[Part], start: Sequence[Kelvin]) -> _Past:
        """A thing at the beginning of its way."""
        made = tuple(
            (part.role, part.component, part.outline, part.solid, part.mass, layer.composition, layer.air)
            for part in parts
            for layer in self.piece.layers
            if (layer.role, layer.component) == (part.role, part.component)
        )
        return _Past(
            key=(made, tuple(start), self.setting),
            parts=tuple(parts),
            start=tuple(start),
            thing=None,
            after=None,
        )

    def _kept(
        self, past: _Past, stage: Stage, room: Room, mould: Mould | None, assumed: tuple[str, ...]
    ) -> tuple[StageRun, _Past]:
        """A stage run, or remembered; and the past of what comes next."""
        coats: Hashable = ()
        coated = stage.what == "dip and spray"
        if self.finished or coated:
            coats = tuple(
                (one.component, one.composition, one.air, one.mass, one.area, one.thickness, one.volume)
                for one in self.piece.layers
                if one.role in COATS
            )
        trays, each = self._trays(stage)
        key = (past.key, stage, room, mould, coats, assumed, trays, each, self.best if stage.what == "table" else ())

        def run() -> tuple[StageRun, Snapshot]:
            thing = self._standing(past)
            opened = self._opened(stage, room, thing, mould, assumed)
            before = thing.snapshot()
            stayed = self.stay(opened)
            if trays:
                after = thing.snapshot()
                thing.restore(before)
                alone = Mark(time=stayed.time, low=stayed.low, high=stayed.high, weakest=stayed.weakest)
                full = load(opened, each * trays, trays, alone, kitchen_air=self.kitchen_air, bands=self.bands)
                stayed = replace(stayed, loaded=full)
                thing.restore(after)
            if coated:
                thing.take(self._warmth())
            return stayed, thing.snapshot()

        made, after = self.memory.recall(run_stage, key, run)
        self.finished = self.finished or coated
        # The thing itself stands at the end of this stage only if it was run now.
        thing = past.thing if past.thing is not None and past.thing.at(after) else None
        return made, _Past(key=key, parts=past.parts, start=past.start, thing=thing, after=after)

    def _warmth(self) -> Joule:
        """What the coats bring to the piece [J]."""
        return sum(layer.heat or 0.0 for layer in self.piece.layers if layer.role in COATS)

    def _trays(self, stage: Stage) -> tuple[int, int]:
        """Trays that a hardening stage has at once, and cavities of each; 0: one alone is followed."""
        heart = stage.what == "harden heart"
        mould = self.piece.heart_mould if heart else self.piece.mould
        if self.pieces is None or stage.what not in HARDENING or mould is None or mould.per_tray < 1:
            return 0, 0
        wanted = self.pieces * (max(self.piece.hearts_per_piece, 1) if heart else 1)
        return min(math.ceil(wanted / mould.per_tray), max(mould.owned, 1)), mould.per_tray

    def stay(self, opening: Opening) -> StageRun:
        """What a stage gives, and the thing moved on to its end."""
        return run_stage(
            opening.thing,
            opening.stage,
            opening.room,
            opening.dress,
            opening.surface,
            tolerance=self.programme.tolerance,
            assumed=opening.assumed,
            basis=opening.basis,
            bands=self.bands,
            stills=self.programme.stills,
            kitchen_air=self.kitchen_air,
            best=self.best,
            conductivity=opening.conductivity,
        )

    def _opened(self, stage: Stage, room: Room, thing: Thing, mould: Mould | None, assumed: tuple[str, ...]) -> Opening:
        start = thing.surface
        surface = surface_coefficient(room, thing.diameter, 0.5 * (start + room.air))
        in_mould = stage.what in HARDENING if stage.in_mould is None else stage.in_mould
        words = [*surface.assumed, *assumed]
        if in_mould:
            at = min(self.kitchen_air, start) if start > room.air else start
            dress = Dress(name="mould", wall=mould_wall(mould, at), open_foot=mould is None or not mould.two_part)
            words.append(_mould_words(mould, stage))
        else:
            coats = coat_wall(self.piece, start, room.air) if self.finished else None
            dress = Dress(name="coats" if coats else "bare", wall=coats, open_foot=False)
            if stage.contact is None:
                words.append("the foot takes as much heat as the rest of the surface")
        if room.humidity is not None:
            words.append("what settles of the moisture stays on the piece")
        words.append(
            "the load does not warm the room, whose air jumps as told"
            if has_pulses(stage, room)
            else "the load does not warm the room, and its door stays shut"
        )
        words.append("no supercooling before the first ice")
        learned = self.programme.conduction
        if learned is not None:
            share = f"{100 * learned.factor:.0f} % of what is computed"
            words.append(f"the mixes conduct {share}, as learned here ({learned.learned})")
        if stage.assumed:
            words.append(f"“{stage.what}” in “{room.name}” is not in the file; every such piece goes through it")
        return Opening(
            thing=thing,
            stage=stage,
            room=room,
            dress=dress,
            surface=surface,
            assumed=tuple(dict.fromkeys(words)),
            basis=(*self._basis(room, thing.parts), *surface.basis),
            conductivity=conductivity_band(learned),
        )

    def _basis(self, room: Room, parts: Sequence[Part]) -> tuple[Basis, ...]:
        here = {(part.role, part.component) for part in parts}
        layers = [layer for layer in self.piece.layers if (layer.role, layer.component) in here]
        beyond = sum(layer.mass for layer in layers if heat_stretched(layer.composition.vector, layer.air))
        stretched = beyond > _LITTLE * sum(layer.mass for layer in layers)
        basis = [
            basis_of(run_programme),
            basis_of(enthalpy, stretched=stretched),
            basis_of(conductivity, stretched=stretched),
        ]
        if room.humidity is not None:
            basis.append(basis_of(moisture_heating))
        return tuple(basis)

    def _room(self, stage: Stage) -> Room:
        if stage.own_room is not None:
            return stage.own_room
        if stage.room not in self.rooms:
            raise UnknownName("room", stage.room, self.rooms)
        return self.rooms[stage.room]

    def _filling(self, component: str) -> Kelvin:
        if component in self.filled_at:
            return self.filled_at[component]
        mix = self.cooked.get(component)
        return mix.temperature if mix is not None and mix.history else self.kitchen_air

    def _put_together(self, parts: Sequence[Part], *, hard: bool) -> tuple[list[Kelvin], tuple[str, ...]]:
        """Temperature of each layer of a piece put together, or taken `hard` from the store; and what is assumed."""
        store = next((self._room(stage).air for stage in self.programme.stages if stage.what == "keep"), _FROZEN)
        temperatures: list[Kelvin] = []
        assumed: list[str] = []
        for part in parts:
            heart = part.role in _TWO_PLACES
            if part.component in self.filled_at and (hard or not heart):
                temperatures.append(self.filled_at[part.component])
            elif hard:
                temperatures.append(store)
                assumed.append(f"the piece starts hard, at {_degrees(store)}")
            elif heart:
                temperatures.append(store if self.frozen_heart is None else self.frozen_heart)
                if self.frozen_heart is None:
                    assumed.append(f"the heart goes in frozen, at {_degrees(store)}")
            elif part.role == "base":
                temperatures.append(self.kitchen_air)
                assumed.append(f"the base goes in at {_degrees(self.kitchen_air)}")
            else:
                temperatures.append(self._filling(part.component))
        return temperatures, tuple(dict.fromkeys(assumed))

    def all_airs(self) -> list[Kelvin]:
        """Of the rooms of the programme [K]."""
        return [self._room(stage).air for stage in self.programme.stages]

    def _thing(self, parts: Sequence[Part], start: Sequence[Kelvin]) -> Thing:
        from demoule.cold.stay import State

        airs = self.all_airs()
        for what, values in (("A mix", start), ("The air of a room", airs), ("The kitchen", [self.kitchen_air])):
            for value in values:
                if not 100 < value < 450:
                    raise BadInput(
                        f"{what} would have {_degrees(value)}.",
                        remedy="give temperatures in °C or °F, between −100 and 150 °C.",
                    )
        low, high = min(*airs, *start, self.kitchen_air), max(*airs, *start, self.kitchen_air)
        fine = body_from(parts, self.programme.grid, low, high)
        coarse = fine if self.programme.grid >= COARSE else body_from(parts, COARSE, low, high)
        states = [
            State(heat=body.tables.heat_at(start), wall=np.full(len(body.grid.face_area), np.nan))
            for body in (fine, coarse)
        ]
        return Thing(
            parts=tuple(parts),
            fine=fine,
            coarse=coarse,
            fine_state=states[0],
            coarse_state=states[1],
            surface=float(start[-1]),
        )


def _check(stage: Stage) -> None:
    """Refuse an end that cannot be meant."""
    wanted = [] if stage.until is None else [stage.until.temperature]
    for temperature in [*wanted, *(stage.ready or ())]:
        if not 100 < temperature < 450:
            raise BadInput(
                f"An end at {_degrees(temperature)} cannot be meant.",
                remedy="give it in °C or °F, between −100 and 150 °C.",
            )
    if stage.until is not None and stage.until.place not in ("core", "mean", "surface"):
        raise BadInput(
            f"“{stage.until.place}” is no place of a piece that is watched.", remedy="write core, mean or surface."
        )
    if stage.ready is not None and not stage.ready[0] < stage.ready[1]:
        raise BadInput("The window to eat has no width.", remedy="write the colder temperature first: core −1 to 2 °C.")
    for what, time in (("time", stage.duration), ("longest time", stage.at_most)):
        if time is not None and not (time > 0 and np.isfinite(time)):
            raise BadInput(f"The {what} of a stage must be above zero.", remedy="write for instance 12 h.")
    if stage.contact is not None and not stage.contact > 0:
        raise BadInput("A contact coefficient of zero takes no heat.", remedy="give one above zero, or leave it out.")


def _findings(run: StageRun) -> Iterator[Finding]:
    """What a chef must know of a stage."""
    stage, room = run.stage, run.room
    where = stage.where or f"cold.{stage.what}"
    if run.time is None and stage.until is not None:
        never = (
            abs(run.ended[0] - room.air) < 1.0
            or (room.air - stage.until.temperature) * (run.started_at - stage.until.temperature) >= 0
        )
        yield Finding(
            severity=Severity.STOP if stage.what in HARDENING else Severity.CAUTION,
            rule="cold end not reached",
            where=where,
            says=f"In “{room.name}” ({_degrees(room.air)}) the {stage.until.place} does not come to "
            f"{_degrees(stage.until.temperature)}; it ends at {_degrees(run.ended[0])}.",
            why="a room only brings a piece to its own temperature."
            if never
            else "the longest time of the stage is over before.",
            remedy="name a colder room or an end that this room can reach."
            if stage.what in HARDENING
            else "name another room, another end or more time.",
        )
    if run.window is not None:
        wanted = _window_words(stage)
        if run.window.opens is None:
            yield Finding(
                severity=Severity.CAUTION,
                rule="cold window missed",
                where=where,
                says=f"In “{room.name}” the piece never comes into its window: {wanted}.",
                why="the piece stays too hard, or the time ends before.",
                remedy="thaw in a warmer room, or allow more time.",
            )
        elif run.window.closes is not None and run.window.closes - run.window.opens < _SHORT:
            minutes = (run.window.closes - run.window.opens) / 60
            yield Finding(
                severity=Severity.CAUTION,
                rule="cold window short",
                where=where,
                says=f"The piece stays in its window ({wanted}) for about {minutes:.0f} min only.",
                why="a service cannot be timed to it.",
                remedy="thaw in a colder room, or widen the window.",
            )


def _window_words(stage: Stage) -> str:
    """When a piece is ready to eat, as the chef told it."""
    words = [
        f"{place} {_degrees(window[0])} to {_degrees(window[1])}"
        for place, window in (("core", stage.ready), ("body", stage.ready_body))
        if window is not None
    ]
    words += [f"{one.layer} {softness_words(one.most, one.least)}" for one in stage.softened]
    return ", ".join(words)


def _mould_words(mould: Mould | None, stage: Stage) -> str:
    if mould is None:
        return "an open silicone mould with walls of 2.5 mm"
    kind = "two-part mould" if mould.two_part else "open mould" + (", covered" if stage.covered else ", its face bare")
    return f"{kind}, {mould.material} of {1000 * mould.wall:g} mm"


def _degrees(temperature: Kelvin) -> str:
    return f"{temperature - ZERO_CELSIUS:.0f} °C".replace("-", "−")
