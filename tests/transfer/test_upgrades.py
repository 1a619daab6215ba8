"""Older bundles: labels of tables that were renamed."""

from __future__ import annotations

from shop.transfer import tables, upgrades


def test_renamed_tables_are_read_under_their_old_labels():
    labels = {tables.label(model) for model in tables.tables()}
    for version, renamed in upgrades.RENAMED_TABLES.items():
        assert not renamed.keys() & labels
        assert set(renamed.values()) <= labels
        old = {name: [{"id": 1}] for name in renamed}
        came = {label for labels in upgrades.ADDED_TABLES.values() for label in labels}
        assert upgrades.upgrade(old, version - 1).keys() == set(renamed.values()) | came


def test_a_table_that_came_later_is_empty_in_a_bundle_of_before():
    assert (
        upgrades.upgrade({}, 3).items()
        >= {
            "preferences.settingchange": [],
            "jobs.shopkey": [],
            "jobs.headsignature": [],
            "bills.bill": [],
        }.items()
    )
    assert "jobs.shopkey" not in upgrades.upgrade({}, 5)


def test_a_bill_of_before_names_no_bank():
    old = {"bills.bill": [{"id": 1, "seller_iban": "DE89370400440532013000"}]}
    [bill] = upgrades.upgrade(old, 6)["bills.bill"]
    assert (bill["seller_iban"], bill["seller_bic"]) == ("DE89370400440532013000", "")


def test_an_address_of_before_has_no_parts():
    old = {"desk.customer": [{"id": 1, "address": "7 Brass Row\n54321 Lower Tin"}]}
    [customer] = upgrades.upgrade(old, 7)["desk.customer"]
    assert customer == {
        "id": 1,
        "address": "7 Brass Row\n54321 Lower Tin",
        **dict.fromkeys(("post_code", "city", "country", "language"), ""),
    }


def test_a_bill_of_before_names_no_language():
    old = {"bills.bill": [{"id": 1, "language": "fr"}, {"id": 2}]}
    bills = upgrades.upgrade(old, 9)["bills.bill"]
    assert [bill["language"] for bill in bills] == ["fr", ""]


def test_a_bundle_of_today_is_left_as_it_is():
    today = {"parts.reservation": [{"id": 1}], "jobs.ledgerrow": [{"handled_at": None}]}
    assert upgrades.upgrade(today, upgrades.VERSION) == today
