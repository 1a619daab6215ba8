"""Static files stand under the hash of all of them, and are kept for good."""

from __future__ import annotations

import re

import pytest
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import FileSystemStorage
from django.templatetags.static import static

from shop.lib.web import static_files

pytestmark = pytest.mark.django_db


@pytest.fixture
def tree(monkeypatch, tmp_path):
    """The only folder of static files, its hash worked out anew each time."""

    class Finder:
        def list(self, ignored):
            storage = FileSystemStorage(tmp_path)
            return [(name.name, storage) for name in sorted(tmp_path.iterdir())]

    monkeypatch.setattr(finders, "get_finders", lambda: [Finder()])
    (tmp_path / "page.css").write_text("a {}")

    def hashed():
        static_files.tree_hash.cache_clear()
        return static_files.tree_hash()

    yield tmp_path, hashed
    static_files.tree_hash.cache_clear()


def test_a_file_is_served_at_its_address_and_kept_for_good(client):
    address = static("shop/tokens.css")
    assert re.fullmatch(r"/static/[0-9a-f]{16}/shop/tokens.css", address)
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer["Cache-Control"] == "max-age=315360000, public, immutable"


@pytest.mark.parametrize("folder", ["", "0123456789abcdef/"])
def test_nothing_is_served_under_another_hash(client, folder):
    assert client.get(f"/static/{folder}shop/tokens.css").status_code == 404


def test_a_style_sheet_finds_its_faces_beside_itself(client):
    sheet = b"".join(client.get(static("shop/tokens.css")).streaming_content).decode()
    faces = re.findall(r"url\([\"']?([^\"')]+)", sheet)
    assert faces
    for face in faces:
        assert not face.startswith("/")
        assert client.get(static(f"shop/{face}")).status_code == 200


def test_the_worker_is_told_the_folder_of_its_release(client):
    script = client.get("/service-worker.js").content.decode()
    assert script.startswith(f'self.STATIC_FOLDER = "{static("shop/")}";')


@pytest.mark.parametrize("change", ["content", "name", "more"])
def test_any_change_gives_another_hash(tree, change):
    folder, hashed = tree
    before = hashed()
    assert hashed() == before
    if change == "content":
        (folder / "page.css").write_text("b {}")
    elif change == "name":
        (folder / "page.css").rename(folder / "other.css")
    else:
        (folder / "more.css").write_text("")
    assert hashed() != before
