"""People through the API: what the page does, by the same rules."""

from __future__ import annotations

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import TOTP
from django.contrib.auth.models import User
from django.core import mail
from django.test import Client

from shop.accounts import roles
from shop.accounts.models import AccountLink, SignIn
from tests.api.conftest import caller_for

pytestmark = pytest.mark.django_db
PASSWORD = "four-words-of-bench"


@pytest.fixture
def owner(people):
    people.owner.set_password(PASSWORD)
    people.owner.save()
    return caller_for(people.owner)


def test_everybody_is_listed_with_role_and_state(owner, people):
    User.objects.filter(pk=people.desk.pk).update(is_active=False)
    TOTP.activate(people.technician, "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP")
    status, listed = owner.get("people/")
    by_name = {one["name"]: one for one in listed}
    assert status == 200
    assert by_name["technician"]["second_factor"] is True
    assert by_name["owner"] == {
        "id": people.owner.pk,
        "name": "owner",
        "role": "owner",
        "active": True,
        "second_factor": False,
        "seen_at": None,
    }
    assert listed[-1]["name"] == "desk"
    assert by_name["desk"]["active"] is False


def test_an_invitation_opens_an_account_of_its_role(owner):
    status, made = owner.post("people/links/", {"name": "lou", "role": "desk"})
    assert (status, made["sent"], made["letter"]) == (201, False, "")
    path = made["link"].removeprefix("http://testserver")
    Client().post(path, {"password": PASSWORD, "again": PASSWORD})
    assert roles.role_of(User.objects.get(username="lou")) == "desk"
    assert mail.outbox == []


def test_an_invitation_with_an_address_is_sent_there(owner, settings):
    settings.MAIL_ON = True
    body = {"name": "lou", "role": "desk", "email": " lou@example.org "}
    status, made = owner.post("people/links/", body)
    assert (status, made["sent"]) == (201, True)
    [letter] = mail.outbox
    assert letter.to == ["lou@example.org"]
    assert made["link"] in letter.body


def test_without_mail_the_link_comes_back_and_says_so(owner, settings):
    settings.MAIL_ON = False
    body = {"name": "lou", "role": "desk", "email": "lou@example.org"}
    status, made = owner.post("people/links/", body)
    assert (status, made["sent"]) == (201, False)
    assert made["letter"] == "Nothing was sent: no mail server is named."
    assert "/join/" in made["link"]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"name": "lou reed"}, "name"), ({"role": "boss"}, "role"), ({"email": "lou"}, "email")],
)
def test_what_cannot_be_is_named(owner, wrong, field):
    status, said = owner.post("people/links/", {"name": "lou", "role": "desk"} | wrong)
    assert (status, said["problems"][0]["field"]) == (422, field)
    assert not AccountLink.objects.exists()


def test_links_are_listed_without_what_opens_them_and_taken_back(owner):
    _, made = owner.post("people/links/", {"name": "lou", "role": "desk"})
    [one] = owner.get("people/links/")[1]
    assert (one["name"], one["role"]) == ("lou", "desk")
    assert made["link"].split("/")[-2] not in str(one)
    assert owner.delete(f"people/links/{one['id']}/") == (204, None)
    assert owner.get("people/links/") == (200, [])
    assert Client().get(made["link"]).status_code == 404
    assert owner.delete("people/links/987654/")[0] == 404


def test_a_new_password_by_link(owner, people):
    status, made = owner.post(f"people/{people.desk.pk}/link/")
    assert (status, made["name"]) == (201, "desk")
    path = made["link"].removeprefix("http://testserver")
    Client().post(path, {"password": PASSWORD, "again": PASSWORD})
    people.desk.refresh_from_db()
    assert people.desk.check_password(PASSWORD)


def test_who_is_stopped_comes_back_with_another_role(owner, people):
    theirs = caller_for(people.technician)
    assert owner.patch(f"people/{people.technician.pk}/", {"active": False})[1]["active"] is False
    assert theirs.get("jobs/")[0] == 401
    assert owner.post(f"people/{people.technician.pk}/link/")[0] == 409
    back = owner.patch(f"people/{people.technician.pk}/", {"active": True, "role": "viewer"})
    assert (back[1]["active"], back[1]["role"]) == (True, "viewer")
    assert theirs.get("jobs/")[0] == 200


@pytest.mark.parametrize("change", [{"active": False}, {"role": "desk"}])
def test_the_last_owner_stays(owner, people, change):
    status, said = owner.patch(f"people/{people.owner.pk}/", change)
    assert (status, said["codes"]) == (409, ["last-owner"])
    assert roles.role_of(User.objects.get(pk=people.owner.pk)) == "owner"
    assert User.objects.get(pk=people.owner.pk).is_active


def test_a_change_that_is_refused_in_part_is_not_made(owner, people):
    status, _ = owner.patch(f"people/{people.owner.pk}/", {"role": "owner", "active": False})
    assert status == 409
    assert not SignIn.objects.filter(what=SignIn.ROLE).exists()


def test_an_owner_beside_another_goes(owner, people):
    roles.make_user("lou", "owner", PASSWORD)
    assert owner.patch(f"people/{people.owner.pk}/", {"role": "desk"})[1]["role"] == "desk"


def test_lost_second_factors_are_taken_away(owner, people):
    TOTP.activate(people.desk, "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP")
    assert owner.delete(f"people/{people.desk.pk}/second-factors/") == (204, None)
    assert not Authenticator.objects.exists()


def test_nobody_of_that_number_is_404(owner):
    for path in ("people/987654/", f"people/{2**70}/"):
        assert owner.patch(path, {"active": False})[0] == 404


@pytest.mark.parametrize("path", ["people/links/", "people/{}/link/"])
def test_a_link_is_told_once(owner, people, path):
    path = path.format(people.desk.pk)
    headers = {**owner.headers, "Idempotency-Key": "one"}
    sent = (f"/api/v1/{path}", '{"name": "lou", "role": "desk"}', "application/json")
    assert owner.client.post(*sent, headers=headers).status_code == 201
    again = owner.client.post(*sent, headers=headers)
    assert (again.status_code, again.json()["codes"]) == (409, ["replayed"])
    assert AccountLink.objects.count() == 1
