"""Marks on pictures through the API: drawn, listed, taken off."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.photos import marks as services
from shop.photos.models import PhotoMark
from tests.photos.pictures import picture, snap

pytestmark = pytest.mark.django_db
ARROW = {"shape": "arrow", "x1": 10, "y1": 12.5, "x2": 50, "y2": 50}


@pytest.fixture
def photo(people, number):
    return snap(number, by=people.desk, whole=picture(size=(800, 600), colour="blue"))


def test_a_mark_is_drawn_listed_and_taken_off(api, photo, number):
    path = f"photos/{photo.pk}/marks/"
    status, mark = api.post(path, ARROW | {"words": "leaks"})
    assert status == 201
    assert {name: mark[name] for name in ARROW} == ARROW
    assert api.get(path)[1] == [mark]
    [told] = api.get(f"jobs/{number}/photos/")[1]
    photo.refresh_from_db()
    assert told["marked"] == f"/photos/{photo.pk}/whole-{photo.marked_sha256[:8]}.jpg"
    assert told["address"] == f"/photos/{photo.pk}/whole.jpg"
    assert api.delete(f"{path}{mark['id']}/") == (204, None)
    assert api.get(path) == (200, [])
    assert api.get(f"jobs/{number}/photos/")[1][0]["marked"] == ""
    assert api.delete(f"{path}{mark['id']}/")[0] == 404


def test_words_need_one_place_alone(api, photo):
    words = {"shape": "words", "x1": 5, "y1": 5, "words": "here"}
    assert api.post(f"photos/{photo.pk}/marks/", words)[0] == 201


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"x1": 101}, "x1"),
        ({"x1": -1}, "x1"),
        ({"shape": "star"}, "shape"),
        ({"x2": None}, "x2"),
        ({"x2": 10, "y2": 12.5}, "x2"),
        ({"shape": "words"}, "words"),
        ({"words": "w" * 81}, "words"),
    ],
)
def test_what_is_no_mark_is_named(api, photo, wrong, field):
    status, said = api.post(f"photos/{photo.pk}/marks/", ARROW | wrong)
    assert (status, said["problems"][0]["field"]) == (422, field)
    assert not PhotoMark.objects.exists()


def test_numbers_that_are_none_are_refused(api, photo):
    for number in ("NaN", "Infinity", "1e999"):
        raw = f'{{"shape": "ring", "x1": {number}, "y1": 1, "x2": 9, "y2": 9}}'.encode()
        assert api.post(f"photos/{photo.pk}/marks/", raw=raw)[0] == 422


def test_a_picture_takes_so_many(api, photo, people, monkeypatch):
    monkeypatch.setattr(services, "MOST_OF_ONE", 1)
    assert api.post(f"photos/{photo.pk}/marks/", ARROW)[0] == 201
    assert api.post(f"photos/{photo.pk}/marks/", ARROW)[0] == 409


def test_a_mark_is_of_its_picture(api, photo, people, number):
    other = snap(number, by=people.desk)
    mark = api.post(f"photos/{photo.pk}/marks/", ARROW)[1]
    assert api.delete(f"photos/{other.pk}/marks/{mark['id']}/")[0] == 404
    assert PhotoMark.objects.get().taken_back_at is None


def test_a_picture_that_is_gone_has_none(api, photo):
    photo.removed_at = timezone.now()
    photo.save(update_fields=["removed_at"])
    assert api.get(f"photos/{photo.pk}/marks/")[0] == 404
    assert api.post(f"photos/{2**70}/marks/", ARROW)[0] == 404


def test_sent_twice_it_is_drawn_once(api, photo):
    headers = {**api.headers, "Idempotency-Key": "arrow"}
    first, again = (
        api.client.post(
            f"/api/v1/photos/{photo.pk}/marks/", ARROW, "application/json", headers=headers
        )
        for _ in range(2)
    )
    assert first.json() == again.json()
    assert PhotoMark.objects.count() == 1
