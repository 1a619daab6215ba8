"""On the card: a picture goes to its step, and the card can be read aloud."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from shop.photos.models import Photo
from tests.helpers import amplifier
from tests.photos.pictures import picture

pytestmark = pytest.mark.django_db


@pytest.fixture
def number(bench):
    return bench.receive(facts=amplifier())


def test_a_picture_is_taken_on_the_card_and_belongs_to_its_step(client, people, number):
    client.force_login(people.technician)
    page = f"/jobs/{number}/step/limited-idle-current/"
    shown = client.get(page).content.decode()
    assert 'capture="environment"' in shown
    assert 'name="of" value="step-limited-idle-current"' in shown

    sent = {
        "of": "step-limited-idle-current",
        "next": "back",
        "photo": SimpleUploadedFile("a.jpg", picture()),
    }
    answer = client.post(f"/jobs/{number}/photos/add/", sent, headers={"Referer": page})
    assert answer["Location"] == page
    photo = Photo.objects.get()
    assert (photo.subject, photo.step) == (Photo.STEP, "limited-idle-current")


def test_who_writes_nothing_takes_no_picture(client, people, number):
    client.force_login(people.viewer)
    shown = client.get(f"/jobs/{number}/step/limited-idle-current/").content.decode()
    assert "capture=" not in shown


def test_reading_aloud_waits_for_a_browser_that_can(client, people, number):
    client.force_login(people.technician)
    shown = client.get(f"/jobs/{number}/").content.decode()
    assert '<button type="button" class="quiet aloud" aria-pressed="false" hidden>' in shown
