"""What the coats do to the frozen piece under them: the heat they bring, and the warmth it comes to."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from demoule.composition import Composition
from demoule.errors import BadInput
from demoule.figures import Basis, basis_of
from demoule.physics.coating import coating_of
from demoule.physics.heat import enthalpy
from demoule.piece.built import Layer
from demoule.piece.design import Dip, Skin, Spray
from demoule.units import FloatArray, Joule, Kelvin, Kilogram

__all__ = ["FROZEN_BACK", "Frozen"]

FROZEN_BACK: Kelvin = 253.15
"""Temperature to which a piece is taken back before it is coated, where a dip does not tell it (practice)."""

_GUN: Kelvin = 313.15  # of a fatty mix as it leaves the gun, and of a glaze (practice)
_GLAZE: Kelvin = 338.15
_GRID = np.linspace(203.15, 323.15, 241)


class Frozen:
    """The piece under its coats, by its heat content; every coat laid on joins it."""

    def __init__(self, inside: Sequence[Layer]) -> None:
        self._heat: FloatArray = sum(
            (layer.mass * _content(layer.composition) for layer in inside), np.zeros(len(_GRID))
        )
        self._piece = FROZEN_BACK

    def coated(self, skin: Skin, mass: Kilogram, composition: Composition, extra: Joule) -> tuple[Joule, Kelvin, Basis]:
        """Heat a coat brings [J], and the temperature of piece and coat after they have equalised [K].

        Parameters
        ----------
        skin
            Each coat meets the piece frozen back to the temperature that its dip tells, a spray to that of the dip
            before it.
        extra
            Heat that came in beside what the coat itself gives: from the bath that flowed past [J].

        Notes
        -----
        The energy balance alone: heat content of the layers with their melting ice, and of the coat, before and after.
        """
        if isinstance(skin, Dip):
            self._piece = skin.piece
        gives = self._given(skin, mass, composition)
        start = float(np.interp(self._piece, _GRID, self._heat))
        excess = self._heat - start - gives - extra
        # Both terms rise with temperature, so that the balance is met once.
        after = float(np.interp(0.0, excess, _GRID))
        brought = float(np.interp(after, _GRID, gives)) + extra
        self._heat = self._heat + mass * _content(composition)
        return brought, after, basis_of(enthalpy)

    def _given(self, skin: Skin, mass: Kilogram, composition: Composition) -> FloatArray:
        """Heat that the coat gives off down to each temperature of the grid [J]."""
        try:
            coating = coating_of(composition)
        except BadInput:  # a gel or a glaze
            at = skin.at if isinstance(skin, Spray) and skin.at is not None else _GLAZE
            content = np.asarray(enthalpy(composition.vector, np.append(_GRID, at)))
            return np.asarray(mass * (content[-1] - content[:-1]))
        warm = skin.bath if isinstance(skin, Dip) else (skin.at if skin.at is not None else _GUN)
        return mass * np.array([coating.heat_given(warm, float(t)) for t in _GRID])


@lru_cache(maxsize=256)
def _content(composition: Composition) -> FloatArray:
    """Heat content by temperature of the grid [J/kg]."""
    return np.asarray(enthalpy(composition.vector, _GRID))
