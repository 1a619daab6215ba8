"""The customer's link: what opens it, what does not, and what it shows of one job alone."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine
from django.core.signing import Signer
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils import timezone

from shop.customers.links import keys
from shop.customers.links.models import CustomerLink
from shop.estimates import services as estimate_services
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.jobs import queries
from shop.pages.customer import views
from shop.pages.customer.customer_view import shown
from shop.photos.models import Photo
from shop.photos.services import PhotoSubject
from shop.preferences import current as preferences
from tests.estimates.test_services import line, sent
from tests.photos.pictures import snap

pytestmark = pytest.mark.django_db


@pytest.fixture
def link(bench, job, now):
    return keys.link_for(bench.job(job), now=now, by=bench.by)


@pytest.fixture
def customer():
    """A browser that nobody signed in with."""
    return Client()


def page(customer, link, status=200):
    answer = customer.get(reverse("your-unit", args=[keys.token(link)]))
    assert answer.status_code == status
    return answer.content.decode()


class TestKeys:
    def test_the_same_link_is_given_while_it_lives_and_its_days_count_anew(self, bench, job, link):
        later = timezone.now() + timedelta(days=10)
        again = keys.link_for(bench.job(job), now=later)
        assert (again.pk, again.expires_at > link.expires_at) == (link.pk, True)

    def test_a_token_is_unguessable_and_its_own(self, bench, link, now):
        other = keys.link_for(bench.job(bench.receive()), now=now)
        assert keys.token(link) != keys.token(other)
        assert len(link.nonce) == 43  # 256 bits
        number, rest = keys.token(link).split("-", 1)
        for forged in (
            f"{other.pk}-{rest}",
            keys.token(link)[:-1],
            keys.token(link) + "x",
            Signer(sep=".", salt="other").sign(f"{link.pk}-{link.nonce}"),
            f"{link.pk}-{link.nonce}",
            Signer(sep=".", salt="shop.customers.links").sign(f"{link.pk}-{other.nonce}"),
            Signer(sep=".", salt="shop.customers.links").sign(f"{link.pk}-"),
            "x" * 10_000,
            number,
        ):
            assert keys.opened(forged, now=now) is None

    def test_it_ends_on_its_day(self, link, now):
        last = now + timedelta(days=preferences.value("link_days"))
        assert keys.opened(keys.token(link), now=last - timedelta(seconds=1)) == link
        assert keys.opened(keys.token(link), now=last) is None

    def test_revoked_it_is_dead_and_the_next_is_another(self, people, bench, job, link, now):
        assert keys.revoke(bench.job(job), by=people.desk, at=now) == 1
        assert keys.opened(keys.token(link), now=now) is None
        fresh = keys.link_for(bench.job(job), now=now)
        assert keys.token(fresh) != keys.token(link)
        assert keys.opened(keys.token(fresh), now=now) == fresh

    def test_another_key_of_the_shop_opens_nothing(self, link, now, settings):
        token = keys.token(link)
        settings.SECRET_KEY = "another"
        assert keys.opened(token, now=now) is None


class TestPage:
    def test_it_says_where_the_unit_is_in_plain_words(self, customer, bench, job, link):
        text = page(customer, link)
        assert "It is here, and waits for its turn at the bench" in text
        assert "We cannot tell yet when it will be ready" in text
        bench.open_up(job)
        text = page(customer, link)
        assert "It is open on the bench" in text
        assert "waits for its turn" not in text

    def test_the_letterhead_has_what_is_set(self, customer, link, settings):
        assert "tel:" not in page(customer, link)
        settings.SHOP_NAME, settings.TELEPHONE = "Tin Lane Audio", "+49 (0) 555-0142"
        settings.POSTAL_ADDRESS = "4 Tin Lane"
        text = page(customer, link)
        for words in ("Tin Lane Audio", "4 Tin Lane", 'href="tel:+4905550142"', "+49 (0) 555-0142"):
            assert words in text

    def test_it_says_with_whom_the_parcel_went(self, customer, bench, job, link):
        bench.pass_gate(job, "hand-back")
        bench.stage(job, "withdrawn")
        assert "It left us" not in page(customer, link)
        bench.record(job, "shipped", carrier="North Post", tracking="NP 77")
        text = page(customer, link)
        assert "with North Post" in text
        assert "NP 77" in text

    def test_nothing_of_the_bench_or_of_anybody_else_is_shown(
        self, customer, people, bench, job, link
    ):
        other = bench.receive(make="Foreign", complaint="secret complaint")
        bench.record(job, "note_added", text="bench talk")
        bench.record(job, "finding_recorded", finding="joint-cracked", note="inner words")
        text = page(customer, link)
        for hidden in ("Foreign", "secret complaint", "bench talk", "inner words", "technician"):
            assert hidden not in text
        assert "/jobs/" not in text
        assert f"Job {other}" not in text

    def test_it_leaves_no_trace_in_caches_searches_and_other_sites(self, customer, link):
        answer = customer.get(reverse("your-unit", args=[keys.token(link)]))
        assert answer["Cache-Control"] == "no-store"
        assert answer["Referrer-Policy"] == "same-origin"
        assert answer["X-Robots-Tag"] == "noindex"
        assert "script-src 'self'" in answer["Content-Security-Policy"]
        assert "<script" not in answer.content.decode()

    def test_a_dead_link_says_so_and_nothing_more(self, customer, bench, people, job, link, now):
        keys.revoke(bench.job(job), by=people.desk, at=now)
        text = page(customer, link, status=404)
        assert "does not work any more" in text
        assert "Test Works" not in text

    def test_promised_and_withdrawn(self, customer, bench, job, link):
        bench.record(job, "promise_made", on="2031-03-12")
        assert "12 March 2031" in page(customer, link)
        bench.pass_gate(job, "hand-back")
        bench.stage(job, "withdrawn")
        text = page(customer, link)
        assert "Do not plug it in" in text
        assert "12 March 2031" not in text

    def test_the_way_names_the_shelf_only_for_who_lies_on_it(self, bench, job, now):
        titles = [one.title for one in shown(bench.job(job), now).stations]
        assert "Waiting for parts" not in titles
        bench.open_up(job)
        bench.record(job, "part_needed", spec="A belt")
        bench.stage(job, "awaiting_parts")
        told = shown(bench.job(job), now)
        assert [one.title for one in told.stations if one.state == "here"] == ["Waiting for parts"]
        assert told.words == "It is on the shelf until its parts are here."


class TestPictures:
    def test_those_marked_for_the_customer_are_given_out(self, customer, bench, job, link):
        seen = snap(job, by=bench.by, of=PhotoSubject(caption="Der Riss"))
        hidden = snap(job, by=bench.by, of=PhotoSubject(Photo.PARCEL, caption="Etikett"))
        foreign = snap(bench.receive(), by=bench.by)
        text = page(customer, link)
        assert "Der Riss" in text
        assert "Etikett" not in text
        token = keys.token(link)
        statuses = [
            customer.get(reverse("your-photo", args=[token, one.pk, "small"])).status_code
            for one in (seen, hidden, foreign)
        ]
        assert statuses == [200, 404, 404]


class TestEstimate:
    def answer(self, customer, link, **body):
        return customer.post(reverse("your-answer", args=[keys.token(link)]), body)

    def test_yes(self, customer, bench, job, link, now):
        sent(bench, job, line("Работа", price="184"), at=now)
        text = page(customer, link)
        assert "Работа" in text
        assert "Yes, do it for 184.00 EUR" in text
        assert self.answer(customer, link, answer="yes", version="1").status_code == 302
        assert "Agreed" in page(customer, link)
        assert queries.record_of(bench.job(job)).estimate == "yes"
        assert bench.job(job).waiting_on == "hands"

    def test_a_draft_is_not_shown(self, customer, bench, job, link, now):
        estimate_services.get_or_create_draft(job, by=bench.by, at=now)
        estimate_services.save_draft(job, "", [line("Not yet")], by=bench.by)
        assert "Not yet" not in page(customer, link)

    def test_a_stale_page_answers_nothing(self, customer, bench, job, link, now):
        sent(bench, job, line(price="10"), at=now)
        sent(bench, job, at=now)
        answer = self.answer(customer, link, answer="yes", version="1")
        assert answer.status_code == 409
        assert "newer estimate" in answer.content.decode()
        assert queries.record_of(bench.job(job)).estimate == "sent"

    @pytest.mark.parametrize("version", ["", "x", "-1", "9" * 30, "٣"])
    def test_a_version_that_is_none_answers_nothing(self, customer, bench, job, link, now, version):
        sent(bench, job, line(), at=now)
        assert self.answer(customer, link, answer="yes", version=version).status_code in (409, 422)
        assert queries.record_of(bench.job(job)).estimate == "sent"

    @pytest.mark.parametrize(
        "body", [{"answer": "perhaps"}, {}, {"answer": "question"}, {"answer": "no", "note": "\0"}]
    )
    def test_an_answer_that_is_none_is_named(self, customer, bench, job, link, now, body):
        sent(bench, job, line(), at=now)
        assert self.answer(customer, link, version="1", **body).status_code == 422
        assert queries.record_of(bench.job(job)).estimate == "sent"

    def test_a_question_is_put_and_answered_and_then_a_yes(
        self, customer, client, people, bench, job, link, now
    ):
        sent(bench, job, line(), at=now)
        self.answer(customer, link, answer="question", version="1", note="何で?")
        assert bench.job(job).customer_asked
        client.force_login(people.desk)
        client.post(reverse("customer-reply", args=[job]), {"text": "Because of the relay."})
        text = page(customer, link)
        assert "何で?" in text
        assert "Because of the relay." in text
        assert self.answer(customer, link, answer="yes", version="1").status_code == 302
        assert not bench.job(job).customer_asked

    def test_no_press_goes_without_the_token_of_the_form(self, bench, job, link, now):
        sent(bench, job, line(), at=now)
        strict = Client(enforce_csrf_checks=True)
        answer = self.answer(strict, link, answer="yes", version="1")
        assert answer.status_code == 403
        assert queries.record_of(bench.job(job)).estimate == "sent"


class TestQuestions:
    def ask(self, customer, link, words):
        return customer.post(reverse("your-question", args=[keys.token(link)]), {"question": words})

    def test_at_any_time_also_after(self, customer, bench, job, link):
        assert self.ask(customer, link, "Ist er schon offen?").status_code == 302
        assert "Ist er schon offen?" in page(customer, link)
        assert bench.job(job).customer_asked
        bench.record(job, "question_replied", text="Ja.")
        assert not bench.job(job).customer_asked
        bench.pass_gate(job, "hand-back")
        bench.stage(job, "withdrawn")
        assert self.ask(customer, link, "And now?").status_code == 302

    @pytest.mark.parametrize("words", ["", "   ", "x" * 2001, "a\x00b"])
    def test_what_is_no_question_is_named(self, customer, bench, job, link, words):
        assert self.ask(customer, link, words).status_code == 422
        assert "question_asked" not in bench.kinds(job)

    def test_markup_is_words(self, customer, link):
        self.ask(customer, link, "<script>alert(1)</script>")
        assert "&lt;script&gt;" in page(customer, link)


class TestLimits:
    def test_so_many_looks_a_minute(self, customer, link, monkeypatch):
        monkeypatch.setattr(views, "LOOKS", 3)
        for _ in range(3):
            page(customer, link)
        assert "Nothing is lost" in page(customer, link, status=429)

    def test_the_looks_at_one_link_take_none_from_another(
        self, customer, bench, link, now, monkeypatch
    ):
        monkeypatch.setattr(views, "LOOKS", 1)
        other = keys.link_for(bench.job(bench.receive()), now=now)
        page(customer, link)
        page(customer, link, status=429)
        page(customer, other)

    def test_guessing_is_slowed_and_the_right_key_still_opens(self, customer, link, monkeypatch):
        monkeypatch.setattr(views, "GUESSES", 2)
        statuses = [customer.get(f"/your-unit/guess{n}/").status_code for n in range(4)]
        assert statuses == [404, 404, 429, 429]
        page(customer, link)

    def test_so_many_answers_an_hour(self, customer, bench, job, link, monkeypatch):
        monkeypatch.setattr(views, "ANSWERS", 1)
        path = reverse("your-question", args=[keys.token(link)])
        assert customer.post(path, {"question": "one"}).status_code == 302
        assert customer.post(path, {"question": "two"}).status_code == 429
        assert bench.kinds(job).count("question_asked") == 1

    def test_the_window_ends(self, customer, link, monkeypatch):
        monkeypatch.setattr(views, "LOOKS", 1)
        page(customer, link)
        page(customer, link, status=429)
        with time_machine.travel(timezone.now() + timedelta(seconds=61)):
            page(customer, link)


def test_the_key_does_not_get_into_the_log(customer, link, caplog):
    with caplog.at_level("INFO", logger="shop.requests"):
        page(customer, link)
    assert link.nonce not in caplog.text
    assert "/your-unit/..." in caplog.text


def test_the_shop_makes_shows_and_ends_it(client, people, job):
    client.force_login(people.desk)
    path = reverse("customer-link", args=[job])
    client.post(path)
    live = CustomerLink.objects.get()
    assert keys.address(live) in client.get(reverse("customer-side", args=[job])).content.decode()
    client.post(path, {"act": "end"})
    live.refresh_from_db()
    assert live.revoked_at is not None
    assert keys.token(live) not in client.get(reverse("customer-side", args=[job])).content.decode()


def test_the_limit_of_the_customer_shows_no_person_in_the_pages_of_others(
    people, bench, now, customer
):
    first = intake_services.receive(
        by=people.desk, at=now, details=IntakeDetails(name="Ada"), make="Corvenby"
    )
    second = intake_services.receive(
        by=people.desk, at=now, details=IntakeDetails(name="Bo"), make="Ravelund"
    )
    text = page(customer, keys.link_for(second, now=now))
    assert "Corvenby" not in text
    assert "Ada" not in text
    assert first.number != second.number


def by_link():
    """Every view that a link opens, from the map of addresses."""
    return {
        pattern.name
        for resolver in get_resolver().url_patterns
        for pattern in getattr(resolver, "url_patterns", [])
        if getattr(pattern.callback, "by_link", False)
    }


def test_every_page_by_link_is_known_here():
    of_a_job = {"your-unit", "your-answer", "your-question", "your-photo", "your-bill"}
    # Opened by the token of an announcement: tested with it.
    assert by_link() == of_a_job | {"announce"}


@pytest.mark.parametrize("holder", ["revoked", "expired", "forged", "of another job"])
@pytest.mark.parametrize("name", sorted(by_link() - {"announce"}))
def test_every_page_for_every_holder(customer, people, bench, job, link, now, name, holder):
    sent(bench, job, line("Of this job"), at=now)
    photo = snap(job, by=bench.by, of=PhotoSubject(caption="Of this job"))
    number = bench.receive()
    token = keys.token(link)
    if holder == "of another job":
        token = keys.token(keys.link_for(bench.job(number), now=now))
    elif holder == "revoked":
        keys.revoke(bench.job(job), by=people.desk, at=now)
    elif holder == "expired":
        CustomerLink.objects.update(expires_at=now)
    else:
        token = token[:-2] + "xx"
    more = {"your-photo": [photo.pk, "small"], "your-bill": [1]}.get(name, [])
    path, body = (
        reverse(name, args=[token, *more]),
        {"answer": "yes", "version": "1", "question": "?"},
    )
    before = bench.kinds(job)

    answers = [customer.get(path), customer.post(path, body)]

    assert bench.kinds(job) == before
    for answer in answers:
        assert "Of this job" not in answer.content.decode(errors="replace")
        if holder != "of another job":
            assert answer.status_code in (404, 405)


def test_money_on_the_page_is_that_of_the_estimate(customer, bench, job, link, now):
    sent(bench, job, line(price="100", tax_rate=Decimal("19")), at=now)
    text = page(customer, link)
    assert "VAT 19 %" in text
    assert "119.00 EUR" in text
