from __future__ import annotations

import gzip

import pytest
from django.templatetags.static import static
from django.urls import reverse

pytestmark = pytest.mark.django_db


@pytest.fixture
def reader(people, client):
    client.force_login(people.technician)
    return client


def test_a_page_is_compressed_for_whoever_takes_it(reader):
    page = reader.get(reverse("jobs"), headers={"Accept-Encoding": "gzip, br"})
    assert page["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in page["Vary"]
    assert int(page["Content-Length"]) == len(page.content)
    assert "<h1" in gzip.decompress(page.content).decode()


def test_a_page_is_plain_for_whoever_does_not(reader):
    page = reader.get(reverse("jobs"))
    assert "Content-Encoding" not in page
    assert "<h1" in page.content.decode()


def test_its_length_does_not_tell_what_is_in_it(reader):
    """Random bytes against BREACH: the same page has many lengths."""
    asked = [reader.get(reverse("jobs"), headers={"Accept-Encoding": "gzip"}) for _ in range(20)]
    assert len({page["Content-Length"] for page in asked}) > 5


def test_a_static_file_is_not_compressed_on_its_way(client):
    file = client.get(static("shop/tokens.css"), headers={"Accept-Encoding": "gzip"})
    assert file.status_code == 200
    assert "Content-Encoding" not in file
