from __future__ import annotations

import pytest

from demoule.cold.bands import band

NAMES = {"surface": "air", "conductivity": "mix"}


def test_differences_add_by_squares_and_the_wider_is_named():
    low_high = band(100.0, lambda h, k: 100.0 / h + 40.0 / k - 40.0, surface=0.25, names=NAMES)
    down = ((100 / 1.25 - 100) ** 2 + (40 / 1.2 - 40) ** 2) ** 0.5
    up = ((100 / 0.75 - 100) ** 2 + (40 / 0.8 - 40) ** 2) ** 0.5
    assert low_high.low == pytest.approx(100 - down)
    assert low_high.high == pytest.approx(100 + up)
    assert low_high.weakest == "air"
    assert band(100.0, lambda h, k: 100 / h**0.1 + 40 / k - 40, surface=0.25, names=NAMES).weakest == "mix"


def test_a_coarser_reference_is_scaled_to_the_time():
    fine = band(200.0, lambda h, k: 100.0 / h, surface=0.25, names=NAMES, reference=100.0)
    assert fine.high == pytest.approx(200 / 0.75)


def test_an_end_that_a_weaker_room_never_reaches_has_no_upper_end():
    found = band(100.0, lambda h, k: None if h < 1 else 100 / h, surface=0.3, names=NAMES)
    assert found.low == pytest.approx(100 / 1.3)
    assert found.high is None
    assert found.weakest == "air"


def test_without_a_time_there_is_no_band():
    found = band(None, lambda h, k: None, surface=0.3, names=NAMES)
    assert found.low is None
    assert found.high is None
