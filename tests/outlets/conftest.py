from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from shop.outlets.models import COMMISSIONED, Outlet, Report
from shop.preferences import changing


@pytest.fixture
def set_up(db):
    """A shop that has decided to have outlets."""
    changing.change({"outlets": "yes"}, by="", at=timezone.now())


@pytest.fixture
def outlet(set_up):
    return Outlet.objects.create(name="B1", kind="modbus", host="b1", port=502, use=COMMISSIONED)


@pytest.fixture
def report(outlet):
    """Let the outlet have reported, so many seconds ago."""

    def reported(*, ago=1.0, **figures):
        at = timezone.now() - timedelta(seconds=ago)
        row, _ = Report.objects.update_or_create(outlet=outlet, defaults={"at": at, **figures})
        return row

    return reported
