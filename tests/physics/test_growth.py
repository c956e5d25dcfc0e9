"""Growth models: the printed equations, their ranges, and sums over a history."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.errors import BadInput, OutsideValidity, UnknownName
from demoule.physics.growth import GROWTH, WORDING, cardinal, doubling_time, growth, growth_rate
from demoule.physics.published import rows

HOUR = 3600.0
CREAM = "listeria in vanilla cream"


def test_the_printed_equations_worked_by_hand():
    for row in rows("growth_worked"):
        rate = growth_rate(
            row["model"],
            float(row["temperature_c"]) + 273.15,
            ph=float(row["ph"]) if row["ph"] else None,
            aw=float(row["water_activity"]) if row["water_activity"] else None,
        )
        assert rate * HOUR == pytest.approx(float(row["value"]), rel=1e-4)


def test_models_without_a_worked_point():
    # (b (T - Tmin))^2 by the printed numbers of the two records in egg yolk.
    assert growth_rate("salmonella in egg yolk", 293.15) * HOUR == pytest.approx((0.02991 * (20 - 3.581)) ** 2)
    assert growth_rate("staphylococcus in egg yolk", 293.15) * HOUR == pytest.approx((0.02826 * (20 - 3.908)) ** 2)
    # Four parameters near its top, where the warm end bites (li-egg-mix).
    near_top = 0.00136 * (44 - 2.62) ** 2 * (1 - math.exp(0.436 * (44 - 45.8)))
    assert growth_rate("salmonella in liquid egg", 317.15) * HOUR == pytest.approx(near_top)
    # Water activity of the broth model: cardinal, 0.808 to 1 with the best at 0.994 (medvedova-2019).
    free = growth_rate("staphylococcus in broth", 303.15)
    assert growth_rate("staphylococcus in broth", 303.15, aw=0.994) == pytest.approx(free)
    assert growth_rate("staphylococcus in broth", 303.15, aw=0.90) == pytest.approx(
        free * float(cardinal(0.90, 0.808, 0.994, 1.0 + 1e-9))
    )
    assert growth_rate("staphylococcus in broth", 303.15, aw=0.80) == 0


def test_doubling_and_three_days():
    # 22.9 h at 4 °C, 9 h at 10; 0.95 powers of ten in 72 h at 4 °C, 0.745 for 4 h at 12 then 44 h at 4 (by hand).
    assert doubling_time(CREAM, 277.15) / HOUR == pytest.approx(22.918, abs=1e-3)
    assert doubling_time(CREAM, 283.15) / HOUR == pytest.approx(9.1, abs=0.1)
    assert growth(CREAM, [0, 72 * HOUR], [277.15] * 2).log_increase == pytest.approx(0.94573, abs=1e-4)
    two = growth(CREAM, [0, 4 * HOUR, 4 * HOUR, 48 * HOUR], [285.15, 285.15, 277.15, 277.15])
    assert two.log_increase == pytest.approx(0.74479, abs=1e-4)


def test_a_ramp_is_the_integral():
    # From 4 to 14 °C in ten hours, (b (T - Tmin))^2 integrated by hand.
    b, low = 0.017, -6.23
    exact = b**2 / 3 * ((14 - low) ** 3 - (4 - low) ** 3) / math.log(10)
    assert growth(CREAM, [0, 10 * HOUR], [277.15, 287.15]).log_increase == pytest.approx(exact, rel=1e-4)


@pytest.mark.parametrize("celsius", [-5, 2, 16, 40])
def test_outside_its_range_a_rate_is_refused(celsius):
    with pytest.raises(OutsideValidity, match="between 3 and 15"):
        growth_rate(CREAM, 273.15 + celsius)


def test_every_model_stops_at_its_range():
    for model in GROWTH.values():
        growth_rate(model.key, 273.15 + model.low)
        growth_rate(model.key, 273.15 + model.high)
        for t in (model.low - 0.5, model.high + 0.5):
            with pytest.raises(OutsideValidity):
                growth_rate(model.key, 273.15 + t)


def test_ranges_are_those_of_the_records():
    spans = {model.key: (model.low, model.high) for model in GROWTH.values()}
    assert spans == {
        "listeria in vanilla cream": (3, 15),
        "staphylococcus in milk": (10, 34),
        "salmonella in egg yolk": (5, 37),
        "staphylococcus in egg yolk": (5, 37),
        "salmonella in liquid egg": (10, 45),
        "bacillus in cooked rice": (8.3, 46.7),
        "bacillus in milk": (0, 37),
        "staphylococcus in broth": (8, 50),
        "listeria in cold-smoked salmon": (0, 25),
    }
    # Hot holding ends at 60 °C and growth at -1.5 °C, the lowest limit printed for listeria.
    hot = growth(CREAM, [0, HOUR], [333.65, 333.65])
    assert (hot.hot, hot.not_shown) == pytest.approx((HOUR, 0.0))
    warm = growth(CREAM, [0, HOUR], [332.65, 332.65])
    assert (warm.hot, warm.not_shown) == pytest.approx((0.0, HOUR))
    for t, frozen in ((271.60, HOUR), (271.70, 0.0)):
        assert growth(CREAM, [0, HOUR], [t, t]).frozen == pytest.approx(frozen)


def test_a_whole_life_counts_each_hour_once():
    times = [0, HOUR, 2 * HOUR, 2 * HOUR, 26 * HOUR, 26 * HOUR, 30 * HOUR]
    temperatures = [358.15, 283.15, 277.15, 255.15, 255.15, 277.15, 277.15]
    life = growth(CREAM, times, temperatures)
    total = life.counted + life.frozen + life.hot + life.not_shown
    assert total == pytest.approx(30 * HOUR, rel=1e-9)
    assert life.frozen == pytest.approx(24 * HOUR)
    assert life.hot > 0
    assert life.not_shown > 300
    assert life.wording == WORDING
    assert {f.rule for f in life.findings} == {"growth model", "growth not shown"}
    assert "safe" not in " ".join(f.says + f.why + f.remedy for f in life.findings).split()
    # The freezer adds nothing, and sets nothing back.
    chilled = growth(CREAM, [0, HOUR, 2 * HOUR, 6 * HOUR], [358.15, 283.15, 277.15, 277.15])
    assert life.log_increase == pytest.approx(chilled.log_increase, rel=1e-6)


def test_a_ceiling_where_the_model_has_one():
    fish = "listeria in cold-smoked salmon"
    free = growth(fish, [0, 200 * HOUR], [298.15] * 2).log_increase
    assert free > 5
    assert growth(fish, [0, 200 * HOUR], [298.15] * 2, start=3.0).log_increase == pytest.approx(4.3)


@given(t=st.floats(276.3, 287.0), hours=st.floats(1, 100))
def test_growth_rises_with_heat_and_time(t, hours):
    here = growth(CREAM, [0, hours * HOUR], [t, t]).log_increase
    assert growth(CREAM, [0, hours * HOUR], [t + 0.5, t + 0.5]).log_increase > here
    assert growth(CREAM, [0, (hours + 1) * HOUR], [t, t]).log_increase > here


@given(
    least=st.floats(-5, 10),
    span=st.floats(5, 40),
    top=st.floats(1, 15),
    x=st.floats(-10, 70),
    n=st.integers(1, 2),
)
def test_the_cardinal_function(least, span, top, x, n):
    best, most = least + span, least + span + min(top, 0.9 * span)
    value = float(cardinal(x, least, best, most, n))
    assert -1e-9 <= value <= 1 + 1e-9
    assert float(cardinal(best, least, best, most, n)) == pytest.approx(1.0)
    assert float(cardinal(least - 1, least, best, most, n)) == float(cardinal(most + 1, least, best, most, n)) == 0.0


def test_a_germ_by_its_name():
    assert growth_rate("listeria", 277.15) == growth_rate(CREAM, 277.15)
    with pytest.raises(UnknownName):
        growth_rate("yeti", 277.15)


@pytest.mark.parametrize(
    "history", [([0.0], [277.15]), ([0, -1], [277.15] * 2), ([0, 1, 2], [277.15] * 2), ([0, 1], [277.15, float("nan")])]
)
def test_impossible_histories_are_refused(history):
    with pytest.raises(BadInput):
        growth(CREAM, *history)
