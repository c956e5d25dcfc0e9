import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.batch import on_scale
from demoule.batch.buying import buying_of, packs_for
from demoule.batch.rounding import weigh_line
from demoule.composition import Composition, Constituent
from demoule.figures import Status
from demoule.larder import Ingredient, Pack, Record

C = Constituent
RECORD = Record(source="practice", table_version="", id="", status=Status.PRACTICE)


def item(**told):
    given_composition = told.pop("composition", Composition.of({C.SUCROSE: 1.0}))
    return Ingredient(name="x", composition=given_composition, record=RECORD, **told)


@given(st.floats(1e-5, 100.0))
def test_a_scale_shows_what_is_there(mass):
    step = 1e-5 if mass < 0.002 else 1e-4 if mass < 0.02 else 1e-3 if mass < 10 else 5e-3
    shown = on_scale(mass)
    assert abs(shown - mass) <= step / 2 * (1 + 1e-6)
    assert shown / step == pytest.approx(round(shown / step))


def test_leaves():
    gold = item(leaf_mass=0.002)
    for grams, leaves, shown in (
        (14.0, 7, 14.0),
        (13.9, 7, 14.0),
        (5.05, 2.5, 5.0),
        (2.3, 2, 2.3),
        (0.7, 1, 0.7),
        (14.36, 8, 14.4),
    ):
        line = weigh_line("gelatine", grams / 1000, gold)
        assert line.leaves == leaves, grams
        assert line.mass * 1000 == pytest.approx(shown)
        # Whole or half leaves stay within 2 % of the exact mass (common practice, no source).
        assert abs(line.mass - line.exact) <= 0.02 * line.exact + 5e-5


def test_pods_are_counted_when_the_chef_counts_them():
    pod = item(piece_mass=0.003)
    assert weigh_line("pod", 0.0062, pod, counted=True).leaves == 2.0
    assert weigh_line("pod", 0.0062, pod).leaves is None


def test_trim_and_what_stays_in_the_pack():
    # 7 % stone: 1 kg pitted is 1.075 kg bought, and 0.8 % more stay in the crate (common practice, no source).
    line = buying_of(item(edible=0.93, price=4.0), 1.0, 0.5)
    assert line.need == pytest.approx(1 / 0.93 / 0.992)
    assert line.cost_used == pytest.approx(4.0 * line.need / 2)


def test_an_unknown_price_stays_unknown():
    line = buying_of(item(), 1.0, 1.0)
    assert line.cost_used is None
    assert line.cost_packs is None


def test_tap_water_is_free():
    line = buying_of(item(composition=Composition.of({C.WATER: 1.0})), 5.0, 5.0)
    assert line.cost_used == 0.0
    assert line.need == 5.0


def test_the_price_of_the_pack_when_no_other_is_told():
    tub = Pack(mass=2.0, name="tub", price=18.0)
    line = buying_of(item(packs=(tub,)), 3.0, 3.0)
    assert line.cost_used == pytest.approx(9.0 * line.need)
    assert line.packs == ((tub, 2),)
    assert line.cost_packs == pytest.approx(36.0)


def test_what_stands_on_the_shelf_is_not_bought():
    tub = Pack(mass=2.0, name="tub", price=18.0)
    assert buying_of(item(packs=(tub,)), 3.0, 3.0, on_shelf=2.0).packs == ((tub, 1),)
    assert buying_of(item(packs=(tub,)), 3.0, 3.0, on_shelf=9.0).packs == ()


@given(
    st.lists(st.sampled_from([0.25, 0.5, 1.0, 2.5, 5.0, 12.5]), min_size=1, max_size=4, unique=True),
    st.floats(0.001, 40.0),
)
def test_packs_cover_the_need_and_no_pack_is_idle(sizes, need):
    packs = [Pack(mass=size, name=f"{size} kg", price=size**0.9 * 10) for size in sizes]
    chosen = packs_for(packs, need)
    bought = sum(pack.mass * number for pack, number in chosen)
    assert bought >= need * (1 - 1e-6)
    assert all(bought - pack.mass < need for pack, _ in chosen)
    # Never dearer than one kind of pack alone.
    alone = min(pack.price * -(-need // pack.mass) for pack in packs)
    assert sum(pack.price * number for pack, number in chosen) <= alone * (1 + 1e-9)
