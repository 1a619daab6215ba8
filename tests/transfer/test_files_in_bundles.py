"""Manuals and marked pictures go out and come back, and are the ones that their rows speak of."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.manuals.models import ManualFile, ManualPage, PageLink
from shop.photos import marks
from shop.photos.models import MarkedImage, Photo, PhotoMark
from shop.transfer import bundle_import, export
from tests.helpers import Bench, TestPeople
from tests.manuals.pdfs import file_of_model
from tests.photos.pictures import picture, snap
from tests.transfer.test_bundles import altered, bundle_of, empty, exported, imported

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bundle(transactional_db):
    """A shop with a manual and a marked picture, as a bundle; the shop itself is empty again."""
    by = TestPeople.make().technician
    photo = snap(Bench(by).receive(make="Corvenby"), by=by, whole=picture())
    points = {"x1": "10", "y1": "10", "x2": "50", "y2": "50"}
    marks.add_mark(photo, "ring", points, "Riß ここ", by=by, at=timezone.now())
    file_of_model(by, page="Bias 調整")
    kept = files()
    raw = exported(timezone.now())
    empty()
    return raw, kept


def files():
    return (
        {row.pk: (bytes(row.pdf), bytes(row.cover)) for row in ManualFile.objects.all()},
        {row.pk: (bytes(row.whole), bytes(row.small)) for row in MarkedImage.objects.all()},
    )


def test_they_come_back_as_they_were(bundle, tmp_path):
    raw, kept = bundle
    imported(raw, tmp_path)
    assert files() == kept
    assert all(kept)
    assert ManualPage.objects.get().text == "Bias 調整"
    assert PageLink.objects.get().key == "visual-intake"
    assert PhotoMark.objects.get().words == "Riß ここ"
    assert Photo.objects.get().marked_sha256
    assert bundle_of(exported(timezone.now()))["tables"] == bundle_of(raw)["tables"]


@pytest.mark.parametrize(
    ("model", "column", "sentence"),
    [(ManualFile, "pdf", "Manual"), (MarkedImage, "whole", "Marked picture")],
)
def test_one_that_is_not_the_one_is_refused(bundle, tmp_path, model, column, sentence):
    raw, kept = bundle
    key = next(iter(kept[0 if model is ManualFile else 1]))
    name = export.file_of(model, key, column)
    with pytest.raises(bundle_import.BundleError, match=f"{sentence} {key} of the bundle"):
        imported(altered(raw, lambda body: body + b"x", name), tmp_path)
    assert not model.objects.exists()
