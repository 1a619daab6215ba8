"""Which spellings are one unit, which serial numbers are none, and how units of old are settled."""

from __future__ import annotations

import pytest

from shop.jobs.identity import identity_of, settled


@pytest.mark.parametrize(
    ("make", "model", "serial"),
    [
        ("corvenby", "SPOOL 3", "k-1234"),
        (" Corvenby", "Spool3", "K 1234"),
        ("Corven by", "Spool 3", "K/12.34"),
        ("Corvenby", "Spool 3", "Ｋ１２３４"),
    ],
)
def test_spellings_of_one_unit_are_one(make, model, serial):
    assert identity_of(make, model, serial) == identity_of("Corvenby", "Spool 3", "K1234") != ""


@pytest.mark.parametrize(
    ("make", "model", "serial"),
    [
        ("Corvenbi", "Spool 3", "K1234"),
        ("Corvenby", "Spool 4", "K1234"),
        ("Corvenby", "Spool 3", "K1235"),
        ("Corvenby", "Spool 3", "K12340"),
        # The same letters, parted elsewhere.
        ("Corvenby S", "pool 3", "K1234"),
    ],
)
def test_another_unit_is_another(make, model, serial):
    assert identity_of(make, model, serial) != identity_of("Corvenby", "Spool 3", "K1234")


@pytest.mark.parametrize(
    "serial",
    [
        "", " ", "n/a", "N.A.", "?", "???", "-", "--", "none", "Unknown", "no serial", "S/N",
        "0", "0000", "1111", "99999", "XX", "xxxx", "(illegible)", "…", "00 00",
    ],
)  # fmt: skip
def test_what_people_type_for_nothing_identifies_nothing(serial):
    assert identity_of("Corvenby", "Spool 3", serial) == ""


@pytest.mark.parametrize(
    "serial",
    [
        "1",
        "22",
        "333",
        "00001",
        "1110",
        "N12",
        "none-7",
        "SN 4",
        "Ж",
        "音響一号",
        "سير",
        "८४",
        "Σ1",
    ],
)
def test_short_numbers_and_every_script_are_serials(serial):
    assert identity_of("Corvenby", "Spool 3", serial)


def unit(key, serial, make="Corvenby"):
    return {"id": key, "make": make, "model": "A", "serial": serial}


def test_spellings_of_old_become_the_first_and_jobs_move():
    found = settled([unit(2, "k1"), unit(1, "K-1"), unit(3, "K-2")], [(7, 2), (5, 1), (6, 3)])
    assert found.moves == {7: 1}
    assert set(found.identities) == {1, 3}
    assert found.own == {}


def test_what_shared_a_number_that_is_none_is_parted():
    found = settled([unit(1, "n/a"), unit(2, "")], [(5, 1), (6, 1), (8, 1), (7, 2)])
    assert found.own == {6: 1, 8: 1}
    assert (found.moves, found.identities) == ({}, {})
