"""Webhooks, against a receiver on this machine that checks them with the library's own verifier."""

from __future__ import annotations

import http.server
import json
import threading
from datetime import timedelta

import pytest
from django.utils import timezone
from standardwebhooks.webhooks import Webhook, WebhookVerificationError

from shop.jobs.models import LedgerRow
from shop.lib.refusals import BadInput, Refused
from shop.reminders import periodic
from shop.webhooks import events, finding, sending, services
from shop.webhooks.models import Delivery, Endpoint

pytestmark = pytest.mark.django_db


class Receiver(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.got.append((dict(self.headers), body))
        self.send_response(self.server.status)
        self.end_headers()
        self.wfile.write(b"so it is")

    def log_message(self, *args):
        pass


@pytest.fixture
def receiver():
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Receiver)
    server.got, server.status = [], 204
    server.address = f"http://127.0.0.1:{server.server_port}/hook"
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.shutdown()
    server.server_close()


@pytest.fixture
def add(people, now):
    def added(address, *wanted, private=True):
        wanted = wanted or ("received", "stage_changed")
        return services.add(address, wanted, private_allowed=private, by=people.owner, at=now)

    return added


def round_(now=None):
    now = now or timezone.now()
    return finding.queue_due(now=now), sending.deliver(now=now)


class TestWhatIsSent:
    def test_the_verifier_of_the_library_takes_it(self, receiver, add, bench):
        _, secret = add(receiver.address)
        number = bench.receive()
        assert round_() == (1, 1)
        [(headers, body)] = receiver.got
        told = Webhook(secret).verify(body, headers)
        assert told["type"] == "job.received"
        assert told["data"]["job"] == number
        assert told["timestamp"] == LedgerRow.objects.get(event_type="received").at.isoformat()

    def test_another_secret_and_another_body_do_not_fit(self, receiver, add, bench):
        _, secret = add(receiver.address)
        _, other = add(receiver.address)
        bench.receive()
        round_()
        headers, body = receiver.got[0]
        for key, words in ((other, body), (secret, body.replace(b"received", b"released"))):
            with pytest.raises(WebhookVerificationError):
                Webhook(key).verify(words, headers)

    def test_it_says_which_stage_and_no_words_of_anybody(self, receiver, add, bench):
        add(receiver.address)
        number = bench.receive(
            complaint="hums, says Ada", customer_name="Ada Lovelock", customer_email="a@example.org"
        )
        bench.stage(number, "reproducing")
        round_()
        bodies = [body for _, body in receiver.got]
        assert json.loads(bodies[1])["data"]["stage"] == "reproducing"
        assert not any(
            word in body for word in (b"Ada", b"hums", b"example.org") for body in bodies
        )

    def test_only_what_was_ticked_and_only_from_then_on(self, receiver, add, bench):
        bench.receive()
        add(receiver.address, "released")
        bench.receive()
        assert round_() == (0, 0)

    def test_once_however_often_somebody_looks(self, receiver, add, bench):
        add(receiver.address)
        bench.receive()
        now = timezone.now()
        assert finding.queue_due(now=now) == 1
        assert finding.queue_due(now=now) == 0
        assert sending.deliver(now=now) == 1
        assert sending.deliver(now=now) == 0
        assert len(receiver.got) == 1

    def test_a_row_that_appears_late_is_told_too(self, receiver, add, bench):
        """As after a transaction that was slow: the row's key lies before others."""
        endpoint, _ = add(receiver.address)
        bench.receive()
        Endpoint.objects.filter(pk=endpoint.pk).update(
            last_row=LedgerRow.objects.latest("pk").pk + 9
        )
        assert round_() == (1, 1)

    def test_the_worker_does_it(self, receiver, add, bench):
        add(receiver.address)
        bench.receive()
        assert periodic.run("send-webhooks") == 1


class TestWhatFails:
    def test_is_tried_again_later_each_time_with_the_same_id(self, receiver, add, bench):
        add(receiver.address)
        bench.receive()
        receiver.status = 500
        now, waits = timezone.now(), []
        for _ in sending.BACKOFF:
            round_(now)
            delivery = Delivery.objects.get()
            waits.append((delivery.send_after - now) / timedelta(minutes=1))
            assert sending.deliver(now=now) == 0
            now = delivery.send_after
        assert [round(wait) for wait in waits] == list(sending.BACKOFF)
        assert (delivery.status, delivery.answer) == (500, "so it is")
        receiver.status = 200
        round_(now)
        assert len({headers["webhook-id"] for headers, _ in receiver.got}) == 1
        assert Endpoint.objects.get().failing_since is None

    def test_is_given_up_and_the_address_switched_off_with_a_line_on_home(
        self, receiver, add, bench, client, people
    ):
        add(receiver.address)
        bench.receive()
        receiver.status = 302  # a redirect is not followed
        now = timezone.now()
        for _ in range(len(sending.BACKOFF) + 1):
            round_(now)
            now = Delivery.objects.get().send_after
        assert Delivery.objects.get().given_up_at
        assert Endpoint.objects.get().disabled_at
        bench.receive()
        assert round_(now) == (0, 0)
        client.force_login(people.owner)
        assert "1 webhook switched off" in client.get("/").content.decode()

    def test_not_switched_off_while_others_come_through(self, receiver, add, bench):
        endpoint, _ = add(receiver.address)
        bench.receive()
        round_()
        Delivery.objects.update(sent_at=None, tries=len(sending.BACKOFF))
        receiver.status = 500
        round_()
        assert Delivery.objects.get().given_up_at
        endpoint.refresh_from_db()
        assert endpoint.disabled_at is None

    def test_gone_switches_off_at_once(self, receiver, add, bench):
        add(receiver.address)
        bench.receive()
        receiver.status = 410
        round_()
        assert Endpoint.objects.get().disabled_at

    def test_one_that_fails_does_not_hold_another(self, receiver, add, bench):
        add("http://127.0.0.1:9/", "received")
        add(receiver.address, "received")
        for _ in range(3):
            bench.receive()
        assert round_() == (6, 3)
        # The first was tried once in the round, not three times.
        assert Delivery.objects.filter(tries=1, sent_at=None).count() == 1

    def test_private_addresses_take_leave(self, receiver, add, bench):
        add(receiver.address, private=False)
        bench.receive()
        assert round_() == (1, 0)
        assert receiver.got == []
        assert "private network" in Delivery.objects.get().answer

    def test_a_secret_that_cannot_be_opened_is_said(self, receiver, add, bench, settings):
        add(receiver.address)
        bench.receive()
        settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "another" * 9, []
        assert round_() == (1, 0)
        assert "Make a new one" in Delivery.objects.get().answer

    def test_of_two_workers_one_sends(self, receiver, add, bench):
        add(receiver.address)
        bench.receive()
        now = timezone.now()
        finding.queue_due(now=now)
        seen_by_both = Delivery.objects.select_related("endpoint").get()
        assert sending._claimed(seen_by_both, now)
        assert not sending._claimed(seen_by_both, now)
        assert sending.deliver(now=now) == 0
        # A worker that was killed leaves a lease that runs out.
        assert sending.deliver(now=now + sending.LEASE + timedelta(seconds=1)) == 1


class TestKeeping:
    def test_the_secret_is_kept_sealed(self, add):
        endpoint, secret = add("https://example.org/")
        assert secret.startswith("whsec_")
        assert secret not in endpoint.sealed
        assert services.secret_of(endpoint) == secret

    @pytest.mark.parametrize("address", ["ftp://example.org/", "example.org", "http://a:b@c/"])
    def test_no_address_is_refused_with_what_would_be_right(self, add, address):
        with pytest.raises(BadInput):
            add(address)

    def test_events_are_of_the_list(self, add):
        with pytest.raises(BadInput, match="choose from the list"):
            add("https://example.org/", "step_signed")

    def test_every_event_offered_is_written_by_the_shop(self):
        from shop.jobs.events import EVENTS  # noqa: PLC0415

        assert set(events.EVENTS) <= {event.event_type for event in EVENTS}

    def test_switched_on_again_tells_from_now_on(self, receiver, add, bench, people, now):
        endpoint, _ = add(receiver.address)
        Endpoint.objects.update(disabled_at=now)
        bench.receive()
        services.switch_on(endpoint, by=people.owner, at=now)
        assert round_() == (0, 0)
        bench.receive()
        assert round_() == (1, 1)

    def test_no_test_to_one_that_is_off(self, add, people, now):
        endpoint, _ = add("https://example.org/")
        endpoint.disabled_at = now
        with pytest.raises(Refused):
            services.send_test(endpoint, by=people.owner, at=now)

    def test_what_is_old_goes_and_what_a_look_would_find_again_stays(
        self, receiver, add, bench, monkeypatch
    ):
        add(receiver.address)
        bench.receive()
        round_()
        later = timezone.now() + finding.KEPT + timedelta(days=1)
        finding.queue_due(now=later)
        assert Delivery.objects.count() == 1
        monkeypatch.setattr(finding, "LOOK_BACK", 0)
        finding.queue_due(now=later)
        assert Delivery.objects.count() == 0


class TestPages:
    def test_adding_shows_the_secret_once(self, client, people):
        client.force_login(people.owner)
        body = {"address": "https://example.org/hook", "events": ["received"]}
        page = client.post("/settings/webhooks/", body).content.decode()
        secret = page.split("<code>")[1].split("</code>")[0]
        endpoint = Endpoint.objects.get()
        assert services.secret_of(endpoint) == secret
        for path in ("/settings/webhooks/", f"/settings/webhooks/{endpoint.pk}/"):
            assert secret not in client.get(path).content.decode()

    def test_what_was_typed_stays_beside_the_sentence(self, client, people):
        client.force_login(people.owner)
        answer = client.post("/settings/webhooks/", {"address": "ftp://x/", "events": ["received"]})
        page = answer.content.decode()
        assert answer.status_code == 422
        assert "is no address" in page
        assert 'value="ftp://x/"' in page
        assert not Endpoint.objects.exists()

    def test_deliveries_are_shown_with_their_answer(self, client, people, receiver, add, bench):
        endpoint, _ = add(receiver.address)
        bench.receive()
        receiver.status = 503
        round_()
        client.force_login(people.owner)
        page = client.get(f"/settings/webhooks/{endpoint.pk}/").content.decode()
        assert "503: so it is" in page
        assert "job.received" in page

    def test_nothing_of_it_holds_a_page(self, client, people, add):
        """A test is written, and sent by the worker: no page waits for the receiver."""
        endpoint, _ = add("https://example.org/")
        client.force_login(people.owner)
        client.post(f"/settings/webhooks/{endpoint.pk}/", {"act": "test"})
        assert Delivery.objects.get().tries == 0

    def test_taking_it_away_is_asked_once(self, client, people, add):
        endpoint, _ = add("https://example.org/")
        client.force_login(people.owner)
        path = f"/settings/webhooks/{endpoint.pk}/"
        assert (
            "Take https://example.org/ away?"
            in client.post(path, {"act": "remove"}).content.decode()
        )
        assert client.post(path, {"act": "remove", "sure": "yes"}).status_code == 302
        assert not Endpoint.objects.exists()
        assert client.post(path, {"act": "test"}).status_code == 404
