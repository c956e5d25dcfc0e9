"""What tests of several layers share: an invented fruit that is not round."""

from __future__ import annotations

import numpy as np
import pytest


def ribbed(
    volume: float = 90e-6, ribs: int = 5, deep: float = 0.12, flat: float = 0.14
) -> tuple[np.ndarray, np.ndarray]:
    """An invented fruit by formula: a drop on a level foot, ribbed, and flattened on one side.

    Corners [m], shape (n, 3), on height 0, and facets (m, 3); it holds `volume` [m3].
    """
    around, up = 96, 48
    turn = 2 * np.pi * np.arange(around) / around
    low = -np.arccos(0.45)
    angle = low + (np.pi / 2 - low) * np.linspace(0.0, 1.0, up + 1)[:-1]
    swell = np.sin(np.pi * np.linspace(0.1, 1.0, up + 1))[:-1]
    radius = np.cos(angle) * (1 - 0.25 * np.clip(np.sin(angle), 0, 1) ** 2)
    points = [np.zeros((1, 3))]
    for r, z, s in zip(radius, 1.15 * (np.sin(angle) - np.sin(low)), swell, strict=True):
        out = r * (1 + deep * s * np.cos(ribs * turn) - flat * s * np.cos(turn))
        points.append(np.column_stack([out * np.cos(turn), out * np.sin(turn), np.full(around, z)]))
    points.append(np.array([[0.0, 0.0, 1.15 * (1 - np.sin(low))]]))
    all_points = np.vstack(points)
    here = np.arange(around)
    after = (here + 1) % around
    last = len(all_points) - 1
    facets = [np.column_stack([np.zeros(around, int), 1 + after, 1 + here])]
    for row in range(up - 1):
        a, b = 1 + row * around + here, 1 + row * around + after
        facets += [np.column_stack([a, b, b + around]), np.column_stack([a, b + around, a + around])]
    top = 1 + (up - 1) * around
    facets.append(np.column_stack([top + here, top + after, np.full(around, last)]))
    found = np.vstack(facets)
    a, b, c = (all_points[found[:, k]] for k in range(3))
    held = np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6
    return all_points * (volume / held) ** (1 / 3), found


@pytest.fixture(scope="session")
def ribbed_fruit():
    """The invented fruit, by its volume, its ribs and how deep they are."""
    return ribbed
