"""The dips of one piece in their order: each meets the piece as the dip before has left it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from demoule.errors import BadInput
from demoule.figures import Finding
from demoule.formula.cooked import Cooked
from demoule.physics.coating import Coating, coating_of
from demoule.physics.dipping import FOOT, Core, Shell, ShellFactors, dip, second_dip
from demoule.physics.freeze_on import refuse_warm_piece
from demoule.piece.around import Around
from demoule.piece.built import Layer
from demoule.piece.coats import GEOMETRY, Coat, coat_of_thickness
from demoule.piece.design import Dip
from demoule.units import Fraction

__all__ = ["FROZEN_HEAT_CAPACITY", "MOUSSE_AIR", "Dips", "frozen_effusivity"]

FROZEN_GEL, FROZEN_MOUSSE, MOUSSE_AIR = 2700.0, 1500.0, 0.30
"""Effusivity of a frozen gel and of a frozen mousse of 30 % air [W s^0.5/(m2 K)]: judged."""

FROZEN_HEAT_CAPACITY = 4500.0  # J/(kg K) at about −20 °C, melting ice counted: judged


def frozen_effusivity(air: Fraction) -> float:
    """Effusivity of a frozen mix by its share of air, from that of a gel to that of a mousse [W s^0.5/(m2 K)]."""
    return max(FROZEN_GEL - (FROZEN_GEL - FROZEN_MOUSSE) / MOUSSE_AIR * air, 900.0)


class Dips:
    """Takes the dips of a piece one after the other."""

    def __init__(self, inside: Sequence[Layer]) -> None:
        self._mass = sum(layer.mass for layer in inside)
        self._air = inside[-1].air
        self._last: tuple[Shell, Coating, Core] | None = None
        self._here = False

    @property
    def shell(self) -> Shell | None:
        """What the model tells of the last dip; None when it knows nothing about it."""
        return self._last[0] if self._last is not None and self._here else None

    def coat(
        self, under: Around, skin: Dip, mix: Cooked, stated: Coat | None, learned: ShellFactors | None
    ) -> tuple[Coat, tuple[Finding, ...]]:
        """The coat of the next dip: as stated, or else as the dipping model gives it."""
        if stated is not None:
            # What the chef states needs no model; the model only keeps it as the ground of a next dip.
            try:
                shell, coating, core = self._shell(under, skin, mix, learned)
            except BadInput:
                self._last, self._here = None, False  # a gel, a glaze or a bath the model knows nothing about
            else:
                foot = (FOOT[0] * stated.mass, FOOT[1] * stated.mass)
                told = replace(shell, thickness=stated.thickness, mass=stated.mass, foot=foot, learned_from="")
                self._last, self._here = (told, coating, core), True
            self._mass += stated.mass
            return stated, ()
        shell, coating, core = self._shell(under, skin, mix, learned)
        even = coat_of_thickness(under, shell.thickness, mix)
        mass = even.volume * coating.density
        self._last, self._here = (shell, coating, core), True
        self._mass += mass
        coat = Coat(
            around=even.around,
            volume=even.volume,
            mass=mass,
            thickness=shell.thickness,
            taken=mass,
            stated=False,
            thickness_low=shell.thickness_low,
            thickness_high=shell.thickness_high,
            basis=(*shell.basis, GEOMETRY),
        )
        return coat, tuple(replace(found, where=skin.where) for found in shell.findings)

    def _shell(
        self, under: Around, skin: Dip, mix: Cooked, learned: ShellFactors | None
    ) -> tuple[Shell, Coating, Core]:
        coating = coating_of(mix.composition)
        refuse_warm_piece(coating, skin.piece)
        core = self._core(under, skin)
        if self._last is None:
            shell = dip(coating, core, bath=skin.bath, duration=skin.duration, lift=skin.lift, learned=learned)
        else:
            first, first_coating, first_core = self._last
            shell = second_dip(
                first,
                first_coating,
                coating,
                first_core,
                bath=skin.bath,
                duration=skin.duration,
                piece=skin.piece,
                lift=skin.lift,
                learned=learned,
            )
        return shell, coating, core

    def _core(self, under: Around, skin: Dip) -> Core:
        return Core(
            area=under.area,
            curvature=under.curvature,
            temperature=skin.piece,
            effusivity=frozen_effusivity(self._air),
            mass=self._mass,
            heat_capacity=FROZEN_HEAT_CAPACITY,
        )
