"""Settings go along in a bundle with their history; the password of the mail server stays."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.preferences import changing, current
from shop.preferences.models import SealedSetting, SettingChange
from tests.transfer.test_bundles import bundle_of, empty, exported, imported

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_shop_finds_its_settings_and_their_history_again(people, tmp_path):
    now = timezone.now()
    kept = {"shop_name": "Работилница", "time_zone": "Asia/Tokyo", "mail_host": "a.example"}
    changing.change(kept | {"mail_password": "tin-whistle"}, by="ann", at=now)
    raw = exported(now)
    assert "tin-whistle" not in str(bundle_of(raw))
    assert "preferences.sealedsetting" not in bundle_of(raw)["tables"]
    empty()
    SettingChange.objects.all().delete()
    SealedSetting.objects.all().delete()
    imported(raw, tmp_path)
    current.forget()
    assert {name: current.value(name) for name in kept} == kept
    assert current.value("mail_password") == ""
    assert SettingChange.objects.filter(name="mail_password", by="ann").exists()
