import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.formula import Chill, Cool, Freeze, Heat, Pan, Rest, SetGel, Surroundings, cook
from demoule.formula.matter import heat_capacity, mix_density
from demoule.formula.warmth import cooling, freezing, heating_time
from demoule.physics.heat import conductivity

WATER = Composition.of({Constituent.WATER: 1.0})
PUREE = Composition.of({Constituent.WATER: 0.85, Constituent.SUCROSE: 0.15})


def test_heating_water_takes_its_enthalpy():
    # Source: IAPWS-95 through CoolProp, 1 kg from 20 to 95 °C at one atmosphere. Status: read.
    heat = PropsSI("H", "T", 368.15, "P", 101325, "Water") - PropsSI("H", "T", 293.15, "P", 101325, "Water")
    assert heating_time(1.0, WATER, 293.15, 368.15, 1000.0) == pytest.approx(heat / 1000.0, rel=0.01)


def slab_mean(time, biot, half, diffusivity):
    """Mean of a slab with surface resistance: the exact series (Carslaw and Jaeger), 30 terms."""
    roots = [brentq(lambda q: q * np.tan(q) - biot, k * np.pi + 1e-9, k * np.pi + np.pi / 2 - 1e-9) for k in range(30)]
    q = np.array(roots)
    terms = 2 * biot**2 / (q**2 * (biot**2 + biot + q**2))
    return float((terms * np.exp(-(q**2) * diffusivity * time / half**2)).sum())


@pytest.mark.parametrize("depth", [0.01, 0.02, 0.04, 0.06])
def test_a_thin_layer_cools_as_the_exact_slab(depth):
    # Source: the slab with surface resistance, series by its roots (exact). The lump keeps the first root only, and
    # that as Bi/(1 + Bi/3): within 1 % in time up to a Biot number of 0.6.
    room = Chill(name="cold", air=276.15, surface=10.0)
    area = 0.1
    density, capacity = mix_density(PUREE), heat_capacity(PUREE, (368.15 + 283.15) / 2)
    mass = density * area * depth
    times, temperatures = cooling(mass, PUREE, 368.15, 283.15, room, Pan(name="", open_area=area))
    conduction = float(conductivity(PUREE.vector, (368.15 + 283.15) / 2))
    biot = 10.0 * depth / 2 / conduction
    left = slab_mean(times[-1], biot, depth / 2, conduction / (density * capacity))
    reached = 276.15 + left * (368.15 - 276.15)
    rate = (temperatures[-2] - temperatures[-1]) / (times[-1] - times[-2])
    assert abs(reached - 283.15) / rate < 0.01 * times[-1]
    assert np.all(np.diff(temperatures) < 0)


def test_cooling_ends_where_it_shall_and_waits_are_told(write, plain):
    one = write("a", {"fruit": 1000}, [Heat(to=358.15), Cool(to=283.15, pan=Pan(name="tray", open_area=0.17))])
    cooked = cook(one, plain, {})
    assert cooked.temperature == pytest.approx(283.15)
    (wait,) = [wait for wait in cooked.waits if wait.what == "cool"]
    # A litre in a hotel pan in a refrigerator: one to three hours (common practice, no source).
    assert 1800 < wait.at_least < 3 * 3600
    times = [moment.time for moment in cooked.history]
    assert times == sorted(times)


def test_a_measured_time_of_cooling_is_kept(write, plain):
    one = write("a", {"fruit": 1000}, [Heat(to=358.15), Cool(to=283.15, duration=5400.0)])
    cooked = cook(one, plain, {})
    assert next(w for w in cooked.waits if w.what == "cool").at_least == pytest.approx(5400.0)


def test_a_room_that_is_too_warm_is_refused(write, plain):
    warm = write("a", {"fruit": 1000}, [Heat(to=358.15), Cool(to=263.15, room="refrigerator")])
    with pytest.raises(BadInput):
        cook(warm, plain, {})
    with pytest.raises(BadInput):
        cook(write("a", {"fruit": 1000}, [Freeze(room="refrigerator")]), plain, {})


def test_an_unknown_room_is_answered_with_the_nearest(write, plain):
    from demoule.errors import UnknownName

    with pytest.raises(UnknownName) as error:
        cook(write("a", {"fruit": 1000}, [Heat(to=358.15), Cool(to=283.15, room="refrigerater")]), plain, {})
    assert error.value.hint == "refrigerator"


def test_freezing_takes_the_heat_of_the_ice_too(write, plain):
    room = Chill(name="blast", air=238.15, surface=20.0)
    dry = freezing(Composition.of({Constituent.OTHER_FAT: 1.0}), 293.15, 255.15, room)
    wet = freezing(PUREE, 293.15, 255.15, room)
    # 333 kJ/kg of ice against 2 kJ/(kg K) over 38 K: several times as long.
    assert 3 * dry < wet < 8 * dry
    cooked = cook(write("a", {"fruit": 1000}, [Freeze(room="blast freezer")]), plain, {})
    assert cooked.temperature == 255.15
    # A layer of 4 cm in a blast freezer: hard in one and a half to four hours (common practice, no source).
    assert 1.5 * 3600 < next(w for w in cooked.waits if w.what == "freeze").at_least < 4 * 3600


def test_setting_takes_as_long_as_its_gel(write, plain):
    gelatine = cook(write("a", {"water": 100, "leaf gelatine": 2}, [SetGel()]), plain, {})
    # Gelatine rests 4 hours at least (common practice, no source).
    assert gelatine.waits[-1].at_least == pytest.approx(4 * 3600)
    told = cook(write("a", {"water": 100, "leaf gelatine": 2}, [SetGel(duration=7200.0)]), plain, {})
    assert told.waits[-1].at_least == pytest.approx(7200.0)


def test_a_hot_mix_cools_while_it_rests(write, plain):
    one = write("a", {"fruit": 1000}, [Heat(to=353.15), Rest(at=277.15, at_least=12 * 3600.0, at_most=48 * 3600.0)])
    cooked = cook(one, plain, {}, Surroundings())
    resting = [moment.temperature for moment in cooked.history if moment.doing == "rest"]
    assert resting[0] > resting[-1] == pytest.approx(277.15, abs=1.0)
    assert len(resting) > 5
