"""Manuals of a job, a model and a part: added, searched, shown beside the work, taken away."""

from __future__ import annotations

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from checklists import published
from shop.customers import services as customer_services
from shop.customers.models import Customer, Intake
from shop.jobs.models import JobPart
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.manuals import queries, reading, services
from shop.manuals.models import Manual, ManualFile, ManualPage, PageLink
from shop.manuals.services import Owner
from shop.model_sheets.models import ModelSheet
from tests.factories import PartFactory
from tests.helpers import amplifier
from tests.manuals import pdfs

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, people):
    client.force_login(people.desk)
    return client


@pytest.fixture
def unit(bench):
    return bench.receive(make="Corvenby", model="Spool 3", facts=amplifier())


def upload(client, path, raw, name="service.pdf", **body):
    sent = {"file": SimpleUploadedFile(name, raw, "application/pdf")} if raw is not None else {}
    return client.post(path, {"kind": "manual"} | sent | body)


def of_job(number):
    return reverse("job-manuals", args=[number])


def text_of(answer):
    return " ".join(answer.content.decode().split())


def keep(owner, *texts, by, title="Service"):
    joined = "|".join(texts).encode()
    read = reading.ReadPdf(
        b"%PDF-" + joined, b"", list(texts), reading.hashlib.sha256(joined).hexdigest()
    )
    return services.add_manual(
        owner, "a.pdf", read, kind="manual", title=title, by=by, at=timezone.now()
    )


def test_it_is_added_on_the_job_and_belongs_to_the_model(desk, bench, unit):
    answer = upload(
        desk, of_job(unit), pdfs.pdf("Bias", "Rail"), of="model", name="Spool 3 (Б).pdf"
    )
    assert answer.status_code == 302
    manual = Manual.objects.get()
    assert (manual.make, manual.model, manual.job, manual.part) == (
        "Corvenby",
        "Spool 3",
        None,
        None,
    )
    assert (manual.title, manual.pages) == ("Spool 3 (Б)", 2)
    page = text_of(desk.get(of_job(unit)))
    assert "Its text can be searched." in page
    assert "Manual, 2 pages, of the model" in page
    other = bench.receive(make="Corvenby", model="Spool 3")
    assert "Spool 3 (Б)" in text_of(desk.get(of_job(other)))
    stranger = bench.receive(make="Corvenby", model="Spool 4")
    assert "Spool 3 (Б)" not in text_of(desk.get(of_job(stranger)))


def test_on_the_job_alone_it_is_on_no_other(desk, bench, unit):
    upload(desk, of_job(unit), pdfs.pdf("Bias"), of="job")
    assert Manual.objects.get().job_id == unit
    other = bench.receive(make="Corvenby", model="Spool 3")
    assert queries.of_job(bench.job(unit)).count() == 1
    assert queries.of_job(bench.job(other)).count() == 0


def test_a_unit_without_a_name_has_no_manual_of_every_nameless_one(bench, people):
    nameless = bench.receive(make="", model="")
    other = bench.receive(make="", model="")
    keep(Owner(job=bench.job(other)), "Bias", by=people.desk)
    assert queries.of_job(bench.job(nameless)).count() == 0
    assert queries.links_of_job(bench.job(nameless)) == {}


def test_the_data_sheet_of_a_part_is_on_the_jobs_that_need_it(desk, bench, unit):
    part = PartFactory()
    path = reverse("part-manuals", args=[part.pk])
    assert upload(desk, path, pdfs.pdf("Pinout"), kind="data-sheet").status_code == 302
    assert queries.of_job(bench.job(unit)).count() == 0
    bench.record(unit, "part_needed", spec=part.spec, part=part.pk)
    assert JobPart.objects.get(job=unit).part_id == part.pk
    assert queries.of_job(bench.job(unit)).get().kind == "data-sheet"
    assert f"Data sheet, 1 page, of {part}" in text_of(desk.get(of_job(unit)))
    assert path in desk.get(reverse("part", args=[part.pk])).content.decode()


def test_the_model_has_a_page_of_its_own(desk, people):
    sheet = ModelSheet.objects.create(make="Corvenby & Co", model="Spool 3")
    path = reverse("model-manuals") + "?make=Corvenby+%26+Co&model=Spool+3"
    assert (
        path.replace("&", "&amp;")
        in desk.get(reverse("model-sheet", args=[sheet.pk])).content.decode()
    )
    assert upload(desk, path, pdfs.pdf("Bias"))["Location"] == path
    assert "service" in text_of(desk.get(path))


@pytest.mark.parametrize(
    ("body", "raw", "sentence"),
    [
        ({}, None, "No file was chosen"),
        ({}, b"", "is empty"),
        ({}, b"GIF89a", "is no PDF"),
        ({"kind": "novel"}, pdfs.pdf("Bias"), "choose what the file is"),
        ({"title": "x" * 201}, pdfs.pdf("Bias"), "at most 200 are kept"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_lost(desk, unit, body, raw, sentence):
    answer = upload(desk, of_job(unit), raw, **{"title": "Kept words"} | body)
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert body.get("title", "Kept words")[:200] in answer.content.decode()
    assert not Manual.objects.exists()


def test_too_large_a_file_is_named(desk, unit, settings):
    settings.UPLOAD_LARGEST = 1000
    answer = upload(desk, of_job(unit), pdfs.pdf("Bias"), name="thick.pdf")
    assert "thick.pdf" in text_of(answer)
    assert "larger than 60 MB" in text_of(answer)


def test_the_same_file_twice_is_refused_but_not_elsewhere(desk, unit, bench):
    raw = pdfs.pdf("Bias")
    upload(desk, of_job(unit), raw, of="job", title="First")
    assert "is here already, as &#x27;First&#x27;" in text_of(
        upload(desk, of_job(unit), raw, of="job")
    )
    assert upload(desk, of_job(unit), raw, of="model").status_code == 302


def test_only_so_many_are_kept_in_one_place(people, monkeypatch):
    monkeypatch.setattr(services, "MOST_OF_ONE", 1)
    owner = services.of_model("Corvenby", "Spool 3")
    keep(owner, "one", by=people.desk)
    with pytest.raises(Refused, match="all that is kept"):
        keep(owner, "two", by=people.desk)


def test_the_database_itself_keeps_one_owner(people, unit):
    now = timezone.now()
    about = {"title": "x", "pages": 1, "size": 1, "sha256": "", "added_at": now, "by": people.desk}
    for owner in ({}, {"make": "Corvenby"}, {"make": "C", "model": "S", "job_id": unit}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Manual.objects.create(**about, **owner)


@pytest.mark.parametrize(("line", "word"), pdfs.SCRIPTS.items())
def test_words_are_found_in_every_script(people, bench, unit, line, word):
    owner = services.of_model("Corvenby", "Spool 3")
    keep(owner, "nothing", f"heading\n{line}\nfooting", by=people.desk)
    [found] = queries.search_pages(queries.of_job(bench.job(unit)), word)
    assert (found.number, found.excerpt) == (2, line)


def test_all_words_must_stand_on_one_page(people):
    keep(services.of_model("C", "S"), "bias and rail", "bias", "rail", "bi as", by=people.desk)
    pages = [found.number for found in queries.search_pages(None, "rail, BIAS!")]
    assert pages == [1]
    assert [found.number for found in queries.search_pages(None, "bia")] == [1, 2]
    # In the middle of a word nothing begins.
    assert queries.search_pages(None, "ias") == []
    for nothing in ("", " ", "!?", "%", "_"):
        assert queries.search_pages(None, nothing) == []


def test_a_long_line_is_cut_around_the_word(people):
    line = "far " * 100 + "needle " + "away " * 100
    keep(services.of_model("C", "S"), line, by=people.desk)
    [found] = queries.search_pages(None, "needle")
    assert "needle" in found.excerpt
    assert len(found.excerpt) < 170


def test_the_search_of_the_shop_finds_pages(desk, people, unit):
    manual = keep(
        services.of_model("Corvenby", "Spool 3"), "x", "Azimuth screw <b>", by=people.desk
    )
    answer = desk.get("/search/", {"q": "azimuth"})
    assert reverse("manual-page", args=[manual.pk, 2]) in answer.content.decode()
    assert "Azimuth screw &lt;b&gt;" in answer.content.decode()
    assert "Pages of manuals" not in desk.get("/search/", {"q": "zenith"}).content.decode()


@pytest.fixture
def manual(desk, unit):
    upload(desk, of_job(unit), pdfs.pdf("Bias", "Rail", "Fuse"), of="model", title='A "b"/<c>')
    return Manual.objects.get()


def test_a_page_is_turned_and_looked_at_closely(desk, manual):
    path = reverse("manual-page", args=[manual.pk, 2])
    page = desk.get(path).content.decode()
    for other in (1, 3):
        assert reverse("manual-page", args=[manual.pk, other]) in page
    assert reverse("manual-picture", args=[manual.pk, 2, "whole"]) in page
    closer = desk.get(path + "?zoom=4").content.decode()
    assert reverse("manual-picture", args=[manual.pk, 2, "large"]) in closer
    assert reverse("manual-page", args=[manual.pk, 3]) + "?zoom=4" in closer
    assert desk.get(path + "?zoom=99").status_code == 200
    last = desk.get(reverse("manual-page", args=[manual.pk, 3])).content.decode()
    assert 'rel="next"' not in last


@pytest.mark.parametrize(
    ("typed", "page"), [("2", 2), ("0", 1), ("99", 3), ("", 1), ("two", 1), ("9" * 30, 1)]
)
def test_a_page_is_opened_by_its_number(desk, manual, typed, page):
    answer = desk.get(reverse("manual-turn", args=[manual.pk]), {"page": typed})
    assert answer["Location"] == reverse("manual-page", args=[manual.pk, page])


def test_pictures_of_pages_are_jpeg_and_nothing_else_is_there(desk, manual):
    answer = desk.get(reverse("manual-picture", args=[manual.pk, 3, "whole"]))
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert max(Image.open(BytesIO(answer.content)).size) == 1800
    for page, size in ((4, "small"), (0, "small"), (1, "huge")):
        assert desk.get(reverse("manual-picture", args=[manual.pk, page, size])).status_code == 404
    assert desk.get(reverse("manual-page", args=[manual.pk, 4])).status_code == 404


def test_a_page_that_cannot_be_drawn_is_a_sentence(desk, people):
    broken = keep(services.of_model("C", "S"), "one", "two", by=people.desk)
    answer = desk.get(reverse("manual-picture", args=[broken.pk, 2, "whole"]))
    assert answer.status_code == 422
    assert answer["Content-Type"].startswith("text/plain")


def test_the_file_is_saved_and_never_opened_here(desk, manual):
    answer = desk.get(reverse("manual-pdf", args=[manual.pk]))
    assert answer["Content-Disposition"].startswith("attachment")
    assert "\n" not in answer["Content-Disposition"]
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer.content == bytes(manual.file.pdf)


def test_a_page_stands_beside_a_step_and_a_suspect_of_the_job(client, people, bench, manual, unit):
    client.force_login(people.technician)
    link, suspect = reverse("manual-link", args=[manual.pk, 2]), published.current().suspects[0].key
    client.post(link, {"beside": "step-visual-intake", "words": "Screws"})
    client.post(link, {"beside": f"suspect-{suspect}", "words": ""})
    step = client.get(reverse("step", args=[unit, "visual-intake"]))
    assert "p. 2</a>: Screws" in text_of(step)
    other = bench.receive(make="Corvenby", model="Spool 4", facts=amplifier())
    assert "p. 2</a>" not in text_of(client.get(reverse("step", args=[other, "visual-intake"])))
    bench.record(unit, "suspect_changed", suspect=suspect, change="raised")
    bench.stage(unit, "reproducing")
    assert "p. 2</a>" in text_of(client.get(reverse("causes", args=[unit])))


def test_a_page_stands_beside_a_figure_of_the_model(desk, people, manual):
    sheet = ModelSheet.objects.create(make="Corvenby", model="Spool 3")
    sheet.figures.create(
        name="unit.rail_volts", value=45.0, source="Manual", by=people.desk, at=timezone.now()
    )
    desk.post(reverse("manual-link", args=[manual.pk, 3]), {"beside": "fact-unit.rail_volts"})
    page = desk.get(reverse("model-sheet", args=[sheet.pk])).content.decode()
    assert reverse("manual-page", args=[manual.pk, 3]) in page
    [beside] = queries.links_in_words(Manual.objects.all())
    assert beside.title.startswith("Highest rail")


def test_it_is_taken_off_again(desk, manual):
    path = reverse("manual-link", args=[manual.pk, 1])
    for words in ("one", "two"):
        desk.post(path, {"beside": "step-visual-intake", "words": words})
    link = PageLink.objects.get()
    assert link.words == "two"
    answer = desk.post(reverse("manual-unlink", args=[link.pk]))
    assert answer["Location"] == reverse("manual-page", args=[manual.pk, 1])
    assert not PageLink.objects.exists()


@pytest.mark.parametrize(
    "beside",
    [
        "",
        "step-",
        "step-nonsense",
        "suspect-moon",
        "fact-job.power",
        "fact-unit.x",
        "moon-x",
        "x" * 500,
    ],
)
def test_it_cannot_stand_beside_what_is_not_there(desk, manual, beside):
    answer = desk.post(
        reverse("manual-link", args=[manual.pk, 1]), {"beside": beside, "words": "kept"}
    )
    assert answer.status_code == 422
    assert "choose what the page is shown beside" in text_of(answer)
    assert 'value="kept"' in answer.content.decode()


def test_a_page_beside_it_must_be_there(people, manual):
    with pytest.raises(BadInput, match="has pages 1 to 3"):
        services.link_page(manual, 4, "step-visual-intake", "", by=people.desk, at=timezone.now())


def test_a_step_that_the_pack_no_longer_has_is_named_by_its_key(people, manual):
    now = timezone.now()
    PageLink.objects.create(
        manual=manual, page=1, beside="step", key="old-step", by=people.desk, at=now
    )
    [beside] = queries.links_in_words(Manual.objects.all())
    assert beside.title == "old step"


def test_gone_is_gone_with_its_bytes_its_words_and_its_links(client, people, manual):
    services.link_page(manual, 1, "step-visual-intake", "", by=people.desk, at=timezone.now())
    with pytest.raises(Forbidden):
        services.remove_manual(manual, by=people.technician)
    client.force_login(people.owner)
    answer = client.post(reverse("manual-remove", args=[manual.pk]))
    assert answer["Location"].startswith(reverse("model-manuals"))
    for model in (Manual, ManualFile, ManualPage, PageLink):
        assert not model.objects.exists()


def test_the_papers_of_a_customer_go_with_the_customer(people, bench, unit):
    at, customer = timezone.now(), Customer.objects.create(name="Ada")
    Intake.objects.create(job_id=unit, customer=customer)
    owner = Owner(job=bench.job(unit))
    kept = keep(owner, "Bias", by=people.desk)
    paper = keep(owner, "Receipt of Ada", by=people.desk)
    Manual.objects.filter(pk=paper.pk).update(kind=Manual.PAPER)
    told = customer_services.told(customer)["papers"]
    assert [(one["job"], one["title"]) for one in told] == [(unit, "Service")]
    bench.pass_gate(unit, "hand-back")
    bench.stage(unit, "withdrawn")
    customer_services.erase(customer, by=people.owner, at=at)
    assert list(Manual.objects.all()) == [kept]
    assert not ManualPage.objects.filter(text__contains="Ada").exists()
