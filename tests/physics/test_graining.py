"""Graining: printed saturations, classes, what leaves the danger, and trends."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.composition import Composition, Constituent
from demoule.errors import BadInput
from demoule.physics.graining import (
    GrainClass,
    graining,
    saturation_of_mixture,
    solubility_coefficient,
    supersaturation,
    to_leave_danger,
)
from demoule.physics.published import rows
from demoule.physics.solubility import solubility, sucrose_solubility

C = Constituent
COLD = 277.15


def syrup(solids, invert=0.0):
    """Solids of which a share is invert."""
    return Composition.of(
        {
            C.SUCROSE: solids * (1 - invert),
            C.GLUCOSE: solids * invert / 2,
            C.FRUCTOSE: solids * invert / 2,
            C.WATER: 1 - solids,
        }
    )


def test_saturated_with_invert_as_the_table_recalls():
    for row in rows("jackson_silsbee_1924"):
        invert = float(row["invert_g"]) / 2
        mix = Composition.of(
            {C.SUCROSE: float(row["sucrose_g"]), C.GLUCOSE: invert, C.FRUCTOSE: invert, C.WATER: float(row["water_g"])}
        )
        found = float(supersaturation(mix.vector, float(row["temperature_c"]) + 273.15))
        assert found == pytest.approx(1.0, abs=0.013)


@pytest.mark.parametrize(
    ("solids", "invert", "coefficient"),
    # At 4 °C, worked apart.
    [(0.65, 0.0, 1.01), (0.70, 0.0, 1.27), (0.75, 0.4, 1.24), (0.75, 0.2, 1.51)],
)
def test_four_syrups_in_the_refrigerator(solids, invert, coefficient):
    assert graining(syrup(solids, invert), COLD).coefficient == pytest.approx(coefficient, abs=0.008)


def test_classes_by_their_edges():
    # Van Hook's zones (recalled): 1.0 to 1.2 on crystals, 1.2 to 1.3 spreading, above by itself.
    assert graining(syrup(0.60), COLD).grain_class is GrainClass.CLEAR
    assert graining(syrup(0.66), COLD).grain_class is GrainClass.ON_CRYSTALS
    assert graining(syrup(0.70), COLD).grain_class is GrainClass.SPREADS
    assert graining(syrup(0.75, 0.2), COLD).grain_class is GrainClass.BY_ITSELF


def test_edges_and_ranges_are_pinned():
    def at(coefficient):
        limit = float(sucrose_solubility(COLD))
        ratio = coefficient * limit / (1 - limit)
        return graining(syrup(ratio / (1 + ratio)), COLD)

    clear, crystals, spreads, by_itself = GrainClass
    found = [at(c).grain_class for c in (0.99, 1.01, 1.19, 1.21, 1.29, 1.31)]
    assert found == [clear, crystals, crystals, spreads, spreads, by_itself]
    assert [at(c).findings[0].severity.value for c in (1.1, 1.25)] == ["note", "caution"]
    for t, stretched in ((252.9, True), (253.4, False), (332.9, False), (333.4, True)):
        assert graining(syrup(0.6), t).stretched is stretched

    def beside(q, solids=0.75):
        water = 1 - solids
        return graining(syrup(solids, q * water / solids), COLD).stretched

    assert [beside(q, 0.8) for q in (2.19, 2.21)] == [False, True]
    assert [beside(q, 0.82) for q in (0.89, 0.91)] == [True, False]  # thick: 4.6 parts of solids to one of water
    assert [beside(0.1, s) for s in (0.765, 0.770)] == [False, True]  # sucrose over water 3.2


def test_dextrose_grains_too():
    # Solubility of dextrose 47.8 to 49.7 % at 20 °C (read): 55 % is over it.
    strong = Composition.of({C.GLUCOSE: 0.55, C.WATER: 0.45})
    found = graining(strong, 293.15)
    assert found.sugar == "glucose"
    assert found.glucose > 1.2
    assert found.glucose == pytest.approx(0.55 / 0.45 / (0.478 / 0.522), rel=0.03)
    milk = Composition.of({C.LACTOSE: 0.25, C.WATER: 0.75})
    assert graining(milk, 293.15).sugar == "lactose"


def test_the_coefficient_goes_to_one_and_to_its_floor():
    assert float(solubility_coefficient(0.0)) == 1.0
    assert float(solubility_coefficient(50.0)) == pytest.approx(0.71, abs=1e-6)
    assert float(solubility_coefficient(1.0)) == pytest.approx(0.8115, abs=5e-4)


@given(solids=st.floats(0.3, 0.75), invert=st.floats(0.0, 0.6), t=st.floats(255, 330))
def test_graining_trends(solids, invert, t):
    # To 75 °Bx, as syrups are kept; in thicker ones with few other sugars the recalled coefficient is said to stretch.
    here = graining(syrup(solids, invert), t).coefficient
    assert graining(syrup(solids, invert), t + 3).coefficient < here  # warmer
    assert graining(syrup(solids, invert + 0.05), t).coefficient < here  # other sugars at equal Brix
    assert graining(syrup(solids + 0.01, invert), t).coefficient > here


@given(t=st.floats(273.15, 350.0))
def test_plain_sugar_is_saturated_where_its_table_says(t):
    limit = float(sucrose_solubility(t))
    assert float(supersaturation(syrup(limit).vector, t)) == pytest.approx(1.0, abs=1e-9)
    assert saturation_of_mixture(syrup(0.5), t) == pytest.approx(limit, abs=1e-9)
    assert saturation_of_mixture(syrup(0.5, 0.4), t) > limit
    assert float(solubility(C.SUCROSE, t)) == limit


def test_a_syrup_without_sucrose_has_no_saturation_here():
    assert saturation_of_mixture(Composition.of({C.GLUCOSE: 0.4, C.WATER: 0.6}), COLD) == 0.95


def test_what_to_add_leaves_the_danger():
    glucose_syrup = Composition.of({C.GLUCOSE: 0.25, C.MALTOSE: 0.25, C.DEXTRINS: 0.30, C.WATER: 0.20})
    water = Composition.of({C.WATER: 1.0})
    danger = syrup(0.70)
    for adding in (water, glucose_syrup):
        amount = to_leave_danger(danger, COLD, adding)
        assert amount is not None
        assert amount > 0
        after = Composition.mixed([(1.0, danger), (amount + 1e-4, adding)])
        assert graining(after, COLD).coefficient < 1.0
        before = Composition.mixed([(1.0, danger), (amount * 0.9, adding)])
        assert graining(before, COLD).coefficient > 1.0
    # Water by hand: 0.70/(0.30 + w) = saturated ratio.
    limit = float(sucrose_solubility(COLD))
    assert to_leave_danger(danger, COLD, water) == pytest.approx(0.70 * (1 - limit) / limit - 0.30, abs=1e-4)
    assert to_leave_danger(syrup(0.5), COLD, water) == 0.0
    assert to_leave_danger(danger, COLD, glucose_syrup, replacing=True) < 0.70
    assert to_leave_danger(danger, COLD, Composition.of({C.SUCROSE: 1.0})) is None
    assert to_leave_danger(danger, COLD, water, below=1.2) < to_leave_danger(danger, COLD, water)
    with pytest.raises(BadInput):
        to_leave_danger(danger, COLD, water, below=0.0)


def test_bands_are_wider_with_glucose_syrup_and_unknown_sugars():
    plain = graining(syrup(0.7), COLD)
    told = Composition.of({C.SUCROSE: 0.5, C.MALTOSE: 0.1, C.DEXTRINS: 0.1, C.WATER: 0.3})
    untold = Composition.of({C.SUCROSE: 0.5, C.UNKNOWN_SUGARS: 0.2, C.WATER: 0.3})

    def width(found):
        return (found.high - found.low) / found.coefficient

    assert width(plain) == pytest.approx(0.04)
    assert width(graining(told, COLD)) == pytest.approx(0.10)
    assert width(graining(untold, COLD)) > 0.15
    assert graining(syrup(0.7), COLD).findings[0].rule == "syrup grains"
    assert not graining(syrup(0.6), COLD).findings
    assert graining(syrup(0.9, 0.6), COLD).stretched
    assert graining(syrup(0.82, 0.05), COLD).stretched
    assert not graining(syrup(0.70), COLD).stretched
