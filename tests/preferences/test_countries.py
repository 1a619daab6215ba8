"""What is usual in a country: proposed, told where it is from, and never taken over what was typed."""

from __future__ import annotations

import pytest

from shop.preferences import changing, countries, current
from shop.preferences.definitions import BY_NAME

pytestmark = pytest.mark.django_db


def usual(country: str) -> dict[str, str]:
    return {one.name: one.text for one in countries.proposals(country)}


@pytest.mark.parametrize("country", sorted(countries._table()))
def test_what_is_proposed_for_each_country_of_the_table_can_be_kept(country, now):
    proposed = usual(country)
    changing.change(proposed, by="ann", at=now)
    assert all(current.in_force(name).text == text for name, text in proposed.items())
    assert countries.proposals(country) == []


def test_a_shop_in_germany(now):
    # Currency, zone and comma: CLDR 46 by babel. MwSt.: Umsatzsteuergesetz, from memory.
    # 230 V: IEC 60038. A4: ISO 216 is the default already, and nothing to propose.
    assert usual("DE") == {
        "decimal_sign": ",",
        "time_zone": "Europe/Berlin",
        "holidays": "DE",
        "tax_name": "MwSt.",
        "mains_volts": "230",
        "customers_language": "de",
    }


def test_a_shop_in_the_united_states():
    # 120 V: ANSI C84.1, from memory. Letter: CLDR.
    assert usual("US") == {
        "currency": "USD",
        "time_zone": "America/New_York",
        "paper_size": "us-letter",
        "holidays": "US",
        "tax_name": "Sales tax",
        "mains_volts": "120",
        "practice": "us-service",
    }


def test_a_country_of_several_zones_and_volts_leaves_both_to_the_owner():
    assert {"time_zone", "mains_volts", "practice"} & set(usual("KZ")) == set()


def test_what_was_typed_is_told_and_is_not_among_the_undecided(now):
    changing.change({"currency": "CHF", "practice": "iec"}, by="ann", at=now)
    decided = [one.name for one in countries.proposals("US") if not one.undecided]
    assert decided == ["currency", "practice"]
    assert {"currency", "practice"} & set(countries.undecided("US")) == set()


def test_what_the_machine_decides_is_not_proposed(settings):
    settings.CURRENCY = "CHF"
    assert "currency" not in usual("US")


def test_no_country_proposes_nothing():
    assert usual("") == {}


def test_every_word_of_the_table_is_one_that_is_read():
    for country, words in countries._table().items():
        BY_NAME["country"].read(country)
        assert set(words) <= {"tax", "volts", "practice", "zone"}, country
