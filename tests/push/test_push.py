"""Messages to browsers, against a push service on this machine that plays the browser too.

It decrypts with http-ece (RFC 8188, 8291), and checks the signature with py-vapid (RFC 8292).
"""

from __future__ import annotations

import base64
import http.server
import json
import os
import re
import threading
import time

import http_ece
import pytest
import time_machine
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from django.utils import timezone
from py_vapid import Vapid02

from shop.messages import mail_queue
from shop.preferences import sealed
from shop.preferences.models import SealedSetting
from shop.push import keys, sending, services
from shop.push.models import PushMessage, Subscription
from shop.reminders import periodic
from shop.reminders import services as reminder_services
from tests.reminders.when import at

pytestmark = pytest.mark.django_db


def base64url(raw):
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode()


class Service(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.got.append((dict(self.headers), body))
        self.send_response(self.server.status)
        self.end_headers()

    def log_message(self, *args):
        pass


class Browser:
    """A browser with keys of its own, and its push service."""

    def __init__(self):
        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Service)
        self.server.got, self.server.status = [], 201
        self.key, self.auth = ec.generate_private_key(ec.SECP256R1()), os.urandom(16)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    @property
    def address(self):
        return f"http://127.0.0.1:{self.server.server_port}/push/1"

    @property
    def described(self):
        point = self.key.public_key().public_bytes(
            serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint
        )
        return {"p256dh": base64url(point), "auth": base64url(self.auth)}

    def told(self):
        """What came, decrypted."""
        return [
            json.loads(
                http_ece.decrypt(
                    body, private_key=self.key, auth_secret=self.auth, version="aes128gcm"
                )
            )
            for _, body in self.server.got
        ]

    def subscribe(self, person):
        return Subscription.objects.create(
            person=person, address=self.address, made_at=timezone.now(), **self.described
        )


@pytest.fixture
def browser(monkeypatch):
    monkeypatch.setattr(sending, "PRIVATE_ALLOWED", True)
    browser = Browser()
    yield browser
    browser.server.shutdown()
    browser.server.server_close()


def queue(*people, text="Job 5: mains is on.", **more):
    given = {"key": "reminder/1", "path": "/jobs/5/", "urgent": True, "send_after": timezone.now()}
    services.queue(people, text=text, **given | more)


class TestWhatIsSent:
    def test_the_browser_reads_it_and_nobody_on_the_way(self, browser, people):
        browser.subscribe(people.owner)
        words = "Auftrag 5: Netz ist an. Größe, 山田, سارة, Кузнецов"
        queue(people.owner, text=words)
        assert sending.deliver(now=timezone.now()) == 1
        assert browser.told() == [
            {"title": "Repair bench", "body": words, "path": "/jobs/5/", "urgent": True}
        ]
        [(headers, body)] = browser.server.got
        assert headers["Content-Encoding"] == "aes128gcm"
        assert headers["Urgency"] == "high"
        assert int(headers["TTL"]) > 0
        assert b"Netz" not in body
        stranger = ec.generate_private_key(ec.SECP256R1())
        with pytest.raises(http_ece.ECEException):
            http_ece.decrypt(
                body, private_key=stranger, auth_secret=browser.auth, version="aes128gcm"
            )

    def test_the_push_service_knows_the_shop_by_its_key(self, browser, people, settings):
        settings.EMAIL = "bench@example.org"
        browser.subscribe(people.owner)
        queue(people.owner)
        sending.deliver(now=timezone.now())
        authorization = browser.server.got[0][0]["Authorization"]
        assert Vapid02.verify(authorization)
        token, key = re.fullmatch(r"vapid t=(.+),k=(.+)", authorization).groups()
        assert key == keys.public_key()
        claims = json.loads(base64.urlsafe_b64decode(token.split(".")[1] + "=="))
        assert claims["aud"] == browser.address.removesuffix("/push/1")
        assert claims["sub"].startswith("mailto:")
        assert 0 < claims["exp"] - time.time() <= 24 * 3600

    def test_once_to_each_browser(self, browser, people):
        browser.subscribe(people.owner)
        for _ in range(2):
            queue(people.owner)
            sending.deliver(now=timezone.now())
        assert len(browser.server.got) == 1

    def test_a_push_service_in_the_shops_own_network_is_refused(self, browser, people, monkeypatch):
        monkeypatch.setattr(sending, "PRIVATE_ALLOWED", False)
        browser.subscribe(people.owner)
        queue(people.owner)
        assert sending.deliver(now=timezone.now()) == 0
        assert browser.server.got == []
        assert "private network" in PushMessage.objects.get().last_error

    @pytest.mark.parametrize("status", [404, 410])
    def test_a_browser_that_is_gone_is_taken_away(self, browser, people, status):
        browser.subscribe(people.owner)
        browser.server.status = status
        queue(people.owner)
        sending.deliver(now=timezone.now())
        assert not Subscription.objects.exists()
        assert not PushMessage.objects.exists()

    def test_what_fails_is_tried_again_later(self, browser, people):
        browser.subscribe(people.owner)
        browser.server.status = 503
        queue(people.owner)
        now = timezone.now()
        assert sending.deliver(now=now) == 0
        assert sending.deliver(now=now) == 0
        assert PushMessage.objects.get().tries == 1
        browser.server.status = 201
        assert sending.deliver(now=PushMessage.objects.get().send_after) == 1

    def test_is_given_up_in_the_end(self, browser, people):
        browser.subscribe(people.owner)
        browser.server.status = 500
        queue(people.owner)
        PushMessage.objects.update(tries=mail_queue.MOST_TRIES - 1)
        sending.deliver(now=timezone.now())
        assert PushMessage.objects.get().given_up_at

    def test_nobody_who_was_stopped_is_told(self, browser, people):
        browser.subscribe(people.owner)
        queue(people.owner)
        people.owner.is_active = False
        people.owner.save()
        assert sending.deliver(now=timezone.now()) == 0


class TestReminders:
    def test_come_to_the_hands_by_day(self, browser, people, bench):
        browser.subscribe(people.technician)
        with time_machine.travel(at("2026-11-25T09:00"), tick=False):
            number = bench.receive()
            bench.sign(number, "visual-intake")
        with time_machine.travel(at("2026-11-27T10:00"), tick=False):
            reminder_services.remind(now=timezone.now())
            assert periodic.run("send-push") == 1
            reminder_services.remind(now=timezone.now())
            assert periodic.run("send-push") == 0
        [told] = browser.told()
        assert told["path"] == f"/jobs/{number}/"
        assert "nothing has happened" in told["body"]

    def test_by_night_only_what_is_urgent(self, browser, people, bench):
        browser.subscribe(people.technician)
        with time_machine.travel(at("2026-11-25T15:00"), tick=False):
            number = bench.receive()
            bench.limited(number)
        with time_machine.travel(at("2026-11-25T22:00"), tick=False):
            reminder_services.remind(now=timezone.now())
            sending.deliver(now=timezone.now())
        assert [told["urgent"] for told in browser.told()] == [True]

    def test_nothing_is_written_where_nobody_asked(self, people, bench):
        with time_machine.travel(at("2026-11-25T09:00"), tick=False):
            bench.receive()
        reminder_services.remind(now=at("2026-11-27T10:00"))
        assert not PushMessage.objects.exists()


class TestKeys:
    def test_made_once_and_kept_sealed(self):
        first = keys.public_key()
        assert keys.public_key() == first
        assert len(base64.urlsafe_b64decode(first + "=")) == 65
        assert "PRIVATE KEY" in sealed.opened(keys.NAME)
        assert "PRIVATE" not in SealedSetting.objects.get().sealed

    def test_of_two_at_once_the_first_stays(self):
        sealed.keep_first("x", "one")
        sealed.keep_first("x", "two")
        assert sealed.opened("x") == "one"

    def test_one_that_cannot_be_opened_is_made_anew(self, settings):
        first = keys.public_key()
        settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "another" * 9, []
        assert keys.public_key() != first


class TestThePage:
    @pytest.fixture
    def page(self, client, people):
        client.force_login(people.technician)
        return client

    def given(self, **more):
        return {"address": "https://push.example/1", **Browser().described} | more

    def test_a_browser_is_added_and_taken_away(self, page, people):
        assert page.post("/account/push/add/", self.given()).status_code == 302
        [browser] = Subscription.objects.all()
        assert browser.person == people.technician
        page.post("/account/push/remove/", {"key": browser.pk})
        assert not Subscription.objects.exists()

    def test_nobody_takes_that_of_another_away(self, page, people, client):
        page.post("/account/push/add/", self.given())
        client.force_login(people.owner)
        client.post("/account/push/remove/", {"key": Subscription.objects.get().pk})
        assert Subscription.objects.exists()

    def test_the_same_browser_twice_is_one_and_goes_with_who_is_signed_in(self, page, people):
        page.post("/account/push/add/", self.given())
        page.force_login(people.owner)
        page.post("/account/push/add/", self.given())
        assert Subscription.objects.get().person == people.owner

    @pytest.mark.parametrize(
        "wrong",
        [
            {"address": ""}, {"address": "http://push.example/"}, {"address": "https://a:b@c/"},
            {"p256dh": ""}, {"p256dh": "!"}, {"p256dh": base64url(b"\x04" + bytes(64))},
            {"auth": ""}, {"auth": base64url(bytes(15))}, {"auth": "ä" * 22},
        ],
    )  # fmt: skip
    def test_what_no_browser_sends_is_refused(self, page, wrong):
        answer = page.post("/account/push/add/", self.given(**wrong))
        assert answer.status_code == 422
        assert not Subscription.objects.exists()

    def test_without_the_extra_the_page_says_what_is_missing(self, page, monkeypatch):
        monkeypatch.setattr(keys, "find_spec", lambda name: None)
        assert "benchtag[push]" in page.get("/account/push/").content.decode()
        answer = page.post("/account/push/add/", self.given())
        assert answer.status_code == 409
        assert "pip install" in answer.content.decode()
