"""Papers in the language of the customer: words, days, sums, the letters of Japanese.

The words come from a catalogue that puts each translated string in angle quotes: so what reached no
translation stands bare, whatever the catalogues that come along have today.
"""

from __future__ import annotations

import io
import re
from decimal import Decimal

import pypdf
import pytest
from django.utils import translation

from shop.customers.models import Customer, Intake
from shop.documents import technical_documents
from shop.estimates import services as estimate_services
from shop.jobs.models import Job
from shop.lib import languages, money
from shop.preferences.languages import NAMES
from tests.bills.conftest import line
from tests.documents.test_pdf_documents import flat, printed, to_release
from tests.helpers_languages import bare, spoken, times

pytestmark = pytest.mark.django_db

FOREIGN = [language for language in NAMES if language != "en"]


def customer_of(number, language, **more):
    customer = Customer.objects.create(name="Ada Row", language=language, **more)
    Intake.objects.update_or_create(job_id=number, defaults={"customer": customer})
    return customer


def language_inside(pdf):
    return pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/Lang"]


@pytest.fixture
def asked(bench, job, now):
    """A job with an estimate of 90.00 that waits for an answer."""
    estimate_services.get_or_create_draft(job, by=bench.by, at=now)
    estimate_services.save_draft(job, "", [line("0001", "1.5", "60")], by=bench.by)
    estimate_services.send_draft(job, by=bench.by, at=now)
    return job


@pytest.mark.parametrize("language", FOREIGN)
def test_an_estimate_in_each_language(asked, now, monkeypatch, language):
    spoken(monkeypatch, language)
    customer_of(asked, language)
    pdf = printed(asked, "estimate")
    with translation.override(language):
        day, total = languages.day(now), money.formatted(Decimal("107.10"), "EUR")
    for words in (
        "«What for»",
        "«We go no further than this without asking you again.»",
        f"«Sent on {day}.»",
        f"«Yes, do it for {total}.»",
    ):
        assert times(words, flat(pdf)), words
    assert language_inside(pdf) == language


def test_nothing_on_an_estimate_stays_untranslated(asked, monkeypatch, settings):
    # Its days have no letters that a word of English has.
    spoken(monkeypatch, "ja")
    settings.SHOP_NAME, settings.TELEPHONE = "0002", ""
    customer_of(asked, "ja", address="0003")
    Job.objects.filter(pk=asked).update(complaint="")
    left = bare(flat(printed(asked, "estimate")))
    for known in (str(Job.objects.get(pk=asked).unit), "Ada Row"):
        left = left.replace(known, "")
    assert not re.findall(r"[A-Za-z]{3,}", left)


def test_what_stays_in_the_shop_stays_english(asked, monkeypatch):
    spoken(monkeypatch, "de")
    customer_of(asked, "de")
    for name, size in (("traveller", "a4"), ("label", "62x29")):
        pdf = printed(asked, name, size)
        assert "«" not in flat(pdf)
        assert language_inside(pdf) == "en"


def test_the_settings_say_it_for_customers_without_a_language(asked, monkeypatch, settings):
    spoken(monkeypatch, "nl")
    customer_of(asked, "")
    assert not times("«", flat(printed(asked, "estimate")))
    settings.CUSTOMERS_LANGUAGE = "nl"
    assert times("«What for»", flat(printed(asked, "estimate")))


def test_a_warning_is_followed_by_its_english(bench, job, monkeypatch):
    spoken(monkeypatch, "fr")
    customer_of(job, "fr")
    bench.pass_gate(job, "hand-back")
    bench.stage(job, "withdrawn")
    warning = "This unit goes back unrepaired. Do not plug it in"
    for name in ("handback", "packing"):
        text = flat(printed(job, name))
        assert times(f"«{warning}", text) == 1
        assert times(warning, text) == 2
    told = "«Findings, work, steps and readings are written in English.»"
    assert times(told, flat(printed(job, "handback"))) == 1
    Customer.objects.update(language="en")
    for name in ("handback", "packing"):
        assert times(warning, flat(printed(job, name))) == 1
    assert not times("written in English", flat(printed(job, "handback")))


def test_a_release_record_in_each_language(bench, monkeypatch):
    number = to_release(bench)
    bench.leave_gates(number)
    bench.stage(number, "released")
    customer = customer_of(number, "")
    for language in FOREIGN:
        spoken(monkeypatch, language)
        Customer.objects.filter(pk=customer.pk).update(language=language)
        pdf = printed(number, "release")
        text = flat(pdf)
        with translation.override(language):
            day = languages.day(Job.objects.get(pk=number).closed_at)
        assert times(f"«Repaired, tested and released on {day} by ", text) == 1, language
        assert times(f"«{technical_documents.SHUT}»", text) == 1, language
        assert times(str(technical_documents.SHUT), text) == 2, language
        assert times("Touch current", text), language
        assert language_inside(pdf) == language


@pytest.mark.parametrize("language", ["en", "ja"])
def test_japanese_is_set_by_the_faces_that_come_along(bench, language):
    """Kana, kanji of level 1, and of level 2 (JIS X 0208: rows 48 to 84), as names have them."""
    words = "右のスピーカーから音が出ません。瀉鄰龝"
    number = bench.receive(complaint=words, make="鄰音")
    customer_of(number, language)
    for name in ("traveller", "receipt"):
        text = flat(printed(number, name))
        assert times(words, text)
        # In bold type, which has level 1 alone.
        assert times("鄰音", text)
