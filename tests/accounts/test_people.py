"""The people of the shop: invited, given roles, stopped; and never without an owner."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import TOTP
from django.contrib.auth.models import User
from django.core import mail
from django.core.mail.backends.base import BaseEmailBackend
from django.test import Client

from shop.accounts import people as of_the_shop
from shop.accounts import roles
from shop.accounts.models import AccountLink, SignIn
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.preferences import changing

pytestmark = pytest.mark.django_db

PASSWORD = "four-words-of-bench"


@pytest.fixture
def owner(client, people):
    people.owner.set_password(PASSWORD)
    people.owner.save()
    client.force_login(people.owner)
    return client


@pytest.fixture
def stranger():
    return Client()


def link_in(answer) -> str:
    [path] = re.findall(r"http://[^/<]+(/join/[^/<]+/)", answer.content.decode())
    return path


def choose(client, path, password=PASSWORD, again=None):
    return client.post(path, {"password": password, "again": again or password}, follow=True)


def sign_in(client, name, password=PASSWORD):
    return client.post("/sign-in/", {"username": name, "password": password})


class TestInvitation:
    @pytest.mark.parametrize("role", roles.ROLES)
    def test_whoever_opens_the_link_has_an_account_of_that_role(self, owner, stranger, role):
        path = link_in(owner.post("/people/invite/", {"name": "lou", "role": role}))
        assert "Welcome, lou" in stranger.get(path).content.decode()
        done = choose(stranger, path)
        assert "Sign in as lou with your new password." in done.content.decode()
        assert sign_in(stranger, "lou").status_code == 302
        assert roles.role_of(User.objects.get(username="lou")) == role

    def test_it_works_once(self, owner, stranger):
        path = link_in(owner.post("/people/invite/", {"name": "lou", "role": "desk"}))
        choose(stranger, path)
        assert choose(Client(), path, "something-else-9").status_code == 404
        assert Client().get(path).status_code == 404
        assert sign_in(stranger, "lou").status_code == 302

    def test_it_ends_after_a_week(self, owner, stranger, now):
        path = link_in(owner.post("/people/invite/", {"name": "lou", "role": "desk"}))
        with time_machine.travel(now + timedelta(days=7, minutes=1)):
            assert "This link has ended" in stranger.get(path).content.decode()
            assert choose(stranger, path).status_code == 404
        assert not User.objects.filter(username="lou").exists()

    def test_it_is_taken_back(self, owner, stranger):
        path = link_in(owner.post("/people/invite/", {"name": "lou", "role": "desk"}))
        owner.post(f"/people/links/{AccountLink.objects.get().pk}/end/")
        assert stranger.get(path).status_code == 404

    def test_another_for_the_same_name_ends_the_first(self, owner, stranger):
        first = link_in(owner.post("/people/invite/", {"name": "lou", "role": "owner"}))
        second = link_in(owner.post("/people/invite/", {"name": "lou", "role": "viewer"}))
        assert stranger.get(first).status_code == 404
        choose(stranger, second)
        assert roles.role_of(User.objects.get(username="lou")) == "viewer"

    def test_the_table_holds_nothing_that_opens_it(self, owner):
        path = link_in(owner.post("/people/invite/", {"name": "lou", "role": "desk"}))
        token = path.split("/")[2]
        assert token not in str(AccountLink.objects.values())
        assert token not in owner.get("/people/").content.decode()

    def test_it_leads_to_the_address_of_the_settings(self, owner, now):
        changing.change({"address": "https://bench.example"}, by="ann", at=now)
        page = owner.post("/people/invite/", {"name": "lou", "role": "desk"}).content.decode()
        assert "https://bench.example/join/" in page

    @pytest.mark.parametrize(
        ("name", "role", "said"),
        [
            ("", "desk", "Name is empty; write what they sign in with."),
            ("lou reed", "desk", "Name is &#x27;lou reed&#x27;; write letters, figures"),
            ("TECHNICIAN", "desk", "Name is &#x27;TECHNICIAN&#x27;; somebody has it already"),
            ("lou", "boss", "Role is &#x27;boss&#x27;; write one of owner, technician"),
        ],
    )
    def test_what_cannot_be_is_named_and_nothing_is_lost(self, owner, name, role, said):
        answer = owner.post("/people/invite/", {"name": name, "role": role})
        assert answer.status_code == 422
        text = answer.content.decode()
        assert said in text
        assert f'value="{name}"' in text or not name
        assert not AccountLink.objects.exists()

    @pytest.mark.parametrize("name", ["Öhler", "Жук", "東京", "مصلح", "תיקון", "Ώμος"])
    def test_a_name_in_any_script(self, owner, stranger, name):
        path = link_in(owner.post("/people/invite/", {"name": name, "role": "desk"}))
        choose(stranger, path)
        assert sign_in(stranger, name).status_code == 302

    @pytest.mark.parametrize(
        ("password", "again", "said"),
        [
            (PASSWORD, "another", "The two passwords differ"),
            ("short", "short", "at least 8 characters"),
            ("password1", "password1", "too common"),
        ],
    )
    def test_a_password_that_does_not_do_leaves_the_link_good(
        self, owner, stranger, password, again, said
    ):
        path = link_in(owner.post("/people/invite/", {"name": "lou", "role": "desk"}))
        answer = choose(stranger, path, password, again)
        assert answer.status_code == 422
        assert said in answer.content.decode()
        choose(stranger, path)
        assert sign_in(stranger, "lou").status_code == 302

    def test_a_name_that_was_taken_meanwhile_is_told_and_nothing_is_made(self, owner, stranger):
        path = link_in(owner.post("/people/invite/", {"name": "lou", "role": "owner"}))
        roles.make_user("Lou", "viewer", "the-first-of-them")
        answer = choose(stranger, path)
        assert answer.status_code == 409
        assert "Somebody is called lou here already" in answer.content.decode()
        assert User.objects.filter(username__iexact="lou").count() == 1

    def test_guesses_are_slowed(self, stranger):
        seen = {stranger.get(f"/join/{n}/").status_code for n in range(40)}
        assert seen == {404, 429}


class TestLetter:
    INVITED = {"name": "lou", "role": "desk", "email": "lou@example.org"}

    def test_it_carries_the_link_and_the_page_says_that_it_went(self, owner, settings, stranger):
        settings.MAIL_ON = True
        page = flat(owner.post("/people/invite/", self.INVITED))
        [letter] = mail.outbox
        assert (letter.to, letter.subject) == (["lou@example.org"], "Invitation to Repair bench")
        [path] = re.findall(r"http://[^/]+(/join/\S+/)", letter.body)
        choose(stranger, path)
        assert roles.role_of(User.objects.get(username="lou")) == "desk"
        assert "The mail server took the letter for lou@example.org." in page
        assert "/join/" not in page

    def test_a_letter_that_did_not_go_leaves_the_link_on_the_page(self, owner, settings):
        settings.MAIL_ON = True
        settings.EMAIL_BACKEND = "tests.accounts.test_people.Refusing"
        answer = owner.post("/people/invite/", self.INVITED)
        assert "The letter did not go out." in flat(answer)
        assert link_in(answer)

    @pytest.mark.parametrize("on", [True, False])
    def test_the_address_is_asked_where_mail_is_sent(self, owner, settings, on):
        settings.MAIL_ON = on
        assert ('name="email"' in owner.get("/people/").content.decode()) is on

    def test_without_mail_the_page_says_so_and_shows_the_link(self, owner, settings):
        settings.MAIL_ON = False
        answer = owner.post("/people/invite/", self.INVITED)
        assert "Nothing was sent: no mail server is named." in flat(answer)
        assert link_in(answer)

    @pytest.mark.parametrize(
        "wrong", ["lou", "lou@example.org, mo@example.org", "a@b.org\nBcc: c@d.org"]
    )
    def test_an_address_that_is_none_invites_nobody(self, owner, settings, wrong):
        settings.MAIL_ON = True
        answer = owner.post("/people/invite/", self.INVITED | {"email": wrong})
        assert answer.status_code == 422
        assert "write one address like lou@example.org" in flat(answer)
        assert (mail.outbox, AccountLink.objects.count()) == ([], 0)


class Refusing(BaseEmailBackend):
    """A mail server that takes nothing."""

    def send_messages(self, email_messages):
        raise ConnectionRefusedError


class TestNewPassword:
    def test_the_old_one_works_until_the_link_was_used(self, owner, stranger, people):
        people.desk.set_password("the-old-one-9")
        people.desk.save()
        sign_in(stranger, "desk", "the-old-one-9")
        path = link_in(owner.post(f"/people/{people.desk.pk}/", {"act": "link"}))
        assert stranger.get("/").status_code == 200
        choose(Client(), path)
        assert stranger.get("/").status_code == 302, "signed out by the new password"
        assert sign_in(Client(), "desk", "the-old-one-9").status_code == 200
        assert sign_in(Client(), "desk").status_code == 302

    def test_it_ends_after_a_day_and_with_the_person(self, owner, stranger, people, now):
        path = link_in(owner.post(f"/people/{people.desk.pk}/", {"act": "link"}))
        with time_machine.travel(now + timedelta(days=1, minutes=1)):
            assert stranger.get(path).status_code == 404
        owner.post(f"/people/{people.desk.pk}/", {"act": "stop"})
        assert stranger.get(path).status_code == 404
        answer = owner.post(f"/people/{people.desk.pk}/", {"act": "link"})
        assert answer.status_code == 409
        assert "desk may not sign in; take them back first" in answer.content.decode()


class TestStopping:
    def test_who_is_stopped_is_out_at_once_and_comes_back_as_before(self, owner, people):
        theirs = Client()
        theirs.force_login(people.technician)
        assert theirs.get("/").status_code == 200
        owner.post(f"/people/{people.technician.pk}/", {"act": "stop"})
        assert theirs.get("/").status_code == 302
        owner.post(f"/people/{people.technician.pk}/", {"act": "back"})
        theirs.force_login(User.objects.get(pk=people.technician.pk))
        assert theirs.get("/").status_code == 200

    @pytest.mark.parametrize("how", [{"act": "stop"}, {"act": "role", "role": "desk"}])
    def test_the_last_owner_stays(self, owner, people, how):
        answer = owner.post(f"/people/{people.owner.pk}/", how)
        assert answer.status_code == 409
        assert "owner is the last owner; make somebody else an owner first." in flat(answer)
        assert roles.role_of(User.objects.get(pk=people.owner.pk)) == "owner"
        assert User.objects.get(pk=people.owner.pk).is_active

    @pytest.mark.parametrize("how", [{"act": "stop"}, {"act": "role", "role": "desk"}])
    def test_an_owner_beside_another_goes(self, owner, people, how):
        roles.make_user("lou", "owner", PASSWORD)
        assert owner.post(f"/people/{people.owner.pk}/", how).status_code == 302

    def test_an_owner_who_cannot_sign_in_is_no_other_owner(self, owner, people):
        roles.make_user("lou", "owner")
        stopped = roles.make_user("mo", "owner", PASSWORD)
        User.objects.filter(pk=stopped.pk).update(is_active=False)
        assert owner.post(f"/people/{people.owner.pk}/", {"act": "stop"}).status_code == 409


def test_another_role_counts_from_the_next_page_on(owner, people):
    theirs = Client()
    theirs.force_login(people.viewer)
    assert theirs.get("/receive/").status_code == 403
    owner.post(f"/people/{people.viewer.pk}/", {"act": "role", "role": "desk"})
    assert theirs.get("/receive/").status_code == 200
    wrong = owner.post(f"/people/{people.viewer.pk}/", {"act": "role", "role": "boss"})
    assert wrong.status_code == 422


def test_a_second_factor_that_is_lost_is_taken_away_and_noted(owner, people):
    TOTP.activate(people.desk, "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP")
    assert "Second factor is lost" in owner.get("/people/").content.decode()
    owner.post(f"/people/{people.desk.pk}/", {"act": "factors"})
    assert not Authenticator.objects.exists()
    assert SignIn.objects.get(what="removed").how == "by owner"


def test_who_did_what_is_on_record(owner, stranger, people):
    path = link_in(owner.post("/people/invite/", {"name": "lou", "role": "desk"}))
    choose(stranger, path)
    owner.post(f"/people/{people.viewer.pk}/", {"act": "stop"})
    told = set(SignIn.objects.values_list("what", "name", "how"))
    assert ("invited", "lou", "desk, by owner") in told
    assert ("joined", "lou", "desk") in told
    assert ("stopped", "viewer", "by owner") in told


@pytest.mark.parametrize("role", ["technician", "desk", "viewer", "nobody"])
def test_nobody_but_an_owner_has_a_say(client, people, role, now):
    client.force_login(people.named(role))
    assert client.get("/people/").status_code == 403
    for act in ("link", "stop", "back", "factors", "role"):
        answer = client.post(f"/people/{people.owner.pk}/", {"act": act, "role": "viewer"})
        assert answer.status_code == 403
    assert client.post("/people/invite/", {"name": "eve", "role": "owner"}).status_code == 403
    with pytest.raises(Forbidden):
        of_the_shop.invite("eve", "owner", by=people.named(role), at=now)
    assert not AccountLink.objects.exists()


def flat(answer) -> str:
    return " ".join(answer.content.decode().split())


def test_the_same_refusals_where_no_page_asks(people, now):
    with pytest.raises(BadInput, match="Name is empty"):
        of_the_shop.invite(" ", "desk", by=people.owner, at=now)
    with pytest.raises(Refused, match="last owner"):
        of_the_shop.stop(people.owner, by=people.owner, at=now)
    token = of_the_shop.invite("lou", "desk", by=people.owner, at=now)
    link = of_the_shop.opened(token, now=now)
    of_the_shop.use(link, PASSWORD, at=now)
    with pytest.raises(Refused, match="This link was used"):
        of_the_shop.use(link, PASSWORD, at=now)
