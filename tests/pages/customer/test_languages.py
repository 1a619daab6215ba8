"""The customer's pages speak the customer's language; what is kept, and the shop, speak theirs."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from checklists.engine.figures import THIN_SPACE
from shop.customers.announced import queries as announced_queries
from shop.customers.announced import services as announcing
from shop.customers.announced.models import Announcement
from shop.customers.links import keys
from shop.customers.models import Customer, Intake
from shop.estimates import services as estimates
from shop.intake import announcements
from shop.intake import services as intake_services
from shop.jobs import next_act, queries
from shop.lib import languages
from tests.estimates.test_services import line, sent
from tests.translated import say

pytestmark = pytest.mark.django_db
STRANGE = "tlh, pl;q=0.8, *;q=0.5"  # no language that there is


@pytest.fixture
def opened(bench, job, now):
    """Open the page of a unit whose customer has a language on record, and return the answer."""

    def get(on_record: str = "", asked: str | None = None):
        customer = Customer.objects.create(name="Ada", language=on_record)
        Intake.objects.update_or_create(job_id=job, defaults={"customer": customer})
        link = keys.link_for(bench.job(job), now=now, by=bench.by)
        headers = {} if asked is None else {"accept-language": asked}
        return Client(headers=headers).get(reverse("your-unit", args=[keys.token(link)]))

    return get


@pytest.mark.parametrize(
    ("on_record", "asked", "usual", "spoken"),
    [
        ("", None, "en", "en"),
        ("", None, "nl", "nl"),
        ("", "fr-CH, de;q=0.9", "en", "fr"),
        ("", "en;q=0.1, ja", "nl", "ja"),
        ("", "tlh, it;q=0.3", "en", "it"),
        ("", "de;q=0, fr;q=0.2", "en", "fr"),
        ("", STRANGE, "en", "en"),
        ("", STRANGE, "nl", "nl"),
        ("", "x" * 5000, "nl", "nl"),
        ("es", "de", "nl", "es"),
        ("en", "de", "nl", "en"),
    ],
)
def test_record_then_browser_then_shop(opened, settings, on_record, asked, usual, spoken):
    settings.CUSTOMERS_LANGUAGE = usual
    answer = opened(on_record, asked)
    assert answer["Content-Language"] == spoken
    assert f'<html lang="{spoken}">' in answer.content.decode()


def test_a_page_that_is_gone_speaks_as_the_browser_asks():
    answer = Client(headers={"accept-language": "de"}).get(reverse("your-unit", args=["1-a.b"]))
    assert (answer.status_code, answer["Content-Language"]) == (404, "de")


def test_days_and_sums_are_written_as_the_customer_writes_them(opened, bench, job, now):
    sent(bench, job, line("Arbeit", price="1184.5"), at=now)
    german, english = opened("de").content.decode(), opened("en").content.decode()
    day = timezone.localdate(now)
    assert f"{day.day}. " in german
    assert "1.184,50\N{NO-BREAK SPACE}€" in german
    assert f"{day:%-d %B %Y}" in english
    assert f"1{THIN_SPACE}184.50 EUR" in english


def test_the_words_are_translated(opened, monkeypatch):
    say(monkeypatch, "de", {"Ask us something": "Fragen Sie uns", "Received": "Eingegangen"})
    german = opened("de").content.decode()
    assert "Fragen Sie uns" in german
    assert "Eingegangen" in german
    assert "Fragen Sie uns" not in opened("fr").content.decode()


class TestRefusals:
    def test_an_empty_question(self, opened, monkeypatch, bench, job, now):
        say(monkeypatch, "de", {"{field} is empty; write it down.": "{field} fehlt."})
        say(monkeypatch, "de", {"field\x04question": "Frage"})
        opened("de")
        token = keys.token(keys.link_for(bench.job(job), now=now))
        answer = Client().post(reverse("your-question", args=[token]), {"question": " "})
        assert answer.status_code == 422
        assert "Frage fehlt." in answer.content.decode()

    @pytest.mark.parametrize("given", ["yes", "no"])
    def test_what_was_answered(self, opened, monkeypatch, bench, job, now, given):
        sentence = f"You have said {given} already; to change it, ring the shop."
        say(monkeypatch, "de", {sentence: "Schon beantwortet."})
        sent(bench, job, line("Arbeit"), at=now)
        opened("de")
        path = reverse("your-answer", args=[keys.token(keys.link_for(bench.job(job), now=now))])
        first, second = (Client().post(path, {"answer": given, "version": "1"}) for _ in "ab")
        assert (first.status_code, second.status_code) == (302, 409)
        assert "Schon beantwortet." in second.content.decode()


class TestTheShop:
    def test_what_is_kept_of_a_german_answer_is_english(
        self, opened, monkeypatch, bench, job, now, client, people
    ):
        spoken, real = [], next_act.act_for

        def noting(*given):
            spoken.append(languages.in_force())
            return real(*given)

        monkeypatch.setattr(next_act, "act_for", noting)
        sent(bench, job, line("Arbeit"), at=now)
        opened("de")
        spoken.clear()
        path = reverse("your-answer", args=[keys.token(keys.link_for(bench.job(job), now=now))])
        body = {"answer": "yes", "version": "1", "note": "Ja, gern."}
        answer = Client(headers={"accept-language": "de"}).post(path, body)
        assert (answer.status_code, answer["Content-Language"]) == (302, "de")
        assert spoken
        assert set(spoken) == {"en"}
        row = queries.rows_of(bench.job(job))[-1]
        assert row.data == {"answer": "yes", "version": 1, "way": "link", "note": "Ja, gern."}
        assert estimates.sent_estimates(queries.record_of(bench.job(job)))[0].answer == "yes"

    def test_its_pages_stay_english(self, client, people, job, monkeypatch, settings):
        say(monkeypatch, "de", {"Messages": "Nachrichten"})
        settings.CUSTOMERS_LANGUAGE = "de"
        client.force_login(people.desk)
        text = client.get(reverse("outbox"), headers={"accept-language": "de"}).content.decode()
        assert '<html lang="en"' in text
        assert "Nachrichten" not in text


class TestAnnounced:
    @pytest.fixture
    def row(self, people):
        return announcing.announce({"name": "Ada"}, by=people.desk, at=timezone.now())

    def page(self, row, asked, **said):
        visitor = Client(headers={"accept-language": asked})
        path = reverse("announce", args=[announced_queries.token(row)])
        return visitor.post(path, said) if said else visitor.get(path)

    def test_who_fills_it_in_in_french_reads_french_from_then_on(self, row, people):
        answer = self.page(row, "fr")
        assert answer["Content-Language"] == "fr"
        assert '<option value="fr" selected>Français</option>' in answer.content.decode()
        # What the browser sends back when nobody touches the choice.
        chosen = answer.context["form"]["language"].value()
        self.page(row, "fr", name="Ada", complaint="ronfle", language=chosen)
        row.refresh_from_db()
        assert row.language == "fr"
        assert self.page(row, "de")["Content-Language"] == "fr"
        job = intake_services.receive(
            by=people.desk, at=timezone.now(), announced=row.pk, complaint=row.complaint,
            details=announcements.details_of(row), make="Corvenby",
        )  # fmt: skip
        assert job.intake.customer.language == "fr"
        row.refresh_from_db()
        assert row.language == "", "it stands with the customer now"

    def test_its_day_is_written_as_browsers_read_it(self, row, people):
        day = timezone.localdate() + timedelta(days=3)
        announcing.change(row.pk, {"expected_on": day}, by=people.desk, at=timezone.now())
        assert f'value="{day.isoformat()}"' in self.page(row, "de").content.decode()

    def test_the_language_that_the_shop_chose_comes_first(self, row, people):
        announcing.change(row.pk, {"language": "it"}, by=people.desk, at=timezone.now())
        assert self.page(row, "fr")["Content-Language"] == "it"

    def test_what_is_wrong_is_said_in_the_language(self, row, monkeypatch):
        wrong = "{field} is {value}; write it like name@example.org."
        say(
            monkeypatch,
            "de",
            {wrong: "{field}: {value} ist keine Adresse.", "field\x04email": "E-Mail"},
        )
        answer = self.page(row, "de", complaint="brummt", email="nein", language="de")
        assert answer.status_code == 422
        assert "ist keine Adresse." in answer.content.decode()
        assert Announcement.objects.get().email == ""
