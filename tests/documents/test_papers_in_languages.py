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
from tests.documents.test_pdf_documents import TestCommercialDocuments, flat, printed, to_release
from tests.helpers_languages import bare, spoken

pytestmark = pytest.mark.django_db

FOREIGN = [language for language in NAMES if language != "en"]


def customer_of(number, language, **more):
    customer = Customer.objects.create(name="Ada Row", language=language, **more)
    Intake.objects.update_or_create(job_id=number, defaults={"customer": customer})
    return customer


def said(number, name):
    return plain(printed(number, name))


def plain(pdf):
    """The text on one line, with the usual blank for every kind of blank."""
    return re.sub(r"\s+", " ", flat(pdf))


def as_printed(words):
    return re.sub(r"\s+", " ", words)


def language_inside(pdf):
    return pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/Lang"]


@pytest.fixture
def asked(bench, job, now):
    """A job with an estimate of 90.00 that waits for an answer."""
    line = TestCommercialDocuments.LINE | {"words": "0001"}
    estimate_services.get_or_create_draft(job, by=bench.by, at=now)
    estimate_services.save_draft(job, "", [line], by=bench.by)
    estimate_services.send_draft(job, by=bench.by, at=now)
    return job


@pytest.mark.parametrize("language", FOREIGN)
def test_an_estimate_in_each_language(asked, now, monkeypatch, language):
    spoken(monkeypatch, language)
    customer_of(asked, language)
    pdf = printed(asked, "estimate")
    with translation.override(language):
        day, total = languages.day(now), money.formatted(Decimal("107.10"), "EUR")
    text = plain(pdf)
    assert "«What for»" in text
    assert "«We go no further than this without asking you again.»" in text
    assert as_printed(f"«Sent on {day}.»") in text
    assert as_printed(f"«Yes, do it for {total}.»") in text
    assert language_inside(pdf) == language


def test_nothing_on_an_estimate_or_a_packing_list_stays_untranslated(
    asked, bench, monkeypatch, settings
):
    spoken(monkeypatch, "de")
    settings.SHOP_NAME, settings.TELEPHONE = "0002", ""
    customer_of(asked, "de", address="0003")
    Job.objects.filter(pk=asked).update(complaint="")
    assert not re.findall(r"[A-Za-z]{3,}", known_taken_off(asked, bare(said(asked, "estimate"))))


def known_taken_off(number, text):
    """What is no word of the paper: the unit, the customer, currency and hours."""
    job = Job.objects.get(pk=number)
    for known in (str(job.unit), job.unit.serial, "Ada Row", "EUR", "VAT", "SHA"):
        text = text.replace(known, "") if known else text
    return text


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
    assert "«" not in said(asked, "estimate")
    settings.CUSTOMERS_LANGUAGE = "nl"
    assert "«What for»" in said(asked, "estimate")


def test_a_warning_is_followed_by_its_english(bench, job, monkeypatch):
    spoken(monkeypatch, "fr")
    customer_of(job, "fr")
    bench.pass_gate(job, "hand-back")
    bench.stage(job, "withdrawn")
    warning = "This unit goes back unrepaired. Do not plug it in"
    for name in ("handback", "packing"):
        text = said(job, name)
        assert f"«{warning}" in text
        assert text.count(warning) == 2
    assert "«Findings, work, steps and readings are written in English.»" in said(job, "handback")
    Customer.objects.update(language="en")
    for name in ("handback", "packing"):
        assert said(job, name).count(warning) == 1
    assert "written in English" not in said(job, "handback")


def test_a_release_record_in_each_language(bench, monkeypatch):
    number = to_release(bench)
    bench.leave_gates(number)
    bench.stage(number, "released")
    customer = customer_of(number, "")
    for language in FOREIGN:
        spoken(monkeypatch, language)
        Customer.objects.filter(pk=customer.pk).update(language=language)
        pdf = printed(number, "release")
        text = plain(pdf)
        with translation.override(language):
            day = languages.day(Job.objects.get(pk=number).closed_at)
        assert as_printed(f"«Repaired, tested and released on {day} by ") in text, language
        assert f"«{technical_documents.SHUT}»" in text, language
        assert text.count(str(technical_documents.SHUT)) == 2, language
        assert "Touch current of every exposed metal part" in text, language
        assert language_inside(pdf) == language


@pytest.mark.parametrize("language", ["en", "ja"])
def test_japanese_is_set_by_the_faces_that_come_along(bench, language):
    """Kana, kanji of level 1, and of level 2 (JIS X 0208: rows 48 to 84), as names have them."""
    words = "右のスピーカーから音が出ません。瀉鄰龝"
    number = bench.receive(complaint=words)
    customer_of(number, language)
    assert words in flat(printed(number, "traveller")).replace(" ", "")
