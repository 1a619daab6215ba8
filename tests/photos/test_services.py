"""Pictures of a job: added, paired, shown, taken away."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.files.uploadhandler import TemporaryFileUploadHandler
from django.test import Client
from django.urls import reverse

from shop.customers import services as customer_services
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.jobs import ledger, queries
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.photos import services as photo_services
from shop.photos.models import Photo, PhotoImage
from shop.photos.services import PhotoSubject, photo_subject
from shop.photos.subjects import groups, subjects
from tests.helpers import amplifier
from tests.photos.pictures import bomb, picture, snap

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, people):
    client.force_login(people.desk)
    return client


def upload(client, job, *files, accept="text/html", **more):
    sent = [SimpleUploadedFile(name, raw, "image/jpeg") for name, raw in files]
    body = {"photo": sent, "of": "unit"} | more
    return client.post(reverse("photo-add", args=[job]), body, headers={"Accept": accept})


def test_several_at_once(desk, job):
    files = [("a.jpg", picture()), ("б.heic", picture("HEIF")), ("c.png", picture("PNG"))]
    assert upload(desk, job, *files, caption="裏面").status_code == 302
    assert [photo.caption for photo in Photo.objects.all()] == ["裏面"] * 3
    page = desk.get(reverse("photos", args=[job])).content.decode()
    assert page.count("<figure") == 3


def test_the_ledger_has_it_and_the_chain_holds(desk, bench, job):
    upload(desk, job, ("a.jpg", picture()))
    reloaded = bench.job(job)
    rows = queries.rows_of(reloaded)
    photo = Photo.objects.get()
    assert rows[-1].event_type == "photo_added"
    assert rows[-1].data["sha256"] == photo.sha256
    assert list(ledger.faults(rows, reloaded.head)) == []


def test_the_good_ones_of_a_heap_are_kept_and_the_others_named(desk, job):
    answer = upload(desk, job, ("ok.jpg", picture()), ("bomb.png", bomb()), ("x.svg", b"<svg/>"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "1 kept" in page
    assert "bomb.png" in page
    assert "x.svg" in page
    assert Photo.objects.count() == 1


def test_a_file_of_a_hundred_megabytes_is_stopped_on_its_way(desk, job, settings):
    settings.UPLOAD_LARGEST = 1024 * 1024
    answer = upload(desk, job, ("huge.jpg", b"\xff\xd8" + b"0" * 3_000_000), ("ok.jpg", picture()))
    assert "huge.jpg&#x27; is larger than 30 MB" in answer.content.decode()
    assert Photo.objects.count() == 1


def test_a_stranger_fills_no_disk(client, people, job, monkeypatch):
    """Files on disk are gone after the request, so what counts is whether one was begun."""
    begun = []
    real = TemporaryFileUploadHandler.new_file

    def begin(self, *args, **kwargs):
        begun.append(args)
        real(self, *args, **kwargs)

    monkeypatch.setattr(TemporaryFileUploadHandler, "new_file", begin)
    strict = Client(enforce_csrf_checks=True)  # which reads the form before anybody is asked
    body = {"username": "x", "photo": SimpleUploadedFile("a.jpg", picture(), "image/jpeg")}
    assert strict.post("/sign-in/", body).status_code == 403
    assert begun == []
    client.force_login(people.desk)
    upload(client, job, ("a.jpg", picture()))
    assert len(begun) == 1


def test_no_file_is_a_sentence(desk, job):
    assert "No picture was chosen" in upload(desk, job).content.decode()


def test_the_script_is_answered_in_json(desk, job):
    answer = upload(desk, job, ("x.svg", b"<svg/>"), accept="application/json")
    assert answer.status_code == 422
    assert "x.svg" in answer.json()["refused"][0]
    assert upload(desk, job, ("a.jpg", picture()), accept="application/json").json() == {
        "kept": 1,
        "refused": [],
    }


def test_it_can_be_of_a_finding_or_a_step_of_this_job(bench, job):
    row = bench.record(job, "finding_recorded", finding="joint-cracked", section="supply").sequence
    sheet = bench.traveller(job)
    assert (f"finding-{row}", "Finding: joint cracked (supply)") in subjects(sheet)
    assert photo_subject(sheet, f"finding-{row}", "").row == row
    assert photo_subject(sheet, "step-visual-intake", "").step == "visual-intake"


@pytest.mark.parametrize(
    "of", ["", "finding-999", "finding-", "step-", "step-nonsense", "unit-1", "moon", "parcel-x"]
)
def test_what_it_cannot_be_of_is_named(bench, job, of):
    with pytest.raises(BadInput, match="choose what the picture shows"):
        photo_subject(bench.traveller(job), of, "")


def test_before_and_after_make_a_pair(desk, bench, job):
    first = snap(job, by=bench.by, of=PhotoSubject(caption="The relay"))
    upload(desk, job, ("a.jpg", picture()), before=str(first.pk), of="")
    after = Photo.objects.get(before=first)
    assert (after.caption, after.subject) == ("The relay", "unit")
    [group] = groups(bench.traveller(job), photo_services.photos_of_job(bench.job(job)))
    assert [(pair.first, pair.after) for pair in group.pairs] == [(first, after)]
    answer = upload(desk, job, ("b.jpg", picture()), before=str(first.pk))
    assert "has its answer already" in answer.content.decode()


@pytest.mark.parametrize("before", ["9" * 5000, "9" * 30, "-1", "x"])
def test_a_picture_from_before_that_is_no_number_gets_a_sentence(desk, job, before):
    answer = upload(desk, job, ("a.jpg", picture()), before=before, accept="application/json")
    assert answer.status_code == 422
    [sentence] = answer.json()["refused"]
    assert sentence == "The picture from before is not there, or has its answer already."
    assert not Photo.objects.exists()


def test_the_picture_of_another_job_is_not_answered(bench, job):
    other = snap(bench.receive(), by=bench.by)
    with pytest.raises(BadInput, match="not there"):
        photo_subject(bench.traveller(job), "", "", str(other.pk))


def test_the_bytes_are_given_out_as_a_picture_and_nothing_else(client, people, bench, job):
    photo = snap(job, by=bench.by)
    client.force_login(people.viewer)
    answer = client.get(reverse("picture", args=[photo.pk, "whole"]))
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer.content == bytes(photo.image.whole)
    assert client.get(f"/photos/{photo.pk}/raw.jpg").status_code == 404


def test_who_sees_no_customer_sees_no_parcel(client, people, bench, job):
    """It may show an address."""
    parcel = snap(job, by=bench.by, of=PhotoSubject(Photo.PARCEL, caption="Label side"))
    path = reverse("picture", args=[parcel.pk, "whole"])
    client.force_login(people.viewer)
    assert client.get(path).status_code == 403
    assert "Label side" not in client.get(reverse("photos", args=[job])).content.decode()
    assert client.get(f"/api/v1/jobs/{job}/photos/").json() == []
    client.force_login(people.desk)
    assert client.get(path).status_code == 200
    assert "Label side" in client.get(reverse("photos", args=[job])).content.decode()
    assert len(client.get(f"/api/v1/jobs/{job}/photos/").json()) == 1


def test_removed_is_gone_but_the_ledger_remembers(people, bench, job, now, client):
    photo = snap(job, by=bench.by, of=PhotoSubject(caption="a face"))
    with pytest.raises(Forbidden):
        photo_services.remove_photo(photo, by=people.technician, at=now)
    photo_services.remove_photo(photo, by=people.owner, at=now)
    assert not PhotoImage.objects.exists()
    client.force_login(people.owner)
    assert client.get(reverse("picture", args=[photo.pk, "whole"])).status_code == 404
    assert bench.kinds(job)[-1] == "photo_added"


def test_an_after_whose_before_is_gone_stands_alone(people, bench, job, now):
    first = snap(job, by=bench.by)
    second = snap(job, by=bench.by, of=PhotoSubject(before=first))
    photo_services.remove_photo(first, by=people.owner, at=now)
    [group] = groups(bench.traveller(job), photo_services.photos_of_job(bench.job(job)))
    assert [pair.first for pair in group.pairs] == [second]


def test_erasing_the_customer_takes_the_parcels_along(people, bench, now):
    number = intake_services.receive(
        by=people.desk,
        at=now,
        details=IntakeDetails(name="Ada"),
        make="Corvenby",
        facts=amplifier(),
    ).number
    snap(number, by=bench.by, of=PhotoSubject(Photo.PARCEL))
    photo_of_unit = snap(number, by=bench.by)
    bench.pass_gate(number, "hand-back")
    bench.stage(number, "withdrawn")
    customer_services.erase(bench.job(number).intake.customer, by=people.owner, at=now)
    assert [row.photo_id for row in PhotoImage.objects.all()] == [photo_of_unit.pk]


def test_a_parcel_is_not_shown_to_the_customer_unless_wanted(desk, bench, job):
    parcel = snap(job, by=bench.by, of=PhotoSubject(Photo.PARCEL))
    assert not parcel.visible_to_customer
    desk.post(reverse("photo-show", args=[parcel.pk]), {"shown": "yes"})
    parcel.refresh_from_db()
    assert parcel.visible_to_customer


def test_a_job_takes_so_many(bench, job, monkeypatch):
    monkeypatch.setattr(photo_services, "MOST_OF_A_JOB", 1)
    snap(job, by=bench.by)
    with pytest.raises(Refused, match="that is all it takes"):
        snap(job, by=bench.by)


def test_a_released_unit_can_still_be_pictured_in_its_parcel(bench, job):
    bench.pass_gate(job, "hand-back")
    bench.stage(job, "withdrawn")
    assert snap(job, by=bench.by, of=PhotoSubject(Photo.PARCEL)).pk


def test_a_very_long_number_in_place_of_a_picture_is_a_sentence(client, people, bench, job):
    client.force_login(people.technician)
    for before in ("9" * 5000, "²", "-1"):
        answer = client.post(reverse("photo-add", args=[job]), {"before": before})
        assert answer.status_code == 422
        assert "The picture from before is not there" in answer.content.decode()
