"""Marks on a picture: drawn, seen where the picture is, taken back; the original stays."""

from __future__ import annotations

from io import BytesIO

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from shop.customers.links import keys
from shop.documents import pdf_documents
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.photos import marks as services
from shop.photos import services as photo_services
from shop.photos.models import MarkedImage, PhotoImage, PhotoMark
from shop.photos.services import PhotoSubject
from tests.photos.pictures import picture, snap

pytestmark = pytest.mark.django_db

ARROW = {"shape": "arrow", "x1": "10", "y1": "10", "x2": "50", "y2": "50"}


@pytest.fixture
def photo(people, job):
    return snap(job, by=people.desk, whole=picture(size=(800, 600), colour="blue"))


@pytest.fixture
def desk(client, people):
    client.force_login(people.desk)
    return client


def mark(photo, by, shape="arrow", words="", **places):
    points = {"x1": "10", "y1": "10", "x2": "50", "y2": "50"} | places
    return services.add_mark(photo, shape, points, words, by=by, at=timezone.now())


def opened(raw):
    return Image.open(BytesIO(bytes(raw))).convert("RGB")


def is_ink(pixel):
    return pixel[0] > 150 > 90 > max(pixel[1:])


def is_ground(pixel):
    return pixel[2] > 200 > 60 > max(pixel[:2])


def marked(photo):
    photo.refresh_from_db()
    return opened(PhotoImage.objects.get(photo=photo).marked.whole)


def test_an_arrow_goes_from_the_start_to_the_end(photo, people):
    before = bytes(photo.image.whole)
    mark(photo, people.desk)
    image = marked(photo)
    assert image.size == (800, 600)
    assert is_ink(image.getpixel((240, 180)))  # half way
    assert is_ground(image.getpixel((480, 360)))  # past its head
    assert is_ground(image.getpixel((240, 400)))
    # The head is broad, the shaft is not.
    assert is_ink(image.getpixel((387, 282)))
    assert not is_ink(image.getpixel((347, 252)))
    assert bytes(PhotoImage.objects.get(photo=photo).whole) == before


def test_a_ring_lies_between_its_places_and_leaves_what_is_in_it(photo, people):
    mark(photo, people.desk, "ring", x1="75", y1="80", x2="25", y2="20")
    image = marked(photo)
    assert is_ink(image.getpixel((201, 300)))
    assert is_ink(image.getpixel((598, 300)))
    assert is_ink(image.getpixel((400, 121)))
    assert is_ground(image.getpixel((400, 300)))
    assert is_ground(image.getpixel((205, 125)))


@pytest.mark.parametrize(
    "words", ["Loose here", "здесь треснуло", "ραγισμένο", "سخن", "שבור", "cold joint " * 7]
)
@pytest.mark.parametrize("corner", ["0", "100"])
def test_words_stand_on_a_slip_that_stays_in_the_picture(photo, people, words, corner):
    mark(photo, people.desk, "words", words, x1=corner, y1=corner, x2="", y2="")
    image, near = marked(photo), 8 if corner == "0" else -9
    assert image.getpixel((near % 800, near % 600))[2] > 100
    inside = image.crop((0, 0, 400, 60) if corner == "0" else (400, 540, 800, 600))
    inked = sum(count for count, pixel in inside.getcolors(60_000) if is_ink(pixel))
    assert inked > 100
    assert photo.marked_words == words.strip()


def test_words_that_no_font_has_are_a_number_and_stand_beneath(photo, people, desk):
    mark(photo, people.desk, "ring")
    mark(photo, people.desk, "words", "ここ", x1="5", y1="5")
    photo.refresh_from_db()
    assert photo.marked_words == "2: ここ"
    assert "Marked: 2: ここ" in desk.get(reverse("photos", args=[photo.job_id])).content.decode()


def test_it_is_seen_where_the_picture_is_and_the_original_stays(desk, photo, job):
    small = reverse("picture", args=[photo.pk, "small"])
    assert f'"{small}"' in desk.get(reverse("photos", args=[job])).content.decode()
    answer = desk.post(reverse("photo-marks", args=[photo.pk]), ARROW)
    assert answer["Location"] == reverse("photo-marks", args=[photo.pk])
    photo.refresh_from_db()
    seen = reverse("picture", args=[photo.pk, photo.small_shown])
    assert seen != small
    for page in ("photos", "photo-strip"):
        assert f'"{seen}"' in desk.get(reverse(page, args=[job])).content.decode()
    assert desk.get(seen).content == bytes(MarkedImage.objects.get().small)
    assert desk.get(small).content == bytes(photo.image.small)
    for gone in ("small-00000000", "whole-", "large-1"):
        expected = 200 if gone == "whole-" else 404
        path = f"/photos/{photo.pk}/{gone}.jpg"
        assert desk.get(path).status_code == expected


def test_the_customer_sees_the_marks(client, people, bench, photo, job):
    mark(photo, people.desk, words="Here")
    photo.refresh_from_db()
    token = keys.token(keys.link_for(bench.job(job), now=timezone.now(), by=people.desk))
    page = client.get(reverse("your-unit", args=[token])).content.decode()
    path = reverse("your-photo", args=[token, photo.pk, photo.whole_shown])
    assert path in page
    assert "Marked: Here" in page
    assert client.get(path).content == bytes(MarkedImage.objects.get().whole)


def test_papers_have_the_marked_picture(photo, people):
    plain = pdf_documents._photo_svg(photo)
    mark(photo, people.desk)
    photo.refresh_from_db()
    assert pdf_documents._photo_svg(photo) != plain


def test_it_can_be_taken_back_and_what_it_was_stays_on_record(desk, photo, people):
    first, second = mark(photo, people.desk), mark(photo, people.desk, "ring", "Scratch")
    desk.post(reverse("photo-mark-back", args=[first.pk]))
    image = marked(photo)
    assert photo.marked_words == "Scratch"
    assert is_ground(image.getpixel((240, 182)))
    desk.post(reverse("photo-mark-back", args=[second.pk]))
    photo.refresh_from_db()
    assert (photo.small_shown, photo.marked_words) == ("small", "")
    assert not MarkedImage.objects.exists()
    assert PhotoMark.objects.exclude(taken_back_at=None).count() == 2


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        ({"shape": "moon"}, "choose an arrow, a ring or words"),
        ({"x1": ""}, "x1 is &#x27;&#x27;; it must be a number from 0 to 100"),
        ({"y2": "100,5"}, "y2 is &#x27;100,5&#x27;"),
        ({"x2": "-1"}, "x2 is"),
        ({"x2": "nan"}, "x2 is"),
        ({"x2": "10", "y2": "10"}, "ends where it starts"),
        ({"shape": "words", "words": " "}, "words is empty"),
        ({"words": "x" * 81}, "at most 80 are kept"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(desk, photo, body, sentence):
    answer = desk.post(reverse("photo-marks", args=[photo.pk]), ARROW | {"words": "Kept"} | body)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert 'value="10"' in page
    assert not PhotoMark.objects.exists()
    photo.refresh_from_db()
    assert photo.small_shown == "small"


def test_the_wrong_role_and_one_too_many(photo, people, monkeypatch):
    with pytest.raises(Forbidden):
        mark(photo, people.viewer)
    monkeypatch.setattr(services, "MOST_OF_ONE", 0)
    with pytest.raises(Refused, match="all it takes"):
        mark(photo, people.desk)


def test_a_mark_that_cannot_be_drawn_is_not_kept(photo, people):
    PhotoImage.objects.filter(photo=photo).update(whole=b"no picture")
    with pytest.raises(BadInput, match="cannot be drawn on"):
        mark(photo, people.desk)
    assert not PhotoMark.objects.exists()


def test_who_marks_it_meanwhile_has_it_drawn_again(photo, people, monkeypatch):
    real, drawn = services._marked, []

    def slow(whole, marks):
        drawn.append(len(marks))
        if len(drawn) == 1:
            PhotoMark.objects.create(
                photo=photo, shape="ring", x1=0, y1=0, x2=9, y2=9, words="Two", by=people.owner,
                at=timezone.now(),
            )  # fmt: skip
        return real(whole, marks)

    monkeypatch.setattr(services, "_marked", slow)
    mark(photo, people.desk, words="One")
    photo.refresh_from_db()
    assert drawn == [1, 2]
    assert photo.marked_words == "One; Two"


def test_marks_go_with_their_picture(photo, people):
    mark(photo, people.desk, words="Ada's address")
    photo_services.remove_photo(photo, by=people.owner, at=timezone.now())
    photo.refresh_from_db()
    assert not MarkedImage.objects.exists()
    assert not PhotoMark.objects.exists()
    assert photo.marked_words == photo.marked_sha256 == ""


def test_a_marked_parcel_is_as_hidden_as_it_was(client, people, job):
    parcel = snap(job, by=people.desk, of=PhotoSubject("parcel"), whole=picture())
    mark(parcel, people.desk)
    parcel.refresh_from_db()
    client.force_login(people.viewer)
    path = reverse("picture", args=[parcel.pk, parcel.whole_shown])
    assert client.get(path).status_code == 403
    assert client.get(reverse("photo-marks", args=[parcel.pk])).status_code == 403


def test_the_database_keeps_a_mark_in_the_picture(photo, people):
    with pytest.raises(IntegrityError), transaction.atomic():
        PhotoMark.objects.create(
            photo=photo, shape="ring", x1=0, y1=0, x2=1001, y2=9, by=people.desk, at=timezone.now()
        )
