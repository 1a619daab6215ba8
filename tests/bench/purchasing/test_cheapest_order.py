"""The cheapest order out of short texts, by hand."""

from __future__ import annotations

import pytest

from shop.bench.purchasing.cheapest_order import cheapest_order


def test_one_parcel_instead_of_two():
    """North: 4.00 + 6.50 + 4.90 = 15.40; line by line 4.00 + 5.90 + 4.90 + 4.90 = 19.70."""
    order = cheapest_order(
        ["relay=1", "belt=1"],
        ["North:relay:1@4.00", "North:belt:1@6.50", "South:relay:1@4.60", "South:belt:1@5.90"],
        ["North=4.90", "South=4.90"],
    )
    assert (order.total, order.saving, order.proved) == ("15.40", "4.30", True)
    assert len(order.postage) == 1


def test_a_price_break_is_reached():
    order = cheapest_order(["relay=10"], ["North:relay:1@2.50+10@2.20"], [])
    assert order.total == "22.00"
    assert order.lines == ("North: 10 x relay at 2.2",)
    assert order.postage == ()


@pytest.mark.parametrize(
    ("needs", "offers", "postage", "sentence"),
    [
        ([], ["North:relay:1@2"], [], "needs and offers each take at least one entry"),
        (["relay"], ["North:relay:1@2"], [], "needs has 'relay'; write it like relay=2"),
        (["relay=1"], ["North relay"], [], "offers has 'North relay'; write it like North:relay"),
        (["relay=1"], ["North:relay:1@2@3"], [], "each price is a quantity@price"),
        (["relay=1"], ["North:relay:1@2.5.0"], [], "'2.5.0' is no amount; write it like 2.50"),
        (["relay=1"], ["North:relay:1@2"], ["North=dear"], "'dear' is no amount"),
        (["relay=1.5"], ["North:relay:1@2"], [], "needs is 1.5; it must be a whole number"),
    ],
)
def test_what_cannot_be_read_is_named(needs, offers, postage, sentence):
    with pytest.raises(ValueError, match=sentence):
        cheapest_order(needs, offers, postage)


@pytest.mark.parametrize(
    ("offers", "postage", "sentence"),
    [
        (["North:relay:1@2"], ["Nort=4.90"], "postage names Nort, who offers nothing"),
        (["North:relay:1@2", "South:relay:1@3"], ["North=4.90"], "postage of South is not told"),
        (
            ["North:relay:1@2", "North:relay:1@3"],
            ["North=4.90"],
            "offers has relay of North 2 times",
        ),
    ],
)
def test_postage_and_offers_that_cannot_be_meant_are_named(offers, postage, sentence):
    with pytest.raises(ValueError, match=sentence):
        cheapest_order(["relay=1"], offers, postage)
