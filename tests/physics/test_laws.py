"""What must hold of any mixture, whatever is in it."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from demoule.composition import COUNT, Constituent
from demoule.physics import (
    boiling_point,
    conductivity,
    density_of_mix,
    enthalpy,
    freezing_point,
    glass_onset,
    ice_fraction,
    latent_heat_of_ice,
    pressure_at_altitude,
    soluble_solids,
    thermal_table,
    viscosity_of_mix,
    water_activity,
    water_activity_over_ice,
    water_left_at_boiling_point,
)
from demoule.units import FloatArray

C = Constituent
SOLUTES = [
    *(C.SUCROSE, C.GLUCOSE, C.FRUCTOSE, C.GALACTOSE, C.LACTOSE, C.MALTOSE, C.TREHALOSE, C.MALTOTRIOSE, C.DEXTRINS),
    *(C.MALTODEXTRINS, C.SORBITOL, C.GLYCEROL, C.ERYTHRITOL, C.OTHER_POLYOLS),
]
FREEZING = [*SOLUTES, C.ETHANOL, C.SALT, C.ASH, C.ACIDS]


def _desserts(ethanol: float = 6.0) -> st.SearchStrategy[FloatArray]:
    """Masses of a wet mixture of anything that a kitchen meets, before it is made to sum to 1."""
    amounts = {
        C.WATER: st.floats(35, 100),
        **{c: st.floats(0, 12) for c in SOLUTES},
        C.SUCROSE: st.floats(0, 30),
        C.ETHANOL: st.floats(0, ethanol),
        C.MILK_FAT: st.floats(0, 20),
        C.COCOA_BUTTER: st.floats(0, 10),
        C.PROTEIN: st.floats(0, 6),
        C.STARCH: st.floats(0, 6),
        C.FIBRE: st.floats(0, 4),
        C.ACIDS: st.floats(0, 3),
        C.SALT: st.floats(0, 1),
        C.ASH: st.floats(0, 1.5),
        C.UNKNOWN_SUGARS: st.floats(0, 5),
        C.UNKNOWN_SOLIDS: st.floats(0, 5),
    }

    def pack(values: tuple[float, ...]) -> FloatArray:
        x = np.zeros(COUNT)
        x[list(amounts)] = values
        return x

    return st.tuples(*amounts.values()).map(pack)


DESSERTS = _desserts()


def _one(x: FloatArray) -> FloatArray:
    return x / x.sum()


@given(DESSERTS, st.sampled_from(FREEZING), st.floats(0.01, 10))
def test_more_of_any_solute_never_raises_the_freezing_point(x, solute, grams):
    more = x.copy()
    more[solute] += grams
    assert freezing_point(_one(more)) <= freezing_point(_one(x)) + 1e-9


@given(DESSERTS, st.floats(0.1, 30))
def test_more_water_never_lowers_the_freezing_point_or_the_activity(x, grams):
    wetter = x.copy()
    wetter[C.WATER] += grams
    assert freezing_point(_one(wetter)) >= freezing_point(_one(x)) - 1e-9
    assert water_activity(_one(wetter), 298.15) >= water_activity(_one(x), 298.15) - 1e-12


@given(DESSERTS)
def test_the_activity_lies_between_nothing_and_pure_water(x):
    for t in (253.15, 298.15, 373.15):
        assert 0 < water_activity(_one(x), t) <= 1


@given(DESSERTS)
def test_at_the_freezing_point_the_mixture_and_ice_are_in_balance(x):
    x = _one(x)
    start = freezing_point(x)
    if start > 218.15:
        assert abs(water_activity(x, start) - water_activity_over_ice(start)) < 1e-7


@given(DESSERTS)
def test_ice_grows_as_it_gets_colder_and_begins_at_the_freezing_point(x):
    x = _one(x)
    start = float(freezing_point(x))
    T = np.linspace(start + 2, 213.15, 60)
    ice = ice_fraction(x, T)
    assert (np.diff(ice) >= -1e-9).all()
    assert (ice[start < T] == 0).all()
    assert ice[-1] <= x[C.WATER]


@given(DESSERTS, st.floats(236.0, 272.0))
def test_what_stays_liquid_is_the_mixture_without_its_ice(x, t):
    # Mass balance of freeze-concentration: take the ice away, and the rest is in balance with ice.
    x = _one(x)
    ice = float(ice_fraction(x, t))
    if 1e-6 < ice < x[C.WATER] - 1e-3 and t > float(glass_onset(x)):
        rest = x.copy()
        rest[C.WATER] -= ice
        assert abs(float(freezing_point(_one(rest))) - t) < 1e-4


@given(_desserts(ethanol=0.0), st.floats(0, 2500))
def test_boiling_falls_with_altitude(x, metres):
    x = _one(x)
    assert boiling_point(x, pressure_at_altitude(metres + 100)) < boiling_point(x, pressure_at_altitude(metres))


@given(_desserts(ethanol=0.0), st.floats(0.05, 0.9), st.floats(0, 2500))
def test_cooking_to_the_boiling_point_comes_back_to_the_same_water(x, kept, metres):
    x = _one(x)
    pressure = pressure_at_altitude(metres)
    cooked = x.copy()
    cooked[C.WATER] *= kept
    hot = boiling_point(_one(cooked), pressure)
    if boiling_point(np.eye(COUNT)[C.WATER], pressure) + 0.01 < hot < 410:
        assert abs(water_left_at_boiling_point(x, hot, pressure) - cooked[C.WATER]) < 1e-6


@given(DESSERTS)
def test_a_density_lies_between_those_of_the_lightest_and_the_heaviest_part(x):
    rho = density_of_mix(_one(x), 293.15)
    assert 780 < rho < 2500
    only_solids_lighter = _one(x)[[C.MILK_FAT, C.COCOA_BUTTER, C.OTHER_FAT, C.ETHANOL]].sum()
    if only_solids_lighter == 0:
        assert rho > 998


@given(DESSERTS, st.floats(0.5, 20))
def test_more_sugar_is_denser_thicker_and_reads_higher(x, grams):
    sweeter = x.copy()
    sweeter[C.SUCROSE] += grams
    assert soluble_solids(_one(sweeter)) > soluble_solids(_one(x))
    assert viscosity_of_mix(_one(sweeter), 293.15) > viscosity_of_mix(_one(x), 293.15)
    assert density_of_mix(_one(sweeter)) > density_of_mix(_one(x))


@given(DESSERTS, st.floats(0, 0.6), st.floats(0, 1))
@settings(max_examples=40)
def test_a_thermal_table_rises_and_keeps_its_zero(x, air, setting_fat):
    x = _one(x)
    table = thermal_table(x, 1080.0, air, setting_fat=setting_fat)
    assert (np.diff(table.temperature) > 0).all()
    assert (np.diff(table.enthalpy) > 0).all()
    assert (table.conductivity > 0).all()
    assert ((table.ice_share >= 0) & (table.ice_share <= 1)).all()
    liquid = float(np.interp(273.15, table.temperature, table.enthalpy))
    assert abs(liquid) < 1e-6 * abs(table.enthalpy[0])
    assert table.density == 1080.0 * (1 - air)


@given(DESSERTS)
@settings(max_examples=40)
def test_heat_in_along_any_path_is_the_same(x):
    # Freeze first and warm the frozen, or cool the liquid and freeze it cold: enthalpy is a function of state.
    x = _one(x)
    for t in (263.15, 253.15):
        frozen = enthalpy(x, t)
        liquid = enthalpy(x, t, ice=np.array(0.0))
        ice = ice_fraction(x, t)
        assert abs((liquid - frozen) - ice * latent_heat_of_ice(t)) < 1e-6 * abs(liquid - frozen) + 1e-6


@given(DESSERTS, st.floats(0.01, 0.6))
def test_air_lowers_the_conductivity_and_ice_raises_it(x, air):
    x = _one(x)
    assert conductivity(x, 293.15, air=air) < conductivity(x, 293.15)
    if ice_fraction(x, 253.15) > 0.02:
        assert conductivity(x, 253.15) > conductivity(x, 253.15, ice=np.array(0.0))


@given(st.lists(DESSERTS, min_size=2, max_size=5))
@settings(max_examples=30)
def test_many_recipes_at_once_are_each_as_alone(several):
    x = np.array([_one(v) for v in several])
    T = np.array([258.15, 263.15, 298.15])
    for function in (water_activity, ice_fraction, density_of_mix, viscosity_of_mix, enthalpy, conductivity):
        together = function(x[:, None, :], T)
        assert together.shape == (len(several), len(T))
        for i, row in enumerate(x):
            for j, t in enumerate(T):
                assert np.isclose(together[i, j], float(function(row, t)), rtol=1e-12, atol=1e-15)
    for alone in (freezing_point, boiling_point, soluble_solids):
        assert np.allclose(alone(x), [float(alone(row)) for row in x], rtol=1e-10)
