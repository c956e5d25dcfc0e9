"""The dips of one piece in their order: each meets the piece as the dip before has left it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from demoule.errors import BadInput
from demoule.figures import Finding
from demoule.formula.cooked import Cooked
from demoule.physics.coat import integrated_mean_curvature
from demoule.physics.coating import Coating, coating_of
from demoule.physics.dipping import Core, Shell, ShellFactors, dip, second_dip
from demoule.piece import solids
from demoule.piece.built import Layer, Outline
from demoule.piece.coats import GEOMETRY, Coat, coat_of_thickness
from demoule.piece.design import Dip

__all__ = ["Dips"]

FROZEN_GEL, FROZEN_MOUSSE, MOUSSE_AIR = 2700.0, 1500.0, 0.30
"""Effusivity of a frozen gel and of a frozen mousse of 30 % air [W s^0.5/(m2 K)]: judged."""

FROZEN_HEAT_CAPACITY = 4500.0  # J/(kg K) at about −20 °C, melting ice counted: judged


class Dips:
    """Takes the dips of a piece one after the other."""

    def __init__(self, inside: Sequence[Layer]) -> None:
        self._mass = sum(layer.mass for layer in inside)
        self._air = inside[-1].air
        self._last: tuple[Shell, Coating, Core] | None = None

    def coat(
        self, under: Outline, skin: Dip, mix: Cooked, stated: Coat | None, learned: ShellFactors | None
    ) -> tuple[Coat, tuple[Finding, ...]]:
        """The coat of the next dip: as stated, or else as the dipping model gives it."""
        if stated is not None:
            # What the chef states needs no model; the model only keeps it as the ground of a next dip.
            try:
                shell, coating, core = self._shell(under, skin, mix, learned)
            except BadInput:
                self._last = None  # a gel, a glaze or a bath the model knows nothing about
            else:
                self._last = (replace(shell, thickness=stated.thickness, mass=stated.mass), coating, core)
            self._mass += stated.mass
            return stated, ()
        shell, coating, core = self._shell(under, skin, mix, learned)
        even = coat_of_thickness(under, shell.thickness, mix)
        mass = even.volume * coating.density
        self._last = (shell, coating, core)
        self._mass += mass
        coat = Coat(
            outline=even.outline,
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
        self, under: Outline, skin: Dip, mix: Cooked, learned: ShellFactors | None
    ) -> tuple[Shell, Coating, Core]:
        coating = coating_of(mix.composition)
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

    def _core(self, under: Outline, skin: Dip) -> Core:
        # Between a gel without air and a mousse of 30 % air, by the air of what lies at the surface.
        slope = (FROZEN_GEL - FROZEN_MOUSSE) / MOUSSE_AIR
        return Core(
            area=solids.area(under),
            curvature=integrated_mean_curvature(under),
            temperature=skin.piece,
            effusivity=max(FROZEN_GEL - slope * self._air, 900.0),
            mass=self._mass,
            heat_capacity=FROZEN_HEAT_CAPACITY,
        )
