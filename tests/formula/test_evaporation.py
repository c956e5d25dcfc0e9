import math

import pytest
from iapws import IAPWS95

from demoule.formula import Boil, Heat, Pan, Surroundings, cook
from demoule.formula.evaporation import LATENT, evaporation_ceiling, evaporation_flux, pan_area, pan_for, pan_holds

PAN24 = Pan(name="24 cm", open_area=0.045)
BOILING = 373.15


def grams_a_minute(band):
    return tuple(value * PAN24.open_area * 60_000 for value in band)


# Common practice, no source: water off a 24 cm pan without lid [g/min], low and high.
@pytest.mark.parametrize(("temperature", "low", "high"), [(373.15, 15, 60), (358.15, 3, 15), (333.15, 1, 3)])
def test_a_pan_loses_what_cooks_know_it_loses(temperature, low, high):
    found = grams_a_minute(evaporation_flux(temperature, BOILING))
    assert found[0] == pytest.approx(low, rel=0.15)  # the practice is printed to one or two digits
    assert found[2] == pytest.approx(high, rel=0.01)
    # The usual figure stands in the middle by factors.
    assert found[1] == pytest.approx(math.sqrt(found[0] * found[2]), rel=0.015)


def test_a_lid_leaves_a_fifth_to_a_tenth():
    """Common practice, no source."""
    bare, lid = evaporation_flux(BOILING, BOILING), evaporation_flux(BOILING, BOILING, covered=True)
    assert lid.low / bare.low == pytest.approx(1 / 10)
    assert lid.high / bare.high == pytest.approx(1 / 5)
    assert lid.usual / bare.usual == pytest.approx(1 / math.sqrt(50), rel=0.015)


def test_a_simmer_loses_less_than_a_rolling_boil_and_more_than_a_hot_pan():
    hot = evaporation_flux(358.15, BOILING)
    simmer = evaporation_flux(BOILING, BOILING, strength="gentle")
    assert all(h < s < r for h, s, r in zip(hot, simmer, evaporation_flux(BOILING, BOILING), strict=True))
    # Our own estimate of a simmer, twice a pan at 85 °C: pinned, so that it does not change unseen.
    assert simmer.usual / hot.usual == pytest.approx(2.0)


def test_cold_pans_hardly_lose():
    """Still water in a room: 0.1 to 0.4 kg a square metre and hour (common practice, no source)."""
    cold = evaporation_flux(293.15, BOILING)
    assert cold.low * 3600 == pytest.approx(0.1)
    assert cold.usual * 3600 == pytest.approx(0.2)
    assert cold.high * 3600 == pytest.approx(0.4)


def test_latent_heat_is_that_of_steam():
    # Source: IAPWS-95 at 100 °C, through the library iapws. Status: read.
    steam, water = IAPWS95(T=373.15, x=1), IAPWS95(T=373.15, x=0)
    assert pytest.approx((steam.h - water.h) * 1000, rel=1e-3) == LATENT


def test_a_hob_boils_off_no_more_than_it_pays_for(write, plain):
    # 3.5 kW, of which 85 % reach the pot: 79 g/min, by the latent heat.
    assert evaporation_ceiling(3500 * 0.85) * 60_000 == pytest.approx(79, abs=0.5)
    wide = Pan(name="wide", open_area=0.5)
    one = write("a", {"water": 5000}, [Boil(duration=600, pan=wide)], losses=(("pan", 0.0),))
    weak = Surroundings(hob_power=1000.0)
    cooked = cook(one, plain, {}, weak)
    most = evaporation_ceiling(850.0) * 600
    # And on the way to the boil: not more than the hob gives either.
    assert cooked.water_lost_band[1] < most + 5 * 4186 * 80 / LATENT * 1.1
    assert cooked.water_lost >= most


def test_pans_hold_what_cooks_say():
    # Usefully, at 60 % full: 1.5, 2.8, 5, 8 and 12 l (common practice, no source).
    for diameter, litres in ((0.16, 1.5), (0.20, 2.8), (0.24, 5), (0.28, 8), (0.32, 12)):
        assert pan_holds(Pan(name="", open_area=pan_area(diameter))) * 1000 == pytest.approx(litres, rel=0.06)
    assert pan_for(0.004, (0.16, 0.24, 0.20)).name == "24 cm pan"
    assert pan_for(0.9, (0.16, 0.24, 0.20)).name == "24 cm pan"


def test_what_was_learned_multiplies(write, plain):
    one = write("a", {"water": 2000}, [Boil(duration=600, pan=PAN24)])
    usual = cook(one, plain, {}).water_lost
    assert cook(one, plain, {}, Surroundings(factors=(("evaporation", 1.3),))).water_lost == pytest.approx(1.3 * usual)


def test_a_lid_keeps_the_water_in_the_pan(write, plain):
    bare = cook(write("a", {"water": 2000}, [Heat(to=358.15, pan=PAN24)]), plain, {})
    lid = cook(write("a", {"water": 2000}, [Heat(to=358.15, pan=PAN24, covered=True)]), plain, {})
    assert lid.water_lost == pytest.approx(bare.water_lost / 7)


def test_fat_does_not_boil(write, plain):
    from demoule.errors import BadInput

    with pytest.raises(BadInput):
        cook(write("a", {"fat": 100}, [Boil(duration=60)]), plain, {})
    assert cook(write("a", {"fat": 100}, [Heat(to=393.15)]), plain, {}).water_lost == 0
