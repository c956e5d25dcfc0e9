import pytest

from demoule.batch import Person, weigh_up
from demoule.formula import Bake, Blend, Boil, Candy, Heat, Whip, cook_all
from demoule.piece.design import Cavity, HalfSphere, Mould

# Common practice, no source: minutes of setting up and of work on a batch, seconds on a piece; a third up.
MINUTE = 60.0


def tray(two_part=False):
    return Mould(name="m", cavity=Cavity(shape=HalfSphere(radius=0.03)), per_tray=20, owned=3, two_part=two_part)


def test_one_making_of_each_kind(write, bare):
    def minutes(steps, lines=2):
        weigh = dict.fromkeys(("water", "sugar", "cream", "fruit")[:lines], 100)
        made = write("a", weigh, steps)
        syrup = write("s", {"sugar": 60, "water": 40})
        return cook_all([made, syrup], bare.larder)["a"].hands_on / MINUTE - lines * 40 / 60

    assert minutes([]) == pytest.approx(0)
    assert minutes([Boil(), Whip(overrun=0.5)], 3) == pytest.approx(13 + 20 + 15 + 14.5)
    assert minutes([Boil()]) == pytest.approx(8)
    assert minutes([Blend()]) == pytest.approx(10)
    assert minutes([Whip(overrun=0.5), Bake(at=440.0, duration=600.0, loses=0.1)]) == pytest.approx(20 + 30)
    assert minutes([Heat(to=340.0), Candy(syrup="s")], 4) == pytest.approx(15 + 27)


def test_all_kinds_of_work_on_sixty_pieces(write, bare, piece_of):
    components = (write("body", {"cream": 1000}), write("coat", {"fat": 300}))
    cooked = cook_all(components, bare.larder)
    layers = (
        ("heart", "body", 0.02, {}),
        ("body", "body", 0.04, {}),
        ("shell", "coat", 0.006, {}),
        ("spray", "coat", 0.002, {}),
    )
    piece = piece_of(*layers, moulds=(tray(), tray()), hearts=2)
    weighing = weigh_up("d", components, cooked, piece, bare, 60)
    work = {kind: seconds / MINUTE for kind, seconds in weighing.hands_on}
    assert work["weigh and cook"] == pytest.approx(5 + 2 * 40 / 60)
    assert work["fill hearts"] == pytest.approx(2 * 18 + 120 * 7 / 60)
    assert work["fill moulds"] == pytest.approx(25 + 43)
    assert work["demould"] == pytest.approx(15 + 3 * 2 + 25)
    assert work["dip"] == pytest.approx(42 + 16)
    assert work["spray"] == pytest.approx(46 + 12)
    assert work["finish"] == pytest.approx(10 + 17)


def test_one_alone_dips_slower_and_closed_moulds_take_longer(write, bare, piece_of):
    from dataclasses import replace

    components = (write("body", {"cream": 1000}), write("coat", {"fat": 300}))
    cooked = cook_all(components, bare.larder)
    piece = piece_of(("body", "body", 0.04, {}), ("shell", "coat", 0.006, {}), moulds=(tray(two_part=True), None))
    alone = replace(bare, people=(Person(name="chef", shift="", pay=20.0),))
    work = dict(weigh_up("d", components, cooked, piece, alone, 60).hands_on)
    assert work["dip"] / MINUTE == pytest.approx(42 + 28)
    assert work["fill moulds"] / MINUTE == pytest.approx(25 + 67)
