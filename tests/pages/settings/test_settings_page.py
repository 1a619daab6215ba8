"""The page and the API of the shop's settings."""

from __future__ import annotations

import base64
import re
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image
from pypdf import PdfReader

from shop.documents import pdf_documents
from shop.documents.common import letterhead
from shop.preferences import current
from tests.composed import free_port


@pytest.fixture
def owner(client, people):
    client.force_login(people.owner)
    return client


def _shown() -> dict[str, str]:
    return {one.setting.name: one.text for one in current.all_in_force()}


def test_the_owner_sees_every_setting_and_keeps_what_changed(owner):
    page = owner.get("/settings/")
    assert page.status_code == 200
    assert "Decimal sign" in page.content.decode()
    answer = owner.post("/settings/", _shown() | {"hands": "2"}, follow=True)
    assert "Settings kept." in answer.content.decode()
    assert "hands" in answer.content.decode()
    assert current.value("hands") == 2


def test_a_fault_is_named_at_its_field_and_nothing_is_lost(owner):
    answer = owner.post("/settings/", _shown() | {"hands": "many", "tax_name": "GST"})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "People at the bench is &#x27;many&#x27;" in text
    assert 'value="GST"' in text
    assert current.value("tax_name") == "VAT"


def test_an_emptied_field_goes_back_to_its_default(owner):
    owner.post("/settings/", _shown() | {"tax_name": "GST"})
    owner.post("/settings/", _shown() | {"tax_name": ""})
    assert current.in_force("tax_name").source == "default"


def test_what_the_machine_decides_is_told_and_stays(owner, settings):
    settings.SHOP_NAME = "Bench & Sons"
    text = owner.get("/settings/").content.decode()
    assert "Set by BENCHTAG_SHOP_NAME on the machine" in text
    owner.post("/settings/", _shown() | {"shop_name": "Other"})
    assert current.value("shop_name") == "Bench & Sons"


@pytest.mark.parametrize("role", ["technician", "desk", "viewer"])
def test_nobody_but_the_owner_decides(client, people, role):
    client.force_login(getattr(people, role))
    assert client.get("/settings/").status_code == 403
    assert client.post("/settings/", {"hands": "9"}).status_code == 403
    assert client.get("/api/v1/settings/").status_code == 403
    assert current.value("hands") == 1


def test_the_api_tells_value_source_and_kind_and_changes_some(owner):
    by_name = {one["name"]: one for one in owner.get("/api/v1/settings/").json()}
    assert by_name["hands"]["source"] == "default"
    assert by_name["hands"]["kind"] == "int"
    assert by_name["decimal_sign"]["choices"] == [".", ","]
    answer = owner.patch("/api/v1/settings/", {"hands": "3"}, content_type="application/json")
    assert answer.status_code == 200
    assert {one["name"]: one for one in answer.json()}["hands"]["source"] == "page"
    wrong = owner.patch(
        "/api/v1/settings/", {"hands": "x", "nope": "1"}, content_type="application/json"
    )
    assert wrong.status_code == 422
    assert "People at the bench" in wrong.json()["reason"]
    assert current.value("hands") == 3


class TestMail:
    def test_the_test_letter_keeps_what_was_typed_and_tells_the_answer(self, owner, settings):
        settings.EMAIL_BACKEND = "shop.lib.mail_server.MailServer"
        typed = {"mail_host": "127.0.0.1", "mail_port": str(free_port()), "act": "test"}
        answer = owner.post(
            "/settings/", _shown() | typed | {"test_to": "ann@example.org"}, follow=True
        )
        assert "127.0.0.1 takes no connections at this port." in answer.content.decode()
        assert current.value("mail_host") == "127.0.0.1"

    @pytest.mark.parametrize(
        ("to", "said"),
        [
            ("", "write whom the test letter is for"),
            ("ann", "the address of the test letter is &#x27;ann&#x27;; write one address"),
        ],
    )
    def test_whom_it_is_for_is_asked(self, owner, to, said):
        answer = owner.post("/settings/", _shown() | {"act": "test", "test_to": to}, follow=True)
        assert said in answer.content.decode()

    def test_the_password_is_never_shown_and_an_empty_field_leaves_it(self, owner):
        owner.post("/settings/", _shown() | {"mail_password": "tin-whistle"})
        page = owner.get("/settings/").content.decode()
        assert "tin-whistle" not in page
        assert "kept; type another to change it" in page
        owner.post("/settings/", _shown() | {"hands": "2"})
        assert current.value("mail_password") == "tin-whistle"
        assert b"tin-whistle" not in owner.get("/api/v1/settings/").content
        assert b"tin-whistle" not in owner.get("/api/v1/settings/history/").content

    def test_that_it_went_with_the_server_is_told(self, owner):
        owner.post("/settings/", _shown() | {"mail_host": "a.example", "mail_password": "x"})
        answer = owner.post("/settings/", _shown() | {"mail_host": "b.example"}, follow=True)
        assert "type it again" in answer.content.decode()
        assert current.value("mail_password") == ""


class TestCountry:
    def test_a_new_country_asks_about_what_is_usual_and_takes_what_is_ticked(self, owner):
        answer = owner.post("/settings/", _shown() | {"country": "US", "hands": "2"}, follow=True)
        assert answer.redirect_chain[-1][0] == "/settings/country/"
        page = answer.content.decode()
        assert "What is usual in United States" in page
        assert "<b>US Letter</b>" in page
        assert current.value("currency") == "EUR"
        owner.post("/settings/country/", {"take": ["currency", "paper_size"]})
        assert (current.value("currency"), current.value("paper_size")) == ("USD", "us-letter")
        assert current.value("practice") == "after-repair"

    def test_what_was_typed_is_not_ticked(self, owner):
        owner.post("/settings/", _shown() | {"currency": "CHF"})
        page = owner.post("/settings/", _shown() | {"country": "US"}, follow=True).content.decode()
        assert "CHF, decided by you" in page
        [tick] = re.findall(r'<input [^>]*value="currency"[^>]*>', page)
        assert "checked" not in tick
        [tick] = re.findall(r'<input [^>]*value="paper_size"[^>]*>', page)
        assert "checked" in tick

    def test_a_country_that_is_none_is_named(self, owner):
        answer = owner.post("/settings/", _shown() | {"country": "ZZZ"})
        assert answer.status_code == 422
        assert "&#x27;ZZZ&#x27;; write a country by its two letters" in answer.content.decode()

    def test_the_api_proposes_and_takes_nothing(self, owner):
        found = owner.get("/api/v1/settings/usual/?country=de").json()
        by_name = {one["name"]: one for one in found}
        assert by_name["time_zone"]["value"] == "Europe/Berlin"
        assert by_name["time_zone"]["decided"] is False
        assert current.in_force("time_zone").source == "default"
        wrong = owner.get("/api/v1/settings/usual/?country=Atlantis")
        assert wrong.status_code == 422
        assert "write a country by its two letters" in wrong.json()["reason"]


class TestLogo:
    def test_a_picture_becomes_the_logo_of_pages_and_papers(self, owner, job, bench):
        picture = SimpleUploadedFile("mark.png", png(900, 300), "image/png")
        owner.post("/settings/", _shown() | {"logo": picture})
        logo = current.value("logo")
        assert logo.startswith("data:image/png;base64,")
        with Image.open(BytesIO(base64.b64decode(logo.partition(",")[2]))) as kept:
            assert kept.size == (600, 200)
        with_logo = pdf_documents.render_pdf("traveller", bench.traveller(job), "a4")
        owner.post("/settings/", _shown() | {"logo-remove": "on"})
        assert current.value("logo") == ""
        without = pdf_documents.render_pdf("traveller", bench.traveller(job), "a4")
        assert (_pictures(with_logo), _pictures(without)) == (1, 0)

    def test_what_is_no_picture_is_named_and_nothing_is_lost(self, owner):
        file = SimpleUploadedFile("mark.svg", b"<svg onload='x'/>", "image/svg+xml")
        answer = owner.post("/settings/", _shown() | {"logo": file, "tax_name": "GST"})
        assert answer.status_code == 422
        text = answer.content.decode()
        assert "The file is no picture of a kind that is taken" in text
        assert 'value="GST"' in text
        assert current.value("tax_name") == "VAT"

    def test_the_api_makes_it_anew_and_refuses_what_is_none(self, owner):
        sent = "data:image/png;base64," + base64.b64encode(png(1200, 400)).decode()
        answer = owner.patch("/api/v1/settings/", {"logo": sent}, content_type="application/json")
        assert answer.status_code == 200
        assert current.value("logo") not in ("", sent)
        for wrong in ("data:image/png;base64,PHN2Zz4=", "nonsense!"):
            answer = owner.patch(
                "/api/v1/settings/", {"logo": wrong}, content_type="application/json"
            )
            assert answer.status_code == 422


def png(wide: int, high: int) -> bytes:
    out = BytesIO()
    Image.new("RGBA", (wide, high), (30, 90, 60, 128)).save(out, "PNG")
    return out.getvalue()


def _pictures(pdf: bytes) -> int:
    return sum(len(page.images) for page in PdfReader(BytesIO(pdf)).pages[:1])


def test_the_history_names_the_setting_and_who(owner, people):
    owner.patch("/api/v1/settings/", {"hands": "3"}, content_type="application/json")
    [row] = owner.get("/api/v1/settings/history/").json()
    assert (row["name"], row["value"], row["by"]) == ("hands", "3", people.owner.username)
    assert "<b>People at the bench</b> is 3" in owner.get("/settings/").content.decode()


def test_an_address_of_several_lines_stands_on_papers_and_pages(owner, client):
    owner.post("/settings/", _shown() | {"postal_address": "4 Tin Lane\r\nOstmere"})
    assert current.value("postal_address") == "4 Tin Lane\nOstmere"
    assert letterhead()["shop_address"] == "4 Tin Lane, Ostmere"
