"""The page and the API of the shop's settings."""

from __future__ import annotations

import pytest

from shop.preferences import current


@pytest.fixture
def owner(client, people):
    client.force_login(people.owner)
    return client


def _shown() -> dict[str, str]:
    return {one.setting.name: one.text for one in current.all_in_force()}


def test_the_owner_sees_every_setting_and_keeps_what_changed(owner):
    page = owner.get("/settings/")
    assert page.status_code == 200
    assert "Decimal sign" in page.content.decode()
    answer = owner.post("/settings/", _shown() | {"hands": "2"}, follow=True)
    assert "Settings kept." in answer.content.decode()
    assert "hands" in answer.content.decode()
    assert current.value("hands") == 2


def test_a_fault_is_named_at_its_field_and_nothing_is_lost(owner):
    answer = owner.post("/settings/", _shown() | {"hands": "many", "tax_name": "GST"})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "People at the bench is &#x27;many&#x27;" in text
    assert 'value="GST"' in text
    assert current.value("tax_name") == "VAT"


def test_an_emptied_field_goes_back_to_its_default(owner):
    owner.post("/settings/", _shown() | {"tax_name": "GST"})
    owner.post("/settings/", _shown() | {"tax_name": ""})
    assert current.in_force("tax_name").source == "default"


def test_what_the_machine_decides_is_told_and_stays(owner, settings):
    settings.SHOP_NAME = "Bench & Sons"
    text = owner.get("/settings/").content.decode()
    assert "Set by BENCHTAG_SHOP_NAME on the machine" in text
    owner.post("/settings/", _shown() | {"shop_name": "Other"})
    assert current.value("shop_name") == "Bench & Sons"


@pytest.mark.parametrize("role", ["technician", "desk", "viewer"])
def test_nobody_but_the_owner_decides(client, people, role):
    client.force_login(getattr(people, role))
    assert client.get("/settings/").status_code == 403
    assert client.post("/settings/", {"hands": "9"}).status_code == 403
    assert client.get("/api/v1/settings/").status_code == 403
    assert current.value("hands") == 1


def test_the_api_tells_value_source_and_kind_and_changes_some(owner):
    by_name = {one["name"]: one for one in owner.get("/api/v1/settings/").json()}
    assert by_name["hands"]["source"] == "default"
    assert by_name["hands"]["kind"] == "int"
    assert by_name["decimal_sign"]["choices"] == [".", ","]
    answer = owner.patch("/api/v1/settings/", {"hands": "3"}, content_type="application/json")
    assert answer.status_code == 200
    assert {one["name"]: one for one in answer.json()}["hands"]["source"] == "page"
    wrong = owner.patch(
        "/api/v1/settings/", {"hands": "x", "nope": "1"}, content_type="application/json"
    )
    assert wrong.status_code == 422
    assert "People at the bench" in wrong.json()["reason"]
    assert current.value("hands") == 3
