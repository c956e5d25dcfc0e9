"""Shares of a variance are those that published test functions have exactly, and those of an independent estimator."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from demoule.cold.sensitivity import variance_shares


def points(n, d, seed=1):
    return 2 * stats.qmc.Sobol(d=d, seed=seed).random(n) - 1


def test_shares_of_a_function_whose_shares_are_known_exactly():
    # sin x₁ + 7 sin² x₂ + 0.1 x₃⁴ sin x₁ over −π to π; variances in closed form [ishigami-homma-1990].
    a, b = 7.0, 0.1
    x = points(1024, 3)
    t = np.pi * x
    y = np.sin(t[:, 0]) + a * np.sin(t[:, 1]) ** 2 + b * t[:, 2] ** 4 * np.sin(t[:, 0])
    first = 0.5 * (1 + b * np.pi**4 / 5) ** 2
    second, both = a**2 / 8, b**2 * np.pi**8 * (1 / 18 - 1 / 50)
    total = first + second + both
    found = variance_shares(x, y)
    assert found.alone == pytest.approx([first / total, second / total, 0.0], abs=0.01)
    assert found.with_others == pytest.approx([(first + both) / total, second / total, both / total], abs=0.01)
    assert found.foretold > 0.98


def test_shares_agree_with_an_independent_estimator():
    # The estimator of scipy samples in its own way and fits nothing [saltelli-2010].
    def hours(x):
        size, air, blows = x
        return (1 + 0.3 * size) ** 2 / (8 + air) * (0.4 + 1 / (1.5 + blows))

    other = stats.sobol_indices(
        func=lambda x: hours(x)[None, :], n=4096, dists=[stats.uniform(-1, 2)] * 3, rng=np.random.default_rng(2)
    )
    x = points(256, 3)
    found = variance_shares(x, hours(x.T))
    assert found.alone == pytest.approx(other.first_order.ravel(), abs=0.02)
    assert found.with_others == pytest.approx(other.total_order.ravel(), abs=0.02)


def test_a_product_counts_for_both_of_its_factors_together():
    x = points(128, 2)
    found = variance_shares(x, x[:, 0] * x[:, 1])
    assert found.alone == pytest.approx([0.0, 0.0], abs=1e-6)
    assert found.with_others == pytest.approx([1.0, 1.0], abs=1e-6)


def test_no_share_is_guessed():
    x = points(64, 2)
    assert variance_shares(x, np.full(64, 3.0)) is None
    assert variance_shares(x[:4], x[:4, 0]) is None
    assert variance_shares(x, np.random.default_rng(0).normal(size=64)) is None
