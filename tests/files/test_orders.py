import datetime

import pytest

from demoule.batch.clock import due, shift
from demoule.errors import BadInput, Mistakes
from demoule.files import orders_of

PLAIN = """\
demoule: 1
orders:
  - {what: banquet, when: "Saturday 19:30", Apricot: 96, Quince: 48}
  - {what: shop, when: "Tue–Sat 10:00", Apricot: 12}
stock: {Apricot: 24, Quince: 0}
counted: Monday
"""


def test_the_demonstration_needs_what_its_orders_come_to(demonstration):
    book = demonstration[2]
    # Banquet and five shop days less the stock: 96 + 5 x 12 - 24, 48 + 5 x 6 - 18, 64 + 5 x 6 - 12.
    assert [(name, book.needed(name)) for name in book.desserts] == [("Apricot", 132), ("Quince", 60), ("Chestnut", 82)]


def test_orders_are_read(demonstration):
    banquet, shop = demonstration[2].orders
    assert (banquet.what, banquet.due.days, banquet.due.time) == ("banquet", (5,), 19.5 * 3600)
    assert not banquet.due.recurring
    assert (shop.due.days, shop.due.recurring, shop.of("Apricot")) == ((1, 2, 3, 4, 5), True, 12)
    assert shop.where == "orders.yaml:7"
    assert demonstration[2].counted.days == (0,)


MOMENTS = [
    ("Saturday 19:30", (5,), None, 19.5),
    ("Sat 7:30 pm", None, None, None),
    ("Saturdays at 19:30", (5,), None, 19.5),
    ("Tue–Sat 10:00", (1, 2, 3, 4, 5), None, 10),
    ("Tue-Sat 10:00", (1, 2, 3, 4, 5), None, 10),
    ("Tue to Sat 10 h", (1, 2, 3, 4, 5), None, 10),
    ("Fri–Mon 9:00", (0, 4, 5, 6), None, 9),
    ("Mon, Wed and Fri 8 h 30", (0, 2, 4), None, 8.5),
    ("daily 10:00", tuple(range(7)), None, 10),
    ("weekend 7 am", (5, 6), None, 7),
    ("Friday 12pm", (4,), None, 12),
    ("2026-05-02 19:30", (), datetime.date(2026, 5, 2), 19.5),
    ("2026-05-02T07:05", (), datetime.date(2026, 5, 2), 7 + 5 / 60),
]


@pytest.mark.parametrize(("text", "days", "day", "hours"), MOMENTS)
def test_moments_are_read_as_people_write_them(text, days, day, hours):
    if days is None:
        with pytest.raises(BadInput):
            due(text)
        return
    read = due(text)
    assert (read.days, read.date, read.time) == (days, day, pytest.approx(hours * 3600))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "19:30",
        "Saturday",
        "Satturday 19:30",
        "Saturday 25:00",
        "Saturday 19:75",
        "2026-02-30 10:00",
        "13 pm Friday",
    ],
)
def test_moments_that_cannot_be_are_refused(text):
    with pytest.raises(BadInput) as caught:
        due(text)
    assert caught.value.remedy


def test_a_week_has_every_return_of_an_order():
    assert due("Tue–Sat 10:00").moments() == tuple((day * 24 + 10) * 3600.0 for day in range(1, 6))
    saturday = due("2026-05-02 19:30")
    assert saturday.moments() == ((5 * 24 + 19.5) * 3600,)
    assert saturday.moments(monday=datetime.date(2026, 4, 27)) == ((5 * 24 + 19.5) * 3600,)
    assert saturday.moments(monday=datetime.date(2026, 5, 4)) == ()


def test_a_shift_may_run_past_midnight():
    assert shift("Wed–Sat 12:30–20:30") == ((2, 3, 4, 5), 12.5 * 3600, 20.5 * 3600)
    assert shift("Fri 22:00-06:00") == ((4,), 22 * 3600, 30 * 3600)
    with pytest.raises(BadInput):
        shift("Fri 8:00–8:00")


WRONG = [
    ("Apricot: 96", "Aprikot: 96", 3, "no dessert called “Aprikot”"),
    ("Apricot: 96", "Apricot: some", 3, "is text where"),
    ("Apricot: 96", "Apricot: 0", 3, "zero"),
    ("Apricot: 96", "Apricot: 2.5", 3, "whole number"),
    ('when: "Saturday 19:30"', "when: Saturday", 3, "at what time"),
    (', when: "Saturday 19:30"', "", 3, "“when” is missing"),
    (", Apricot: 12}", "}", 4, "Nothing is ordered"),
    ("Apricot: 24", "Apricot: -1", 5, "negative"),
    ("counted: Monday", "counted: Someday", 6, "no day of the week"),
    ("counted", "countd", 6, "“countd” is no name"),
]


@pytest.mark.parametrize(("old", "new", "line", "says"), WRONG)
def test_mistakes_of_an_order_book_are_told_where_they_are(old, new, line, says):
    with pytest.raises(Mistakes) as caught:
        orders_of(PLAIN.replace(old, new, 1), "o", ["Apricot", "Quince"])
    (one,) = caught.value.mistakes
    assert one.line == line
    assert says in one.says


def test_a_book_can_be_cut_to_some_desserts():
    book = orders_of(PLAIN, "o")
    assert book.only(["Quince"]).desserts == ("Quince",)
    assert book.in_stock("Quince") == 0
    with pytest.raises(BadInput):
        book.only(["Plum"])


def test_a_kitchen_is_no_order_book():
    with pytest.raises(Mistakes, match="This is a kitchen, not an order book"):
        orders_of("demoule: 1\nkitchen: Mine\n", "o")
