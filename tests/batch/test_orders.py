import datetime

import pytest

from demoule.batch.orders import Due, Order, OrderBook


def test_a_moment_is_a_date_or_days():
    with pytest.raises(ValueError, match="either"):
        Due(time=0)
    with pytest.raises(ValueError, match="either"):
        Due(days=(0,), date=datetime.date(2026, 5, 2))
    with pytest.raises(ValueError, match="0 to 6"):
        Due(days=(7,))
    with pytest.raises(ValueError, match="midnight"):
        Due(days=(0,), time=86400)


def test_a_recurring_order_counts_each_of_its_days():
    shop = Order(what="shop", due=Due(days=(1, 2, 3), time=36000), pieces=(("Plum", 10),))
    party = Order(what="party", due=Due(date=datetime.date(2026, 5, 2), time=70000), pieces=(("Plum", 7), ("Fig", 5)))
    book = OrderBook(orders=(shop, party), stock=(("Plum", 4), ("Fig", 9)))
    assert (book.ordered("Plum"), book.needed("Plum")) == (37, 33)
    assert (book.ordered("Fig"), book.needed("Fig")) == (5, 0)
    assert book.desserts == ("Plum", "Fig")
    assert book.only(["Fig"]).orders == (Order(what="party", due=party.due, pieces=(("Fig", 5),)),)
