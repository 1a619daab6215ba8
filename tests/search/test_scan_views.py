"""What a scanner types opens the job it means, and nothing else."""

from __future__ import annotations

from io import BytesIO

import pypdfium2
import pytest
import segno
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from PIL import Image

from shop.customers.announced import services as announcing
from shop.documents import pdf_documents
from shop.jobs import queries
from shop.search.scan_views import jobs_for
from tests.photos.pictures import bomb, picture

pytestmark = pytest.mark.django_db


@pytest.fixture
def scan(client, people, settings):
    settings.ADDRESS = "https://bench.example"
    client.force_login(people.viewer)
    return lambda code: client.get("/scan/", {"code": code})


@pytest.mark.parametrize(
    "code", ["https://bench.example/jobs/{}/", "/jobs/{}/", "jobs/{}", "{}", "  {}\r\n"]
)
def test_a_label_or_number_opens_its_job(scan, bench, code):
    number = bench.receive()
    answer = scan(code.format(number))
    assert (answer.status_code, answer["Location"]) == (302, f"/jobs/{number}/")


@pytest.mark.parametrize("place", ["https://other.example", "http://192.168.0.9:8000/bench"])
def test_a_label_of_another_address_opens_its_job_and_says_so(scan, client, bench, place):
    """The shop moved, or was reached by another name when the label was printed."""
    number = bench.receive()
    answer = scan(f"{place}/jobs/{number}/")
    assert (answer.status_code, answer["Location"]) == (302, f"/jobs/{number}/")
    text = client.get(answer["Location"]).content.decode()
    assert "The label was printed under" in text
    assert place in text
    assert "was printed under" not in client.get(answer["Location"]).content.decode()


class TestPicture:
    """A still picture, for browsers that read no codes themselves."""

    @pytest.fixture
    def send(self, client, people, settings):
        settings.ADDRESS = "https://bench.example"
        client.force_login(people.viewer)

        def send(raw, name="label.jpg"):
            return client.post("/scan/picture/", {"picture": SimpleUploadedFile(name, raw)})

        return send

    def label(self, number, dots_per_inch=203):
        """The label as it is printed, photographed a little turned on a table."""
        traveller = queries.Traveller.of(queries.job(number, timezone.now()))
        page = pypdfium2.PdfDocument(pdf_documents.render_pdf("label", traveller, "62x29"))[0]
        drawn = page.render(scale=dots_per_inch / 72).to_pil()
        table = Image.new("RGB", (1200, 900), "#8a7a60")
        table.paste(drawn.resize((drawn.width * 2, drawn.height * 2)), (90, 200))
        out = BytesIO()
        table.rotate(7, fillcolor="#8a7a60").save(out, "JPEG", quality=80)
        return out.getvalue()

    def test_the_label_opens_its_job(self, send, bench):
        number = bench.receive()
        answer = send(self.label(number))
        assert (answer.status_code, answer["Location"]) == (302, f"/jobs/{number}/")

    def test_a_picture_without_a_code_is_told_so(self, send):
        answer = send(picture())
        assert answer.status_code == 422
        assert "No code was found in the picture" in answer.content.decode()

    def test_a_code_of_something_else_is_named(self, send):
        out = BytesIO()
        segno.make("https://elsewhere.example/x").save(out, kind="png", scale=8)
        answer = send(out.getvalue(), "other.png")
        assert answer.status_code == 404
        assert "No job of this shop has the code" in answer.content.decode()

    @pytest.mark.parametrize(
        ("raw", "sentence"),
        [(b"", "is empty"), (b"GIF89a", "no picture"), (bomb(), "million points")],
        ids=["empty", "another kind", "bomb"],
    )
    def test_what_is_no_picture_is_refused_with_a_sentence(self, send, raw, sentence):
        answer = send(raw)
        assert answer.status_code == 422
        assert sentence in answer.content.decode()

    def test_no_picture_at_all(self, client, people):
        client.force_login(people.viewer)
        answer = client.post("/scan/picture/")
        assert answer.status_code == 422
        assert "No picture came" in answer.content.decode()


@pytest.mark.parametrize(
    "code", ["999999", "9" * 40, "x" * 500, "٣", "-1", "jobs/1/ledger/", "a\0b", "<b>", "%"]
)
def test_what_means_no_job_gets_a_sentence(scan, bench, code):
    bench.receive(serial="S1")
    answer = scan(code)
    assert answer.status_code == 404
    assert "<b>." not in answer.content.decode()


def test_a_serial_number_opens_its_one_job_whatever_the_case(scan, bench):
    number = bench.receive(serial="kv-٣ Ж")
    assert scan("KV-٣ Ж")["Location"] == f"/jobs/{number}/"


def test_a_serial_number_seen_twice_lists_newest_first(scan, bench):
    first, second = bench.receive(serial="KV-1"), bench.receive(serial="KV-1", make="Other")
    page = scan("kv-1").content.decode()
    assert page.index(f"/jobs/{second}/") < page.index(f"/jobs/{first}/")


def test_a_number_that_is_also_a_serial_lists_both(bench):
    number = bench.receive()
    other = bench.receive(serial=str(number))
    assert [job.number for job in jobs_for(str(number))] == [number, other]


def test_the_empty_page_asks(scan):
    answer = scan("")
    assert answer.status_code == 200
    assert 'role="alert"' not in answer.content.decode()


def test_the_number_of_a_parcel_opens_what_was_announced(scan, client, people, bench):
    said = {"make": "Corvenby", "tracking": "NP 12 345"}
    row = announcing.announce(said, by=people.desk, at=timezone.now())
    assert scan("np 12 345").status_code == 404  # who may not receive learns of no customer
    client.force_login(people.desk)
    answer = client.get("/scan/", {"code": " np 12 345\r\n"})
    assert (answer.status_code, answer["Location"]) == (302, f"/announced/{row.pk}/")
    announcing.announce(said, by=people.desk, at=timezone.now())
    assert client.get("/scan/", {"code": "NP 12 345"}).status_code == 404
    number = bench.receive(serial="NP 12 345")
    assert client.get("/scan/", {"code": "NP 12 345"})["Location"] == f"/jobs/{number}/"
