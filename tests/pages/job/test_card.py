"""On the card: a picture goes to its step, and the card can be read aloud."""

from __future__ import annotations

import re

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


def test_a_fuse_without_a_rating_is_not_asked_to_be_at_most_nothing(client, people, bench):
    client.force_login(people.technician)
    shown = {}
    for amps in (None, 2.5):
        number = bench.receive(facts=amplifier(unit__fuse_amps=amps))
        page = client.get(f"/jobs/{number}/step/fuse-check/").content.decode()
        [limit] = re.findall(r'<span class="limit">(.*?)</span>', page)
        shown[amps] = (limit, "None passes until the unit's own is recorded" in page)
    assert shown == {None: ("optional", True), 2.5: ("at most 2.5 A; optional", False)}
