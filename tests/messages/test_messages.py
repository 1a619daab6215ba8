"""Messages to customers: who is told what, once, in which words."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import parse_qs, unquote, urlsplit

import pytest
import time_machine
from django.core import mail
from django.urls import reverse
from django.utils.translation import get_language, override

from shop.customers import services as customer_services
from shop.customers.links.models import CustomerLink
from shop.customers.models import Customer
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.lib.refusals import BadInput, Refused
from shop.messages import composing, message_templates, sending
from shop.messages.models import Message, MessageTemplate
from shop.parts.orders import LineToOrder
from shop.planning import ordering
from shop.preferences.kinds import CARRIERS
from shop.reminders.customer_notices import queue_parts_late
from tests.estimates.test_services import line, sent
from tests.factories import OfferFactory
from tests.helpers import Bench, amplifier
from tests.reminders.when import at

pytestmark = pytest.mark.django_db

MORNING = at("2026-11-25T10:00")


@pytest.fixture(autouse=True)
def post(settings):
    settings.MAIL_ON = True
    settings.ADDRESS = "https://bench.example.org"
    settings.SHOP_NAME = "Bench & Sons"


@pytest.fixture(autouse=True)
def morning():
    with time_machine.travel(MORNING, tick=False):
        yield


@pytest.fixture
def take(people):
    def receive(when=MORNING, **details):
        given = {"name": "Ада", "email": "ada@example.org", "agreed_to_mail": True} | details
        unit = {"make": "Corvenby", "model": "C 4", "complaint": "hums", "facts": amplifier()}
        return intake_services.receive(
            by=people.desk, at=when, details=IntakeDetails(**given), **unit
        ).number

    return receive


@pytest.fixture
def hands(people):
    return Bench(people.technician)


def round_(now=MORNING):
    composing.queue_due(now=now)
    queue_parts_late(now=now)
    return sending.deliver(now=now)


def occasions_written(number):
    return [message.about for message in Message.objects.filter(job=number).order_by("pk")]


def leave(hands, number):
    hands.pass_gate(number, "hand-back")
    hands.stage(number, "withdrawn")


class TestOccasions:
    def test_received(self, take, hands):
        number = take()
        assert round_() == 1
        [letter] = mail.outbox
        assert letter.to == ["ada@example.org"]
        assert letter.subject == f"Your Corvenby C 4 is here (job {number})"
        assert "Hello Ада" in letter.body
        assert "hums" in letter.body
        assert "https://bench.example.org/your-unit/" in letter.body
        assert hands.kinds(number)[-1] == "owner_told"

    def test_the_estimate_by_version(self, take, hands):
        number = take()
        round_()
        sent(hands, number, line(price="184"), at=MORNING)
        round_()
        assert "It comes to 184.00 EUR" in mail.outbox[-1].body
        sent(hands, number, line(price="200"), at=MORNING)
        round_()
        assert "200.00 EUR" in mail.outbox[-1].body
        assert occasions_written(number) == ["received", "estimate", "estimate"]

    def test_an_estimate_within_the_limit_asks_nobody(self, take, hands):
        number = take(ring_above="500")
        sent(hands, number, line(price="184"), at=MORNING)
        round_()
        assert occasions_written(number) == ["received"]

    def test_unrepaired_and_shipped(self, take, hands):
        number = take()
        leave(hands, number)
        round_()
        hands.record(number, "shipped", carrier="North Post", tracking="NP 1")
        round_()
        assert occasions_written(number) == ["received", "unrepaired", "shipped"]
        assert "do not plug it in" in mail.outbox[1].body
        assert "North Post, number NP 1" in mail.outbox[2].body
        assert "Follow it" not in mail.outbox[2].body

    def test_shipped_with_the_address_that_follows_it(self, take, hands, settings):
        settings.CARRIERS = CARRIERS.read("North Post https://north.example/{number}")
        number = take()
        leave(hands, number)
        hands.record(number, "shipped", carrier="North Post", tracking="NP 1")
        round_()
        assert "Follow it: https://north.example/NP%201" in mail.outbox[-1].body

    def test_ready_with_its_warranty(self, take, hands, settings):
        settings.WARRANTY_DAYS = 30
        number = take()
        hands.soak(number)
        hands.leave_gates(number)
        hands.stage(number, "released")
        round_()
        assert "ready" in occasions_written(number)
        assert "warranted until 25 December 2026" in mail.outbox[-1].body

    def test_parts_late(self, take, hands, people):
        number = take()
        offer = OfferFactory()
        need = hands.record(number, "part_needed", spec=offer.part.spec, part=offer.part.pk)
        wanted = [LineToOrder(offer.part, 1, 2, (((number, need.sequence), 1),))]
        ordering.place(offer.supplier, wanted, by=people.owner, at=MORNING)
        round_()
        later = MORNING + timedelta(days=20)
        round_(later)
        round_(later + timedelta(hours=1))
        assert occasions_written(number) == ["received", "parts-late"]


class TestOnce:
    def test_round_after_round(self, take):
        number = take()
        for minute in range(4):
            round_(MORNING + timedelta(minutes=minute))
        assert (occasions_written(number), len(mail.outbox)) == (["received"], 1)

    def test_what_is_old_is_no_news(self, take):
        number = take(when=MORNING - timedelta(days=3))
        assert round_() == 0
        assert occasions_written(number) == []

    def test_a_mail_that_fails_is_tried_again_and_noted_once(self, take, hands, monkeypatch):
        number = take()

        def refuses(key):
            raise OSError("no such host")

        real = sending._email
        monkeypatch.setattr(sending, "_email", refuses)
        round_()
        assert "owner_told" not in hands.kinds(number)
        monkeypatch.setattr(sending, "_email", real)
        assert round_(MORNING + timedelta(minutes=1)) == 0
        assert round_(MORNING + timedelta(minutes=3)) == 1
        assert hands.kinds(number).count("owner_told") == 1

    def test_the_same_mail_has_the_same_id(self, take):
        take()
        composing.queue_due(now=MORNING)
        key = Message.objects.get().pk
        ids = {sending._email(key).extra_headers["Message-ID"] for _ in range(2)}
        assert len(ids) == 1

    def test_the_night_waits_for_the_morning(self, take):
        with time_machine.travel(at("2026-11-25T23:00"), tick=False):
            take(when=at("2026-11-25T23:00"))
            assert round_(at("2026-11-25T23:00")) == 0
        assert round_(at("2026-11-26T09:00")) == 1

    def test_a_job_that_fails_stops_no_other(self, take, monkeypatch):
        first, second = take(), take(name="Bo", email="bo@example.org")
        real = composing.placeholder_values

        def fails(job, now):
            if job.pk == first:
                raise RuntimeError("broken")
            return real(job, now)

        monkeypatch.setattr(composing, "placeholder_values", fails)
        assert round_() == 1
        assert (occasions_written(first), occasions_written(second)) == ([], ["received"])
        monkeypatch.setattr(composing, "placeholder_values", real)
        round_(MORNING + timedelta(minutes=1))
        assert occasions_written(first) == ["received"]


class TestWhoIsReached:
    def test_without_consent_nobody_is_written_to(self, take):
        take(agreed_to_mail=False)
        assert round_() == 0
        assert not Message.objects.exists()

    def test_without_an_address_neither(self, take):
        take(email="")
        round_()
        assert not Message.objects.exists()

    @pytest.mark.parametrize(
        "details",
        [
            {},
            {"contact_by": "email"},
            {"contact_by": "email", "agreed_to_mail": False},
            {"contact_by": "email", "agreed_to_mail": False, "email": "", "phone": "0815"},
        ],
    )
    def test_without_a_mail_server_who_wants_e_mail_is_told_by_a_person(
        self, take, settings, people, hands, client, details
    ):
        settings.MAIL_ON = False
        number = take(**details)
        assert round_() == 0
        assert round_() == 0
        message = Message.objects.get()
        assert (message.about, message.way) == ("received", "hand")
        client.force_login(people.desk)
        page = client.get(reverse("outbox")).content.decode()
        assert "wants e-mail" in page
        assert "The shop sends no e-mails" in page
        assert ("mailto:ada@example.org?subject=" in page) == ("email" not in details)
        sending.mark_done(message, by=people.desk, at=MORNING)
        assert "owner_told" in hands.kinds(number)

    def test_without_a_mail_server_nobody_hears_who_chose_nothing(self, take, settings):
        settings.MAIL_ON = False
        take(agreed_to_mail=False, phone="0815")
        round_()
        assert not Message.objects.exists()

    def test_what_waited_for_a_person_is_not_mailed_once_there_is_a_server(self, take, settings):
        settings.MAIL_ON = False
        take()
        round_()
        settings.MAIL_ON = True
        assert round_() == 0
        assert Message.objects.get().way == "hand"

    def test_who_stood_at_the_counter_is_not_rung_to_say_that_it_is_here(self, take, hands):
        number = take(contact_by="telephone", phone="0815", came_by="counter")
        round_()
        assert occasions_written(number) == []
        leave(hands, number)
        round_()
        assert occasions_written(number) == ["unrepaired"]

    def test_the_words_open_in_ones_own_mail_program(self, take, settings):
        """As RFC 6068 has it: the address, then subject and body with CRLF as %0D%0A."""
        settings.MAIL_ON = False
        take(email="ada+bench&x@example.org")
        round_()
        parts = urlsplit(Message.objects.get().mailto)
        assert (parts.scheme, unquote(parts.path)) == ("mailto", "ada+bench&x@example.org")
        assert "&" not in parts.path
        query = parse_qs(parts.query, strict_parsing=True)
        assert query["subject"] == [Message.objects.get().subject]
        assert query["body"][0].replace("\r\n", "\n") == Message.objects.get().text

    @pytest.mark.parametrize("way", ["telephone", "letter"])
    def test_who_wants_it_otherwise_is_an_entry_for_a_hand(self, take, people, hands, way):
        number = take(contact_by=way, phone="0815")
        assert round_() == 0
        message = Message.objects.get()
        assert message.way == "hand"
        sending.mark_done(message, by=people.desk, at=MORNING)
        row = hands.job(number).ledger.get(event_type="owner_told")
        assert (row.data, row.by) == ({"about": "received", "way": way}, people.desk)
        with pytest.raises(Refused, match="noted already"):
            sending.mark_done(message, by=people.desk, at=MORNING)

    def test_the_ledger_says_the_way_in_one_language(self, take, people, hands, monkeypatch):
        said = {"en": "letter", "de": "Brief"}
        monkeypatch.setattr(Customer, "get_contact_by_display", lambda _: said[get_language()])
        number = take(contact_by="letter", phone="0815")
        round_()
        with override("de"):
            sending.mark_done(Message.objects.get(), by=people.desk, at=MORNING)
        assert hands.job(number).ledger.get(event_type="owner_told").data["way"] == "letter"

    def test_withdrawn_consent_stops_what_was_not_written(self, take, hands):
        number = take()
        round_()
        Customer.objects.update(agreed_to_mail_at=None)
        leave(hands, number)
        round_()
        assert occasions_written(number) == ["received"]


class TestWords:
    def test_html_holds_the_same_words_and_no_markup_of_anybody(self, take):
        number = take(name="<b>Ada</b> & Co")
        round_()
        [letter] = mail.outbox
        [(html, kind)] = [(part.content, part.mimetype) for part in letter.alternatives]
        assert kind == "text/html"
        assert "&lt;b&gt;Ada&lt;/b&gt; &amp; Co" in html
        assert "<b>Ada" not in html
        assert (
            f'href="https://bench.example.org/your-unit/{CustomerLink.objects.get(job=number).pk}-'
            in html
        )

    def test_a_line_break_in_a_name_forges_no_header(self, take, people):
        message_templates.save("received", "Hello {owner}", "x", by=people.desk)
        take(name="Eve\nBcc: all@example.org")
        round_()
        assert mail.outbox[0].message()["Bcc"] is None

    def test_the_shops_own_words(self, take, people):
        message_templates.save(
            "received", "Da: {unit}", "Guten Tag {owner}, {unit} ist da.", by=people.desk
        )
        take()
        round_()
        assert mail.outbox[0].subject == "Da: Corvenby C 4"
        assert mail.outbox[0].body == "Guten Tag Ада, Corvenby C 4 ist da."

    @pytest.mark.parametrize(
        ("subject", "words", "sentence"),
        [
            ("{ownr}", "x", "ownr"),
            ("x", "{customer.pk}", ""),
            ("", "x", "subject is empty"),
            ("x", "", "text is empty"),
            ("a\nb", "x", "one line"),
            ("x", "{}", "has the placeholder"),
        ],
    )
    def test_words_that_cannot_be_are_named(self, people, subject, words, sentence):
        if sentence:
            with pytest.raises(BadInput, match=sentence):
                message_templates.save("received", subject, words, by=people.desk)
            assert not MessageTemplate.objects.exists()
        else:  # not a place: stands as it is typed, nothing is looked up
            message_templates.save("received", subject, words, by=people.desk)
            assert message_templates.fill(words, {"customer": "Ada"}) == words

    def test_every_usual_wording_fills_all_its_places(self):
        values = composing.example_values(MORNING)
        assert set(values) == set(message_templates.PLACEHOLDERS)
        for about in message_templates.DEFAULTS:
            words = message_templates.template_for(about)
            message_templates.validate(words.subject, words.text)
            assert "{" not in message_templates.fill(words.subject + words.text, values)

    def test_the_page_previews_keeps_and_goes_back(self, client, people):
        client.force_login(people.desk)
        path = reverse("wording", args=["ready"])
        body = {"subject": "Fertig: {unit}", "text": "Hallo {owner} <i>"}
        looked = client.post(path, body | {"act": "look"}).content.decode()
        assert "Fertig: Ravelund Thatch 30" in looked
        assert "&lt;i&gt;" in looked
        assert not MessageTemplate.objects.exists()
        client.post(path, body | {"act": "keep"})
        assert MessageTemplate.objects.get().subject == "Fertig: {unit}"
        wrong = client.post(path, {"subject": "{x}", "text": "kept", "act": "keep"})
        assert wrong.status_code == 422
        assert "kept" in wrong.content.decode()
        client.post(path, {"act": "usual"})
        assert not MessageTemplate.objects.exists()
        assert client.get("/wordings/nonsense/").status_code == 404


class TestErasing:
    def test_takes_messages_and_links_along(self, take, hands, people):
        number = take()
        round_()
        leave(hands, number)
        composing.queue_due(now=MORNING)
        customer_services.erase(Customer.objects.get(), by=people.owner, at=MORNING)
        message = Message.objects.get()
        assert (message.about, message.text, message.subject) == ("received", "", "")
        assert CustomerLink.objects.get().revoked_at == MORNING
        assert round_(MORNING + timedelta(minutes=1)) == 0


class TestPages:
    def test_the_outbox_shows_what_waits_for_a_hand(self, client, people, take, hands):
        number = take(contact_by="telephone", phone="0815")
        round_()
        client.force_login(people.desk)
        page = client.get(reverse("outbox")).content.decode()
        assert "0815" in page
        client.post(reverse("message-done", args=[Message.objects.get().pk]))
        assert "Nobody is waiting for a call" in client.get(reverse("outbox")).content.decode()
        assert (
            "told 25 November"
            in client.get(reverse("customer-side", args=[number])).content.decode()
        )

    def test_what_was_given_up_can_be_tried_again(self, client, people, take, monkeypatch):
        take()

        def refuses(key):
            raise OSError("no such host")

        real = sending._email
        monkeypatch.setattr(sending, "_email", refuses)
        for hour in range(20):
            round_(MORNING + timedelta(hours=5 * hour))
        client.force_login(people.desk)
        assert "no such host" in client.get(reverse("outbox")).content.decode()
        monkeypatch.setattr(sending, "_email", real)
        client.post(reverse("message-again", args=[Message.objects.get().pk]))
        assert round_() == 1

    def test_shipping_is_for_what_has_left_the_bench(self, client, people, take, hands):
        number = take()
        client.force_login(people.desk)
        path = reverse("customer-shipped", args=[number])
        early = client.post(path, {"carrier": "North Post"})
        assert early.status_code == 409
        assert 'value="North Post"' in early.content.decode()
        leave(hands, number)
        assert client.post(path, {"carrier": "North Post"}).status_code == 302
        assert "North Post" in client.get(reverse("customer-side", args=[number])).content.decode()
        too_long = client.post(path, {"carrier": "x" * 300})
        assert too_long.status_code == 422
