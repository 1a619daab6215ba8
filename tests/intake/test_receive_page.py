"""The page that takes a unit in: one that is here already, and one that arrives open."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language, override

from shop.customers.models import Intake
from shop.intake import picture_drafts, services
from shop.intake.models import PictureDraft
from shop.jobs.models import Job
from shop.photos.models import Photo
from tests.helpers import flat
from tests.photos.pictures import picture

BODY = {"make": "Corvenby", "model": "Spool 3", "serial": "K-1", "complaint": "Σφυρίζει"}


@pytest.fixture
def desk(client, people):
    client.force_login(people.desk)
    return client


@pytest.fixture
def here(bench):
    return bench.receive(**BODY | {"complaint": "hums"})


def test_a_unit_that_is_here_is_offered_to_its_job_with_all_that_was_typed(desk, here):
    answer = desk.post(reverse("receive"), BODY | {"serial": "k 1"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert f"This unit is here already: job {here} is open." in page
    assert f"Add it to job {here}</button>" in page
    assert "Σφυρίζει" in page
    assert Job.objects.count() == 1


def test_the_button_adds_it(desk, here):
    answer = desk.post(reverse("receive"), BODY | {"join": "yes"}, follow=True)
    assert answer.redirect_chain == [(reverse("job", args=[here]), 302)]
    assert f"Job {here} is added to." in answer.content.decode()
    assert Job.objects.get().complaint == "Σφυρίζει"


def test_a_unit_that_is_not_here_is_offered_nothing(desk):
    assert "Add it to job" not in desk.get(reverse("receive")).content.decode()
    desk.post(reverse("receive"), BODY)
    assert Job.objects.get().cover == "on"


def test_a_unit_arrives_open(desk):
    assert "It arrived open, cover off" in desk.get(reverse("receive")).content.decode()
    desk.post(reverse("receive"), BODY | {"arrived_open": "on"})
    assert Job.objects.get().cover == "off"


def test_the_ledger_says_in_one_language_how_it_came(people, monkeypatch):
    said = {"en": "by parcel", "de": "mit der Post"}
    monkeypatch.setattr(Intake, "get_came_by_display", lambda _: said[get_language()])
    with override("de"):
        job = services.receive(
            by=people.desk,
            at=timezone.now(),
            details=services.IntakeDetails(came_by="parcel"),
            **BODY,
        )
    assert job.ledger.get(event_type="note_added").data["text"] == "Came by parcel."


def test_a_mistake_is_named_above_with_a_link_to_its_field(desk):
    answer = desk.post(reverse("receive"), BODY | {"unit.year": "19x4"})
    page = flat(answer.content.decode())
    assert answer.status_code == 422
    assert '<a href="#id_unit.year">' in page
    assert 'value="19x4"' in page


def test_makes_and_models_of_earlier_units_are_suggested(desk, bench):
    for model in ("Spool 3", "Spool 3", "Reel 9"):
        bench.receive(make="Corvenby", model=model, serial="")
    bench.receive(make="Ravelund", model="Court 70")
    page = desk.get(reverse("receive")).content.decode()
    assert page.index('<option value="Corvenby">') < page.index('<option value="Ravelund">')
    of_one = desk.get(reverse("receive-models"), {"make": "corvenby"}).content.decode()
    assert "Reel 9" in of_one
    assert "Court 70" not in of_one


class TestPicturesOfARefusedForm:
    BAD = BODY | {"unit.year": "no year"}

    def send(self, client, body, *names, **more):
        files = [SimpleUploadedFile(name, picture()) for name in names]
        return client.post(reverse("receive"), body | {"photo": files} | more)

    def test_they_are_kept_shown_and_handed_to_the_job(self, desk):
        page = self.send(desk, self.BAD, "front.jpg", "back.jpg").content.decode()
        first, second = PictureDraft.objects.all()
        assert f'name="kept" value="{first.pk}" checked' in page
        assert desk.get(reverse("picture-draft", args=[first.pk])).status_code == 200

        self.send(desk, BODY, "plug.jpg", kept=[first.pk, second.pk])
        assert Photo.objects.filter(job=Job.objects.get()).count() == 3
        assert not PictureDraft.objects.exists()

    def test_a_second_refusal_keeps_those_of_the_first(self, desk):
        self.send(desk, self.BAD, "front.jpg")
        key = PictureDraft.objects.get().pk
        page = self.send(desk, self.BAD, "back.jpg", kept=[key]).content.decode()
        assert page.count('name="kept"') == 2

    def test_one_that_was_unticked_does_not_go_along(self, desk):
        self.send(desk, self.BAD, "front.jpg")
        self.send(desk, BODY)
        assert not Photo.objects.exists()

    def test_a_unit_that_is_here_already_keeps_them_too(self, desk, here):
        answer = self.send(desk, BODY, "front.jpg")
        assert answer.status_code == 409
        key = PictureDraft.objects.get().pk
        self.send(desk, BODY | {"join": "yes", "kept": [key]})
        assert Photo.objects.get().job_id == here

    def test_nobody_else_sees_or_takes_them(self, desk, people):
        self.send(desk, self.BAD, "front.jpg")
        key = PictureDraft.objects.get().pk
        desk.force_login(people.technician)
        assert desk.get(reverse("picture-draft", args=[key])).status_code == 404
        self.send(desk, BODY, kept=[key])
        assert not Photo.objects.exists()
        desk.force_login(people.viewer)
        assert desk.get(reverse("picture-draft", args=[key])).status_code == 403

    def test_a_file_that_is_no_picture_is_named(self, desk):
        broken = SimpleUploadedFile("x.svg", b"<svg/>")
        page = desk.post(reverse("receive"), self.BAD | {"photo": [broken]}).content.decode()
        assert "x.svg" in page
        assert not PictureDraft.objects.exists()

    def test_more_than_a_person_may_keep_are_refused(self, desk, monkeypatch):
        monkeypatch.setattr(picture_drafts, "MOST_OF_A_PERSON", 1)
        page = self.send(desk, self.BAD, "a.jpg", "b.jpg").content.decode()
        assert "send b.jpg again later" in page
        assert PictureDraft.objects.count() == 1

    def test_after_a_day_they_are_gone(self, desk):
        self.send(desk, self.BAD, "front.jpg")
        now = timezone.now()
        assert picture_drafts.purge(now=now + timedelta(hours=23)) == 0
        assert picture_drafts.purge(now=now + timedelta(hours=25)) == 1


def test_a_symptom_says_what_is_wrong_where_nothing_is_typed(desk):
    desk.post(
        reverse("receive"), {**BODY, "complaint": "", "complaint.symptoms": ["hum", "one-channel"]}
    )
    assert Job.objects.get().complaint == "Hum, one channel"


def test_what_the_customer_says_stands_before_the_symptoms(desk):
    desk.post(reverse("receive"), {**BODY, "complaint.symptoms": ["hum"]})
    assert Job.objects.get().complaint == BODY["complaint"]


def test_how_it_came_is_for_a_person_to_say(desk):
    page = desk.get(reverse("receive")).content.decode()
    ways = re.findall(r'name="customer_came_by" value="(?!")[^>]*', page)
    assert ways
    assert not [way for way in ways if "checked" in way]
