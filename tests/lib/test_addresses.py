"""Addresses in parts, and line by line as people write them. Orders are common practice."""

from __future__ import annotations

import pytest

from shop.lib.addresses import Address, needs_post_code, of_shop_on_one_line

LEEDS = Address(street="7 Mill Row", post_code="LS1 4AP", city="Leeds", country="GB")


@pytest.mark.parametrize(
    ("typed", "lines"),
    [
        ("4 Tin Lane\n12345 Upper Tin", ["4 Tin Lane", "12345 Upper Tin"]),
        ("4 Tin Lane, 12345 Upper Tin", ["4 Tin Lane", "12345 Upper Tin"]),
        ("", []),
    ],
)
def test_one_that_was_typed_in_one_text_goes_line_by_line(typed, lines):
    assert Address(street=typed).lines() == lines


def test_a_town_that_stands_in_the_street_too_is_said_once():
    both = Address(street="4 Tin Lane\n12345 Upper Tin", post_code="12345", city="Upper Tin")
    assert both.lines() == ["4 Tin Lane", "12345 Upper Tin"]


def test_a_street_that_is_called_after_the_town_stays():
    named = Address(street="Upper Tin Road 12345 b, yard", post_code="12345", city="Upper Tin")
    assert named.lines() == ["Upper Tin Road 12345 b", "yard", "12345 Upper Tin"]
    assert Address(street="Leeds", city="Leeds").lines() == ["Leeds"]


def test_the_post_code_stands_where_the_country_has_it():
    assert LEEDS.town == "Leeds LS1 4AP"
    assert Address(post_code="12345", city="Upper Tin", country="DE").town == "12345 Upper Tin"


def test_the_country_is_named_from_abroad_alone():
    assert LEEDS.lines(seen_from="GB") == ["7 Mill Row", "Leeds LS1 4AP"]
    assert LEEDS.lines(seen_from="DE")[-1] == "UNITED KINGDOM"


def test_some_countries_have_no_post_codes():
    assert needs_post_code("DE")
    assert not needs_post_code("HK")


def test_the_shop_stands_on_one_line(settings):
    settings.POSTAL_ADDRESS, settings.POST_CODE, settings.CITY = "4 Tin Lane", "12345", "Ostmere"
    settings.COUNTRY = "DE"
    assert of_shop_on_one_line() == "4 Tin Lane, 12345 Ostmere"
