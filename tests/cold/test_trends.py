"""What must hold for any piece and any room."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.cold.evidence import reference_matter
from demoule.cold.matter import Matter

# 0.3 %: twice the error of the core time on a 2 mm grid when the grid moves under the outline.
SLACK = 0.997
FEW = settings(max_examples=12, deadline=None)


@FEW
@given(radius=st.floats(0.012, 0.04), more=st.floats(1.03, 1.6), heart=st.floats(0.2, 0.8))
def test_a_larger_piece_never_freezes_faster(cooled, radius, more, heart):
    small = cooled(radius, heart, until=255.15, step=radius / 14)
    large = cooled(more * radius, heart, until=255.15, step=more * radius / 14)
    assert large.met > SLACK * small.met


@FEW
@given(air=st.floats(225.0, 250.0), colder=st.floats(1.0, 25.0))
def test_colder_air_is_never_slower(cooled, air, colder):
    warm = cooled(air=air, until=255.15)
    cold = cooled(air=air - colder, until=255.15)
    assert cold.met < warm.met / SLACK


@FEW
@given(h=st.floats(3.0, 60.0), more=st.floats(1.05, 3.0))
def test_a_harder_room_is_never_slower(cooled, h, more):
    assert cooled(h=more * h, until=255.15).met < cooled(h=h, until=255.15).met / SLACK


@FEW
@given(start=st.floats(274.0, 330.0), warmer=st.floats(1.0, 30.0))
def test_a_warmer_filling_is_never_faster(cooled, start, warmer):
    assert cooled(start=start + warmer, until=255.15).met > SLACK * cooled(start=start, until=255.15).met


@FEW
@given(until=st.floats(245.0, 268.0), colder=st.floats(0.5, 6.0))
def test_a_colder_target_is_never_reached_earlier(cooled, until, colder):
    assert cooled(until=until - colder).met > cooled(until=until).met


def test_a_warmer_refrigerator_thaws_faster(cooled):
    times = [cooled(start=253.15, air=air, h=8.0, until=271.15).met for air in (275.15, 277.15, 280.15)]
    assert times[0] > times[1] > times[2]


def test_heat_given_off_is_the_change_of_heat_content_of_the_mixes(cooled):
    # From the tables of the mixes alone, without the solver: what a piece holds at both temperatures.
    matters = [reference_matter("B"), reference_matter("A")]
    track = cooled(start=288.15, air=248.15, at_most=1e6)
    volume = 4 / 3 * np.pi * 0.0267**3
    held = sum(
        matter.density * share * volume * (matter.enthalpy_at(288.15) - matter.enthalpy_at(248.15))
        for matter, share in zip(matters, (0.125, 0.875), strict=True)
    )
    # 0.2 %: sixteenths of a cell, straight pieces of the outline, and 0.01 K left at the end.
    assert -track.gained == pytest.approx(held, rel=2e-3)


def test_more_latent_heat_takes_longer(cooled):
    thick = reference_matter("A")
    lean = Matter(
        name="lean",
        density=thick.density,
        temperature=thick.temperature,
        enthalpy=thick.enthalpy * 0.8,
        conductivity=thick.conductivity,
        ice=thick.ice,
        water=thick.water,
        freezing_point=thick.freezing_point,
    )
    full = cooled(until=255.15, matters=(thick, thick)).met
    less = cooled(until=255.15, matters=(lean, lean)).met
    assert less < 0.85 * full
