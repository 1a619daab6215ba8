"""Tokens: named, scoped, with an end, revoked, and gone with the password or the person."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from shop.api.models import ApiToken

JOBS = "/api/v1/jobs/"


def _get(client, token, path=JOBS):
    return client.get(path, headers={"Authorization": f"Bearer {token}"}).status_code


def _post(client, token):
    return client.post(
        JOBS,
        {"make": "Own", "model": "One", "facts": {}},
        content_type="application/json",
        headers={"Authorization": f"Bearer {token}"},
    )


@pytest.fixture
def user(people):
    return people.technician


def test_a_token_opens_and_another_does_not(client, user):
    token = ApiToken.make(user)
    assert _get(client, token) == 200
    assert _get(client, token + "x") == 401


@pytest.mark.parametrize("ends", ["expired", "revoked", "password", "inactive"])
def test_it_opens_nothing_once_it_has_fallen(client, user, ends):
    token = ApiToken.make(user)
    now = timezone.now()
    if ends == "expired":
        ApiToken.objects.update(expires_at=now - timedelta(seconds=1))
    elif ends == "revoked":
        ApiToken.objects.update(revoked_at=now)
    elif ends == "password":
        user.set_password("another one, longer")
        user.save()
    else:
        user.is_active = False
        user.save()
    assert _get(client, token) == 401


def test_one_that_reads_writes_nothing(client, user):
    token = ApiToken.make(user, scope=ApiToken.READ)
    assert _get(client, token) == 200
    answer = _post(client, token)
    assert answer.status_code == 403
    assert "reads only" in answer.json()["reason"]


def test_the_page_makes_shows_once_lists_and_revokes(client, user):
    client.force_login(user)
    body = {"name": "the scale", "scope": "read", "days": "30"}
    made = client.post("/account/tokens/make/", body).content.decode()
    token = made.split("<code>")[1].split("</code>")[0]
    assert _get(client, token) == 200
    listed = client.get("/account/tokens/").content.decode()
    assert "the scale" in listed
    assert token not in listed
    client.post(f"/account/tokens/{ApiToken.objects.get().pk}/revoke/")
    client.logout()
    assert _get(client, token) == 401


def test_a_bad_entry_is_named_and_nothing_is_lost(client, user):
    client.force_login(user)
    answer = client.post("/account/tokens/make/", {"name": "scale", "scope": "read", "days": "0"})
    assert answer.status_code == 422
    assert 'value="scale"' in answer.content.decode()
    assert not ApiToken.objects.exists()


def test_only_an_owner_revokes_what_is_anothers(client, people):
    ApiToken.make(people.technician, name="of the bench")
    number = ApiToken.objects.get().pk
    client.force_login(people.desk)
    assert "of the bench" not in client.get("/account/tokens/").content.decode()
    client.post(f"/account/tokens/{number}/revoke/")
    assert ApiToken.objects.get().revoked_at is None
    client.force_login(people.owner)
    client.post(f"/account/tokens/{number}/revoke/")
    assert ApiToken.objects.get().revoked_at is not None


def _command(*words):
    out = StringIO()
    call_command("api-token", *words, stdout=out)
    return out.getvalue()


def test_the_command_prints_the_token_as_its_last_word_lists_and_revokes(client, user):
    token = _command(user.username, "--name", "scale", "--days", "10").split()[-1]
    assert _get(client, token) == 200
    assert "scale" in _command(user.username, "--list")
    _command(user.username, "--revoke", str(ApiToken.objects.get().pk))
    assert _get(client, token) == 401
    assert "opens nothing" in _command(user.username, "--list")
    with pytest.raises(CommandError, match="no token 99"):
        _command(user.username, "--revoke", "99")
    with pytest.raises(CommandError, match="--days is 0"):
        _command(user.username, "--days", "0")
