"""Instruments go along in a bundle; one from before them is read."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.instruments import connecting
from shop.instruments.models import Accuracy, Instrument, LastUsed
from shop.transfer import upgrades
from tests.transfer.test_bundles import bundle_of, empty, exported, imported

pytestmark = pytest.mark.django_db(transaction=True)


def test_nothing_of_them_is_lost(bench, people, job, clamp, tmp_path):
    named = {"earth-resistance": clamp.pk}
    connecting.save(
        clamp, "TCPIP::10.0.0.9::5025::SOCKET", 9600, {"resistance": ""}, by=people.owner
    )
    bench.sign(job, "earth-continuity", readings=[("earth_ohms", 0.06)], instruments=named)
    raw = exported(timezone.now())
    before = bundle_of(raw)["tables"]
    empty()
    assert not Instrument.objects.exists()
    imported(raw, tmp_path)
    assert Accuracy.objects.get().instrument.serial == "0042"
    assert LastUsed.objects.get().instrument.name == "Earth clamp"
    after = bundle_of(exported(timezone.now()))["tables"]
    for table in ("instrument", "accuracy", "lastused", "connection"):
        assert after[f"instruments.{table}"] == before[f"instruments.{table}"]


def test_a_bundle_from_before_them_has_none():
    tables = upgrades.upgrade({}, 6)
    assert tables["instruments.instrument"] == []
    assert tables["instruments.connection"] == []
