"""The scheme: order, balance, robustness; exact solutions of the heat equation as its judge."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import j0

from demoule.cold.evidence import reference_matter
from demoule.cold.evidence.converged import converged_time
from demoule.cold.grid import FOOT, SIDE, TOP, cut
from demoule.cold.matter import Matter
from demoule.cold.published import rows
from demoule.cold.series import roots
from demoule.cold.stay import Air, State, Watch, body_of, stay
from demoule.cold.surface import moisture_table
from demoule.cold.walls import Side, Wall, faces

RADIUS, HALF, K, RHO, CP, FILM = 0.02, 0.015, 0.5, 1000.0, 3000.0, 40.0
PLAIN = Matter.plain("plain", density=RHO, specific_heat=CP, conductivity=K)


def mode(step: float, *, longest: float = 600.0, tolerance: float = 0.001, at_most: float = 300.0):
    """Largest error after a time, from a state whose exact solution is one product of modes that fades away (law)."""
    outline = np.array([[0.0, -HALF], [RADIUS, -HALF], [RADIUS, HALF], [0.0, HALF]])
    grid = cut(outline, [outline], step)
    body = body_of(grid, [PLAIN], 250.0, 310.0)
    z_r, z_z = (
        float(roots(shape, FILM * size / K, 1)[0]) / size for shape, size in (("cylinder", RADIUS), ("slab", HALF))
    )
    shape = 30.0 * j0(z_r * grid.r)[:, None] * np.cos(z_z * grid.z)[None, :]
    fades = np.exp(-K / (RHO * CP) * (z_r**2 + z_z**2) * at_most)
    held = grid.volume > 0
    start = np.where(held, RHO * CP * (260.0 + shape - 273.15), 0.0)
    table, wall = faces(grid, {kind: Side(film=FILM) for kind in (SIDE, FOOT, TOP)})
    track = stay(
        body,
        State(heat=start, wall=wall),
        table,
        Air.steady(260.0),
        until=None,
        at_most=at_most,
        tolerance=tolerance,
        longest=longest,
        level=0.0,
    )
    ours = body.tables.temperature_of(track.state.heat) - 260.0
    weight = grid.volume / grid.volume.sum()
    return float(np.sqrt((weight * (ours - shape * fades) ** 2).sum()))


def test_space_is_second_order():
    # Steps that divide both sizes, so that the same scheme is compared with itself.
    errors = [mode(step) for step in (0.0025, 0.00125, 0.000625)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert errors[0] < 0.15
    assert (orders > 1.7).all(), orders


def test_time_is_second_order():
    # Fixed steps: no tolerance holds them back; against the same grid with steps so short that they are exact.
    def final(longest):
        outline = np.array([[0.0, -HALF], [RADIUS, -HALF], [RADIUS, HALF], [0.0, HALF]])
        grid = cut(outline, [outline], 0.0025)
        body = body_of(grid, [PLAIN], 250.0, 310.0)
        table, wall = faces(grid, {kind: Side(film=FILM) for kind in (SIDE, FOOT, TOP)})
        state = State(heat=body.tables.heat_at([300.0]), wall=wall)
        track = stay(
            body, state, table, Air.steady(260.0), until=None, at_most=1024.0, tolerance=1e9, longest=longest, level=0.0
        )
        return body.tables.temperature_of(track.state.heat)

    exact = final(0.5)
    errors = [float(np.abs(final(step) - exact).max()) for step in (32.0, 16.0, 8.0)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert (orders > 1.6).all(), (errors, orders)


def test_a_finer_grid_and_a_finer_step_come_nearer_to_the_converged_times():
    table = [row for row in rows("converged_1d") if row["case"] in ("N1", "N4", "N5")]
    far = [abs(converged_time(row, 0.002, 0.03) / float(row["value"]) - 1) for row in table]
    near = [abs(converged_time(row, 0.001, 0.01) / float(row["value"]) - 1) for row in table]
    assert np.mean(near) < 0.5 * np.mean(far)


def test_two_millimetres_are_enough_for_a_slider():
    table = [*rows("converged_1d"), *rows("converged_2d")]
    off = [converged_time(row, 0.002) / float(row["value"]) - 1 for row in table]
    assert max(map(abs, off)) < 0.012


def test_no_heat_is_lost_inside_while_it_freezes(ball):
    # A warm mousse round a cold heart behind all but perfect insulation: what one gains the other loses.
    outer = ball(0.0267)
    grid = cut(outer, [ball(0.0134), outer], 0.001)
    body = body_of(grid, [reference_matter("B"), reference_matter("A")], 243.15, 293.15)
    table, wall = faces(grid, {kind: Side(film=1e-12) for kind in (SIDE, FOOT, TOP)})
    start = body.tables.heat_at([248.15, 288.15])
    track = stay(body, State(heat=start, wall=wall), table, Air.steady(270.0), until=None, at_most=7200.0)
    drift = float((grid.volume * (track.state.heat - start)).sum())
    moved = float((grid.volume * np.abs(track.state.heat - start)).sum())
    assert moved > 1000.0
    assert abs(drift) < 1e-11 * moved


@settings(max_examples=20, deadline=None)
@given(
    start=st.floats(243.0, 330.0),
    air=st.floats(233.0, 300.0),
    h=st.floats(2.0, 80.0),
    walled=st.booleans(),
    hours=st.floats(0.05, 6.0),
)
def test_heat_through_the_surface_is_the_change_of_heat_content(cooled, start, air, h, walled, hours):
    wall = Wall(thickness=0.0025, conductivity=0.22, heat_capacity=1.47e6, temperature=295.15) if walled else None
    track = cooled(start=start, air=air, h=h, wall=wall, at_most=3600 * hours)
    assert track.imbalance < 1e-9 or abs(track.gained) < 1e-6


def test_nothing_overshoots_the_room_and_the_start(cooled):
    for start, air in ((288.15, 238.15), (253.15, 277.15), (253.15, 295.0)):
        track = cooled(start=start, air=air, at_most=86400.0)
        seen = track.fields[:, track.fields[0] > 100]
        assert seen.min() > min(start, air) - 0.5
        assert seen.max() < max(start, air) + 0.5


def test_moisture_that_settles_warms_and_balances(ball):

    outer = ball(0.02)
    grid = cut(outer, [outer], 0.002)
    body = body_of(grid, [PLAIN], 250.0, 300.0)
    table, wall = faces(grid, {kind: Side(film=10.0, convective=0.6) for kind in (SIDE, FOOT, TOP)})
    state = State(heat=body.tables.heat_at([253.15]), wall=wall)
    watch = Watch(place="core", temperature=283.15, falls=False)
    times = []
    for humidity in (None, 0.5, 0.9):
        air = Air.steady(293.15) if humidity is None else Air.damp(293.15, *moisture_table(293.15, humidity))
        track = stay(body, state, table, air, until=watch, at_most=1e6)
        assert track.imbalance < 1e-9
        times.append(track.met)
    assert times[0] > times[1] > times[2]


def test_air_may_change_over_time(ball):

    outer = ball(0.02)
    grid = cut(outer, [outer], 0.002)
    body = body_of(grid, [PLAIN], 240.0, 300.0)
    table, wall = faces(grid, {kind: Side(film=200.0) for kind in (SIDE, FOOT, TOP)})
    state = State(heat=body.tables.heat_at([293.15]), wall=wall)
    # A door opened for half an hour: the air goes up and comes back.
    air = Air(temperature=np.array([253.15, 273.15, 253.15]), times=np.array([0.0, 1800.0, 3600.0]), moist=np.zeros(0))
    track = stay(body, state, table, air, until=None, at_most=40000.0)
    assert track.imbalance < 1e-9
    assert track.mean[-1] == pytest.approx(253.15, abs=0.1)
    warmest_late = track.mean[(track.time > 2000) & (track.time < 2600)].max()
    assert warmest_late > 262.0


def test_a_run_has_an_end_even_when_nothing_happens(cooled):
    track = cooled(start=260.0, air=260.0, until=250.0, at_most=1e12)
    assert track.met is None
    assert track.stopped == "levelled"
    assert len(track.time) < 50
