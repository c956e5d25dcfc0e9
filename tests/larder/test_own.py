"""A supplier's sheet and a chef's own item: what is told holds, what is not told stays unknown."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.composition import Constituent
from demoule.errors import BadInput, UnknownName
from demoule.figures import Status
from demoule.larder import PER_100_G, own_item, standard_larder

C = Constituent
LARDER = standard_larder()


def test_a_label_alone_gives_water_by_difference_and_says_so():
    # A label as printed on a purée: fat 0.3, carbohydrate 14, of which sugars 12, protein 0.8, fibre 2.1, salt 0.01.
    made = own_item("purée of the valley", fat=0.3, carbohydrate=14, sugars=12, protein=0.8, fibre=2.1, salt=0.01)
    x = made.composition
    assert x.water == pytest.approx(0.8279, abs=1e-4)
    assert x.unknown[C.WATER] == 1
    assert x[C.UNKNOWN_SUGARS] == pytest.approx(0.12)
    assert x[C.UNKNOWN_SOLIDS] == pytest.approx(0.02)  # carbohydrate that is no sugar
    assert x.unknown[C.SUCROSE] == x.unknown[C.STARCH] == x.unknown[C.ACIDS] == 1
    assert x.unknown[C.UNKNOWN_SUGARS] == x.unknown[C.PROTEIN] == x.unknown[C.FIBRE] == 0
    assert made.nutrients.amount("sodium") == pytest.approx(0.00004)
    assert made.nutrients.unknown_share("saturates") == made.nutrients.unknown_share("potassium") == 1
    assert not made.allergens_told
    assert made.record.status is Status.READ


def test_little_told_leaves_much_unknown():
    made = own_item("paste", sugars=55)
    assert made.composition[C.UNKNOWN_SOLIDS] == pytest.approx(0.45)
    assert made.composition.unknown[C.WATER] == made.composition.unknown[C.OTHER_FAT] == 1
    assert made.composition.unknown[C.UNKNOWN_SOLIDS] == 1


def test_sugars_by_kind_that_make_up_the_total_leave_nothing_unknown():
    made = own_item("syrup", water=30, sugars=70, sucrose=40, glucose=15, fructose=15)
    assert made.composition[C.UNKNOWN_SUGARS] == 0
    assert made.composition.unknown[C.LACTOSE] == 0
    assert made.composition[C.SUCROSE] == pytest.approx(0.4)


def test_like_takes_the_rest_from_a_row_and_says_so():
    base = LARDER.find("cream 35 %")
    made = own_item("farm cream", like="cream 35 %", fat=40, price=6.5)
    assert made.composition.fat == pytest.approx(0.40)
    assert made.composition[C.MILK_FAT] == pytest.approx(0.40)
    assert made.composition.water / made.composition[C.LACTOSE] == pytest.approx(
        base.composition.water / base.composition[C.LACTOSE]
    )
    assert made.nutrients.amount("saturates") == pytest.approx(base.nutrients.amount("saturates") * 40 / 35, rel=1e-3)
    assert made.allergens_eu == {"milk"}
    assert "cream 35 %" in made.note
    assert made.record.status is Status.JUDGED
    assert made.price == 6.5


def test_like_with_nothing_else_is_the_row_itself():
    made = own_item("house sugar", like="sugar")
    assert made.composition.fractions == pytest.approx(LARDER.find("sugar").composition.fractions)
    assert made.name == "house sugar"
    assert "sucre" not in made.also


def test_sugars_of_a_like_keep_its_kinds():
    made = own_item("sweet apricots", like="apricot", sugars=12)
    raw = LARDER.find("apricot").composition
    assert made.composition.sugars == pytest.approx(0.12)
    assert made.composition[C.SUCROSE] / made.composition[C.GLUCOSE] == pytest.approx(raw[C.SUCROSE] / raw[C.GLUCOSE])


def test_kinds_that_a_like_does_not_know_stay_unknown():
    made = own_item("white block", like="white chocolate, USDA", sugars=57)
    assert made.composition[C.UNKNOWN_SUGARS] == pytest.approx(0.57)
    assert made.composition.unknown[C.SUCROSE] == 1
    assert made.composition.unknown[C.UNKNOWN_SUGARS] == 0


def test_the_strength_of_a_drink():
    plain = own_item("orchard spirit", alcohol_percent_vol=40)
    assert plain.composition[C.ETHANOL] == pytest.approx(0.333, abs=0.001)  # usda-sr28, 14050: 33.4 g in 100 g
    assert plain.composition.water == pytest.approx(0.667, abs=0.001)
    liqueur = own_item("orchard liqueur", alcohol_percent_vol=25, density_kg_per_m3=1080, sugars=30, water=51)
    assert liqueur.composition[C.ETHANOL] == pytest.approx(25 * 0.78924 / 1.08 / 100, rel=0.01)


def test_a_colour_with_its_dye():
    made = own_item("coral", like="oil colour E 160a", e_number="E 160a", dye_percent=12)
    assert [(a.e_number, a.share, a.label_class) for a in made.additives] == [("E 160a", 0.12, "colour")]
    two = own_item("sunset", e_number="E160a + E 160c", dye_percent=5)
    assert [(a.e_number, a.share) for a in two.additives] == [("E 160a", None), ("E 160c", None)]


def test_allergens_told_for_one_market_tell_the_other():
    made = own_item("cake crumbs", allergens_eu=["wheat", "eggs", "almond", "lupin"])
    assert made.allergens_us == {"wheat", "egg", "tree nuts: almond"}
    assert made.allergens_told
    none = own_item("plain", allergens_eu=[])
    assert none.allergens_eu == frozenset()
    assert none.allergens_told


def test_gelatine_of_ones_own():
    made = own_item("blue box leaves", like="gelatine leaf gold", bloom=210, leaf_g=1.9)
    assert made.bloom_strength == 210
    assert made.leaf_mass == pytest.approx(0.0019)


@pytest.mark.parametrize(
    "wrong",
    [
        {"fat": -1},
        {"fat": 120},
        {"fat": float("nan")},
        {"fat": 60, "protein": 50},
        {"sugars": 20, "sucrose": 15, "glucose": 15},
        {"carbohydrate": 10, "sugars": 20},
        {"ph": 20.0},
        {"density_kg_per_m3": 1.0},
        {"price": -2.0},
        {"edible_percent": 0.0},
        {"alcohol_percent_vol": 140.0},
    ],
)
def test_a_sheet_that_cannot_be_is_refused(wrong):
    with pytest.raises(BadInput):
        own_item("thing", **wrong)


def test_unknown_words_are_answered_with_the_nearest():
    with pytest.raises(UnknownName) as caught:
        own_item("thing", sucrse=3)
    assert caught.value.hint == "sucrose"
    with pytest.raises(UnknownName):
        own_item("thing", like="no such thing at all")
    with pytest.raises(UnknownName):
        own_item("thing", allergens_eu=["kryptonite"])
    with pytest.raises(BadInput):
        own_item("  ")


PARTS = ("water", "fat", "protein", "sucrose", "glucose", "starch", "fibre", "ash", "acids", "salt", "lactose")


@given(
    st.dictionaries(st.sampled_from(PARTS), st.floats(0.01, 9.0), min_size=1),
    st.sampled_from([None, "apricot", "cream 35 %", "sugar", "agar", "white chocolate"]),
)
def test_what_is_told_is_what_is_held(told, like):
    made = own_item("thing", like=like, **told)
    x = np.array(made.composition.fractions)
    assert x.sum() == pytest.approx(1)
    for name, value in told.items():
        kind = {"fat": None, "salt": None}.get(name, C[name.upper()] if name.upper() in C.__members__ else None)
        if kind is not None:
            assert 100 * made.composition[kind] == pytest.approx(value, rel=1e-6, abs=1e-9)
    if "fat" in told:
        assert 100 * made.composition.fat == pytest.approx(told["fat"], rel=1e-6)


def test_every_value_of_a_sheet_is_taken():
    made = own_item(
        "thing", **dict.fromkeys([n for n in PER_100_G if n not in ("solids", "carbohydrate")], 0.0), note="x"
    )
    assert made.composition[C.UNKNOWN_SOLIDS] == 1
    assert "0 kJ" in made.note
