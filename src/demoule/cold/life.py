"""The life of a piece in the cold: harden the heart, harden the piece around it, keep, let stand, thaw."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from demoule.cold.bodies import Part, body_from, coat_wall, heart_parts, mould_wall, piece_parts
from demoule.cold.programme import Programme, Room, Stage
from demoule.cold.run import ColdRun, StageRun
from demoule.cold.stages import COARSE, Dress, Thing, run_stage
from demoule.cold.surface import moisture_heating, surface_coefficient
from demoule.errors import BadInput, DemouleError, UnknownName
from demoule.figures import Basis, Finding, Severity, Status, basis_of, published
from demoule.physics.heat import conductivity, enthalpy, heat_stretched
from demoule.units import ZERO_CELSIUS, Kelvin, Second

if TYPE_CHECKING:
    from demoule.formula.cooked import Cooked
    from demoule.piece import Mould, Piece

__all__ = ["run_programme"]

HARDENING = ("harden heart", "harden piece")
_FROZEN: Kelvin = 255.15  # −18 °C, of hearts and pieces from a store that is not told
_SHORT: Second = 1800.0  # a window that nobody can serve in
_TWO_PLACES = ("heart", "inner heart")


@published(
    gives="temperatures, ice and hours of a layered piece in its rooms",
    source="hundsdorfer-verwer-2003",
    valid="bodies of revolution; nothing flows inside, no supercooling, the load does not warm the room",
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

    Raises
    ------
    UnknownName
        A stage in a room that the kitchen does not have.
    BadInput
        Temperatures below absolute zero, sizes, times or coefficients not above zero, a mould thicker than the piece.
    """
    if not (programme.grid > 0 and programme.tolerance > 0):
        raise BadInput("Grid and tolerance of the cold room must be above zero.", remedy="leave them out.")
    life = _Life(piece, cooked, programme, rooms, filled_at or {}, kitchen_air)
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


class _Life:
    """The piece on its way from stage to stage."""

    def __init__(
        self,
        piece: Piece,
        cooked: Mapping[str, Cooked],
        programme: Programme,
        rooms: Sequence[Room],
        filled_at: Mapping[str, Kelvin],
        kitchen_air: Kelvin,
    ) -> None:
        self.piece, self.cooked, self.programme = piece, cooked, programme
        self.rooms = {room.name: room for room in rooms}
        self.filled_at, self.kitchen_air = filled_at, kitchen_air
        self.frozen_heart: Kelvin | None = None
        self.whole: Thing | None = None
        self.finished = False  # dipped and sprayed

    def run(self, stage: Stage) -> StageRun | None:
        """One stage, from where the last one ended; None for a heart that is not there."""
        room = self._room(stage)
        _check(stage)
        if stage.what == "harden heart":
            parts = heart_parts(self.piece)
            if not parts:
                return None
            start = [*[_FROZEN] * (len(parts) - 1), self._filling(parts[-1].component)]
            run = self._stay(stage, room, self._thing(parts, start), self.piece.heart_mould, ())
            self.frozen_heart = run.ended[1]
            return run
        assumed: tuple[str, ...] = ()
        if self.whole is None:
            parts = piece_parts(self.piece)
            start, assumed = self._put_together(parts, hard=stage.what != "harden piece")
            self.whole = self._thing(parts, start)
        self.finished = self.finished or stage.what in ("keep", "thaw")
        return self._stay(stage, room, self.whole, self.piece.mould, assumed)

    def _stay(self, stage: Stage, room: Room, thing: Thing, mould: Mould | None, assumed: tuple[str, ...]) -> StageRun:
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
        words += ["the load does not warm the room, and its door stays shut", "no supercooling before the first ice"]
        return run_stage(
            thing,
            stage,
            room,
            dress,
            surface,
            tolerance=self.programme.tolerance,
            assumed=tuple(dict.fromkeys(words)),
            basis=(*self._basis(room), *surface.basis),
        )

    def _basis(self, room: Room) -> tuple[Basis, ...]:
        layers = self.piece.layers
        stretched = any(bool(heat_stretched(layer.composition.vector, layer.air)) for layer in layers)
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

    def _thing(self, parts: Sequence[Part], start: Sequence[Kelvin]) -> Thing:
        from demoule.cold.stay import State

        airs = [self._room(stage).air for stage in self.programme.stages]
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
    if run.window is not None and stage.ready is not None:
        low, high = stage.ready
        if run.window.opens is None:
            yield Finding(
                severity=Severity.CAUTION,
                rule="cold window missed",
                where=where,
                says=f"In “{room.name}” the core never comes into the window of {_degrees(low)} to {_degrees(high)}.",
                why="the piece stays too hard, or the time ends before.",
                remedy="thaw in a warmer room, or allow more time.",
            )
        elif run.window.closes is not None and run.window.closes - run.window.opens < _SHORT:
            minutes = (run.window.closes - run.window.opens) / 60
            yield Finding(
                severity=Severity.CAUTION,
                rule="cold window short",
                where=where,
                says=f"The core stays within {_degrees(low)} to {_degrees(high)} for about {minutes:.0f} min only.",
                why="a service cannot be timed to it.",
                remedy="thaw in a colder room, or widen the window.",
            )


def _mould_words(mould: Mould | None, stage: Stage) -> str:
    if mould is None:
        return "an open silicone mould with walls of 2.5 mm"
    kind = "two-part mould" if mould.two_part else "open mould" + (", covered" if stage.covered else ", its face bare")
    return f"{kind}, {mould.material} of {1000 * mould.wall:g} mm"


def _degrees(temperature: Kelvin) -> str:
    return f"{temperature - ZERO_CELSIUS:.0f} °C".replace("-", "−")
