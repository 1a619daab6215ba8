"""Signing in: second factors, tries that are too many, the record of it, and every page of it."""

from __future__ import annotations

import base64
from ipaddress import ip_network

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import (
    TOTP,
    format_hotp_value,
    hotp_value,
    yield_hotp_counters_from_time,
)
from allauth.usersessions.models import UserSession
from cryptography.fernet import InvalidToken
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client
from django.urls import NoReverseMatch, URLResolver, get_resolver, reverse
from django.utils import timezone

from shop.accounts.adapters import SecretAdapter
from shop.accounts.models import SignIn
from shop.accounts.sign_in_log import KEPT, purge
from tests.helpers_plain import flat

pytestmark = pytest.mark.django_db

PASSWORD = "four-words-of-bench"


@pytest.fixture
def person(people):
    people.technician.set_password(PASSWORD)
    people.technician.save()
    return people.technician


def sign_in(client, name="technician", password=PASSWORD, **more):
    return client.post("/sign-in/", {"username": name, "password": password} | more)


def what():
    return list(SignIn.objects.order_by("pk").values_list("what", "name"))


def code_of(secret):
    _, now, _ = yield_hotp_counters_from_time()
    return format_hotp_value(hotp_value(secret, now))


@pytest.fixture
def with_totp(person):
    secret = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP"
    TOTP.activate(person, secret)
    return secret


class TestPassword:
    def test_right_and_wrong_are_noted(self, client, person):
        assert sign_in(client, password="wrong").status_code == 200
        assert sign_in(client).status_code == 302
        client.post("/sign-out/")
        assert what() == [("refused", "technician"), ("in", "technician"), ("out", "technician")]

    def test_nothing_stands_above_what_has_mains(self, client, person):
        """No word of having signed in: the first page begins with what is dangerous."""
        sign_in(client)
        assert 'class="said"' not in client.get("/").content.decode()

    def test_what_is_wrong_is_not_told_apart(self, client, person):
        nobody = sign_in(client, name="nobody-here").content.decode()
        wrong = sign_in(client, password="wrong").content.decode()
        sentence = "The username and/or password you specified are not correct."
        assert sentence in nobody
        assert sentence in wrong

    def test_five_wrong_tries_close_the_name_at_that_address(self, client, person):
        for _ in range(5):
            sign_in(client, password="wrong")
        answer = sign_in(client)
        assert answer.status_code == 200
        assert "Too many failed login attempts" in answer.content.decode()
        assert what()[-1] == ("slowed", "technician")

    def test_wrong_passwords_of_a_stranger_shut_nobody_else_out(self, client, person):
        stranger = Client(REMOTE_ADDR="203.0.113.9")
        for _ in range(25):
            sign_in(stranger, password="wrong")
        assert sign_in(client).status_code == 302

    def test_behind_a_proxy_each_sender_counts_alone(self, client, person, settings):
        settings.TRUSTED_PROXIES = (ip_network("10.0.0.1"),)
        behind = {"REMOTE_ADDR": "10.0.0.1"}
        for _ in range(25):
            sign_in(Client(**behind, HTTP_X_FORWARDED_FOR="203.0.113.9"), password="wrong")
        other = Client(**behind, HTTP_X_FORWARDED_FOR="198.51.100.7")
        assert sign_in(other).status_code == 302
        assert set(SignIn.objects.values_list("address", flat=True)) == {
            "203.0.113.9",
            "198.51.100.7",
        }

    def test_a_hundred_right_sign_ins_a_minute_are_taken(self, person):
        assert {sign_in(Client()).status_code for _ in range(100)} == {302}

    def test_where_it_was_going_is_where_it_goes(self, client, person):
        assert sign_in(client, next="/jobs/")["Location"] == "/jobs/"
        client.post("/sign-out/")
        assert sign_in(client, next="https://evil.example/")["Location"] == "/"

    def test_a_name_in_another_script_and_an_empty_field(self, client, person):
        assert sign_in(client, name="嗡\0嗡").status_code == 200
        assert sign_in(client, name="", password="").status_code == 200

    def test_nobody_signs_up(self, client, db):
        assert "Closed" in client.get("/account/sign-up/").content.decode()
        client.post("/account/sign-up/", {"username": "eve", "password1": PASSWORD})
        assert not User.objects.filter(username="eve").exists()

    def test_looking_does_not_sign_out(self, client, person):
        sign_in(client)
        client.get("/sign-out/")
        assert client.get("/").status_code == 200


@pytest.mark.parametrize(
    ("seconds", "code"),
    [
        (59, "287082"),
        (1111111109, "081804"),
        (1111111111, "050471"),
        (1234567890, "005924"),
        (2000000000, "279037"),
        (20000000000, "353130"),
    ],
)
def test_codes_are_those_of_rfc_6238(seconds, code):
    """RFC 6238, appendix B, SHA-1, the last six of its eight figures; values from memory."""
    secret = base64.b32encode(b"12345678901234567890").decode()
    assert format_hotp_value(hotp_value(secret, seconds // 30)) == code


class TestSecondFactor:
    def test_a_code_is_asked_for_after_the_password(self, client, person, with_totp):
        answer = sign_in(client)
        assert answer["Location"].startswith(reverse("mfa_authenticate"))
        assert client.get("/")["Location"].startswith("/sign-in/")
        wrong = client.post(reverse("mfa_authenticate"), {"code": "000000"})
        assert wrong.status_code == 200
        assert (
            client.post(reverse("mfa_authenticate"), {"code": code_of(with_totp)}).status_code
            == 302
        )
        assert client.get("/").status_code == 200
        assert SignIn.objects.filter(what="in").get().how == "password, totp"

    def test_a_code_is_good_once(self, client, person, with_totp):
        code = code_of(with_totp)
        sign_in(client)
        client.post(reverse("mfa_authenticate"), {"code": code})
        again = Client()
        sign_in(again)
        assert again.post(reverse("mfa_authenticate"), {"code": code}).status_code == 200
        assert again.get("/").status_code == 302

    def test_codes_cannot_be_tried_through(self, client, person, with_totp):
        sign_in(client)
        answers = [client.post(reverse("mfa_authenticate"), {"code": f"{n:06}"}) for n in range(12)]
        assert b"Too many failed login attempts" in answers[-1].content

    def test_the_secret_is_sealed_in_the_database(self, person, with_totp):
        stored = Authenticator.objects.get(type="totp").data["secret"]
        assert with_totp not in stored
        assert SecretAdapter().decrypt(stored) == with_totp

    def test_a_new_signing_key_reads_what_the_old_one_sealed(self, person, with_totp, settings):
        stored = Authenticator.objects.get(type="totp").data["secret"]
        settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
        settings.SECRET_KEY = "a new one"
        assert SecretAdapter().decrypt(stored) == with_totp
        settings.SECRET_KEY_FALLBACKS = []
        with pytest.raises(InvalidToken):
            SecretAdapter().decrypt(stored)

    def test_switching_it_on_and_off_is_noted(
        self, client, person, django_capture_on_commit_callbacks
    ):
        sign_in(client)
        asked = client.get(reverse("mfa_activate_totp"))
        assert asked["Location"].startswith(reverse("account_reauthenticate"))
        client.post(reverse("account_reauthenticate"), {"password": PASSWORD})
        assert client.get(reverse("mfa_activate_totp")).status_code == 200
        secret = client.session["mfa.totp.secret"]
        with django_capture_on_commit_callbacks(execute=True):
            client.post(reverse("mfa_activate_totp"), {"code": code_of(secret)})
        assert ("added", "technician") in what()
        client.post(reverse("mfa_deactivate_totp"))
        assert ("removed", "technician") in what()

    def test_the_administration_has_no_door_past_it(self, client, person, with_totp):
        person.is_staff = person.is_superuser = True
        person.save()
        answer = client.get("/admin/login/")
        assert answer["Location"].startswith("/sign-in/")
        body = {"username": "technician", "password": PASSWORD}
        client.post("/admin/login/", body)
        assert client.get("/admin/").status_code == 302

    def test_what_is_lost_is_taken_away_by_command(self, client, person, with_totp, capsys):
        call_command("user", "technician", "technician", "--forget-second-factor")
        said = capsys.readouterr().out
        assert "1 second factor taken away." in said
        password = said.rpartition("Password: ")[2].strip()
        assert sign_in(client, password=password)["Location"] == "/"
        assert ("removed", "technician") in what()


class TestSessions:
    def test_they_are_listed_and_the_others_ended(self, client, person):
        other = Client(headers={"User-Agent": "Old Telephone"})
        sign_in(other)
        sign_in(client)
        page = client.get(reverse("usersessions_list")).content.decode()
        assert "Old Telephone" in page
        client.post(reverse("usersessions_list"))
        assert other.get("/").status_code == 302
        assert client.get("/").status_code == 200
        assert UserSession.objects.filter(user=person).count() == 1

    def test_a_new_password_ends_the_other_sessions(self, client, person):
        other = Client()
        sign_in(other)
        sign_in(client)
        body = {
            "oldpassword": PASSWORD,
            "password1": "new-words-here",
            "password2": "new-words-here",
        }
        client.post(reverse("account_change_password"), body)
        assert ("password", "technician") in what()
        assert other.get("/").status_code == 302


class TestRecord:
    def test_it_is_kept_for_a_while_and_no_longer(self, client, person):
        sign_in(client)
        now = timezone.now()
        assert purge(now=now + KEPT * 0.99) == 0
        assert purge(now=now + KEPT * 1.01) == 1

    def test_everybody_sees_their_own_and_the_owner_all(self, client, people, person):
        sign_in(Client(), password="wrong")
        sign_in(client)
        page = flat(client.get(reverse("account")).content.decode())
        assert "Signed in" in page
        assert "Refused" in page, "a try under their name is theirs to know of"
        client.force_login(people.owner)
        assert "technician" in client.get(reverse("sign-ins")).content.decode()


PUBLIC = {
    "sign-in",
    "account_login",
    "account_signup",
    "account_inactive",
}


def of_the_library():
    def names(patterns, inside=False):
        for entry in patterns:
            if isinstance(entry, URLResolver):
                yield from names(
                    entry.url_patterns, inside or "accounts" in str(entry.urlconf_name)
                )
            elif inside:
                yield entry.name

    return set(names(get_resolver().url_patterns))


def place(name):
    try:
        return reverse(name)
    except NoReverseMatch:
        return reverse(name, args=[1])


def test_every_page_of_accounts_asks_a_stranger_to_sign_in(client, db):
    found = of_the_library()
    assert len(found) > 20
    for name in found:
        answer = client.get(place(name))
        if name in PUBLIC:
            assert answer.status_code in (200, 404), name
        else:
            where = answer.headers.get("Location", "")
            assert answer.status_code in (302, 404, 405), name
            assert where.startswith(("/sign-in/", "/reminders/", "/account/")) or not where, name


def test_every_page_of_accounts_keeps_the_policy_for_scripts(client, person):
    sign_in(client)
    for name in of_the_library():
        answer = client.get(place(name), follow=True)
        assert "unsafe" not in answer["Content-Security-Policy"]
        assert "style=" not in answer.content.decode(), name
