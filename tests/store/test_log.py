"""Prices with dates, what happened, and lots: noted once however often sent, and never changed."""

from datetime import UTC, date, datetime, timedelta

import pytest

from demoule.errors import BadInput, UnknownName
from demoule.store import AlreadyThere, Happening, Lot, NotThere

AT = datetime(2026, 5, 2, 8, 0, tzinfo=UTC)
DAY = date(2026, 5, 2)


def tick(key="k1", **more):
    given = {"book": "week", "day": DAY, "task": "Apricot 1 fill", "kind": "tick", "who": "Bela", "at": AT}
    return Happening(key=key, **{**given, **more})


def test_the_price_of_a_day_is_the_latest_by_then(store, by):
    add = store.prices.add
    add("cream 35 %", by(), price=4.2, currency="EUR", mass=1.0, from_day=date(2026, 1, 1), supplier="the dairy")
    add("cream 35 %", by(), price=9.0, currency="EUR", mass=2.0, from_day=date(2026, 3, 1), pack="2 l")
    add("cream 35 %", by(), price=8.8, currency="EUR", mass=2.0, from_day=date(2026, 3, 1))  # put right
    add("sugar", by(), price=1.1, currency="EUR", mass=1.0, from_day=date(2026, 2, 1))
    assert store.prices.on("cream 35 %", date(2025, 12, 31)) is None
    assert store.prices.on("cream 35 %", date(2026, 2, 28)).price == 4.2
    assert store.prices.on("cream 35 %", date(2026, 3, 1)).per_kg == pytest.approx(4.4)
    assert [price.price for price in store.prices.of("cream 35 %")] == [8.8, 9.0, 4.2]
    assert {item: price.per_kg for item, price in store.prices.all_on(date(2026, 2, 1)).items()} == {
        "cream 35 %": 4.2,
        "sugar": 1.1,
    }


@pytest.mark.parametrize(
    "wrong", [{"price": -1}, {"price": float("nan")}, {"mass": 0}, {"currency": "eur"}, {"currency": "€"}]
)
def test_what_is_no_price_is_refused(store, by, wrong):
    given = {"price": 1.0, "currency": "EUR", "mass": 1.0, "from_day": DAY}
    with pytest.raises(BadInput):
        store.prices.add("sugar", by(), **{**given, **wrong})
    assert store.kept()["price"] == 0


def test_a_price_sent_twice_is_noted_once(store, by):
    given = {"price": 1.0, "currency": "EUR", "mass": 1.0, "from_day": DAY, "key": "k"}
    assert store.prices.add("sugar", by(), **given) == store.prices.add("sugar", by(), **given)
    assert store.kept()["price"] == 1
    with pytest.raises(AlreadyThere):
        store.prices.add("sugar", by(), **{**given, "price": 2.0})


def test_a_tablet_that_sends_again_notes_nothing_twice(store, by):
    first = [tick("a"), tick("b", kind="weight", mass=1.25), tick("c", kind="temperature", temperature=255.15)]
    assert store.happened.add(first, by("tablet")) == tuple(first)
    # Back from the cold store: all of it again, and one more.
    again = [*first, tick("d", kind="note", note="the shell cracked, œ ½"), first[0]]
    assert store.happened.add(again, by("tablet")) == tuple(again)
    assert [one.key for one in store.happened.list("week", day=DAY)] == ["a", "b", "c", "d"]
    assert store.happened.list("week")[2] == first[2]
    assert len(store.audit.list(what="log week 2026-05-02")) == 2


def test_a_key_never_stands_for_two_things_and_a_batch_is_whole(store, by):
    store.happened.add([tick("a")], by())
    with pytest.raises(AlreadyThere):
        store.happened.add([tick("new"), tick("a", who="Cleo")], by())
    assert [one.key for one in store.happened.list()] == ["a"]


def test_what_was_noted_wrong_is_replaced_or_withdrawn_and_stays_readable(store, by):
    wrong, right = tick("a", kind="weight", mass=12.5), tick("b", kind="weight", mass=1.25, replaces="a")
    store.happened.add([wrong, tick("t")], by())
    store.happened.add([right, tick("u", kind="withdrawn", replaces="t", at=AT + timedelta(minutes=1))], by())
    assert store.happened.list("week") == (right,)
    assert {one.key for one in store.happened.list("week", whole=True)} == {"a", "b", "t", "u"}


def test_what_happened_is_found_by_task_and_lot(store, by):
    store.happened.add([tick("a"), tick("b", task="other"), tick("c", lot="L1"), tick("d", book="next")], by())
    assert [one.key for one in store.happened.list(task="other")] == ["b"]
    assert [one.key for one in store.happened.list(lot="L1")] == ["c"]
    assert [one.key for one in store.happened.list("next")] == ["d"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"kind": "weigth"},
        {"kind": "withdrawn"},
        {"start": AT, "end": AT - timedelta(seconds=1)},
        {"mass": -0.1},
        {"mass": float("inf")},
        {"temperature": 0.0},
        {"temperature": float("nan")},
        {"pieces": -1},
        {"key": ""},
        {"key": "x" * 81},
        {"note": "a\0"},
        {"who": "\ud800"},
    ],
)
def test_what_cannot_have_happened_is_refused(wrong):
    with pytest.raises(BadInput) as refused:
        tick(**wrong)
    if wrong.get("kind") == "weigth":
        assert isinstance(refused.value, UnknownName)
        assert refused.value.hint == "weight"


def lot(code, *made_from, **more):
    return Lot(code=code, what="Apricot", made=AT, who="Bela", made_from=made_from, **more)


def test_one_bad_carton_finds_all_its_pieces(store, by):
    for one in (
        lot("jelly 1", "juice carton 77", "agar 3"),
        lot("heart 1", "jelly 1", "thyme"),
        lot("heart 2", "other jelly"),
        lot("apricot 1", "heart 1", "ganache 1", pieces=96, until=date(2026, 8, 1)),
    ):
        store.lots.add(one, by())
    bad = store.lots.went_into("juice carton 77")
    assert {one.code for one in bad} == {"jelly 1", "heart 1", "apricot 1"}
    assert store.lots.came_from("apricot 1") == (
        "agar 3",
        "ganache 1",
        "heart 1",
        "jelly 1",
        "juice carton 77",
        "thyme",
    )
    assert store.lots.get("apricot 1").until == date(2026, 8, 1)
    assert store.lots.get("jelly 1").made_from == ("juice carton 77", "agar 3")
    with pytest.raises(NotThere):
        store.lots.get("nothing")


def test_a_lot_is_noted_once_and_never_goes_into_itself(store, by):
    assert store.lots.add(lot("a", "b"), by()) == store.lots.add(lot("a", "b"), by())
    assert store.kept()["lot"] == 1
    with pytest.raises(AlreadyThere):
        store.lots.add(lot("a", "c"), by())
    with pytest.raises(BadInput, match="by way of others"):
        store.lots.add(lot("b", "a"), by())
    with pytest.raises(BadInput, match="into itself"):
        lot("z", "z")
    assert [one.code for one in store.lots.list(after=DAY)] == ["a"]
    assert store.lots.list(after=DAY + timedelta(days=1)) == ()
