"""The examples of docs/api.md run as they stand, against a shop that serves."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys

import pytest
from django.conf import settings
from django.test import Client

from shop.api.models import ApiToken
from shop.jobs.models import Job
from shop.photos.models import Photo
from tests.factories import JobFactory, PersonFactory
from tests.photos.pictures import picture as jpeg

PAGE = (settings.ROOT / "docs" / "api.md").read_text(encoding="utf-8")
EXAMPLES = PAGE.partition("### Examples\n")[2].partition("\n### ")[0]


def blocks(kind):
    return re.findall(rf"^```{kind}\n(.*?)^```", EXAMPLES, re.S | re.M)


@pytest.fixture
def run(live_server, tmp_path):
    person = PersonFactory(username="tess", role="technician")
    (tmp_path / "front.jpg").write_bytes(jpeg())
    environment = os.environ | {"SHOP": live_server.url, "TOKEN": ApiToken.make(person)}

    def ran(*command):
        done = subprocess.run(
            command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    return ran


@pytest.mark.process
@pytest.mark.skipif(not shutil.which("curl"), reason="no curl on this machine")
@pytest.mark.django_db(transaction=True)
def test_curl(run):
    receive, upload = blocks("sh")
    number = json.loads(run("sh", "-c", receive))["number"]
    assert Job.objects.get(pk=number).complaint == "hums"
    run("sh", "-c", upload.replace("jobs/1/", f"jobs/{number}/"))
    assert Photo.objects.get(job=number).caption == "front"


@pytest.mark.process
@pytest.mark.django_db(transaction=True)
def test_python(run):
    [program] = blocks("python")
    said = run(sys.executable, "-c", program)
    assert "'act'" in said or "title" in said
    assert Job.objects.get().ledger.filter(event_type="note_added").exists()


@pytest.mark.django_db
class TestPictures:
    @pytest.fixture
    def send(self, people):
        number = JobFactory().number

        def sent(role="technician", body=None, query="", **headers):
            token = ApiToken.make(people.named(role))
            return Client().post(
                f"/api/v1/jobs/{number}/photos/{query}",
                jpeg() if body is None else body,
                content_type="image/jpeg",
                headers={"Authorization": f"Bearer {token}", **headers},
            )

        return sent

    def test_a_picture_is_kept_and_told(self, send):
        answer = send(query="?of=unit&caption=front")
        assert answer.status_code == 201, answer.content
        assert answer.json()["caption"] == "front"
        assert Photo.objects.get().pk == answer.json()["number"]

    def test_what_is_no_picture_is_refused_with_a_sentence(self, send):
        for body in (b"", b"no picture", jpeg()[:40]):
            answer = send(body=body)
            assert answer.status_code == 422
            assert answer.json()["reason"]
        assert not Photo.objects.exists()

    def test_what_it_shows_must_be_of_the_job(self, send):
        answer = send(query="?of=finding-99")
        assert answer.status_code == 422
        assert "finding-99" in answer.json()["reason"]

    def test_a_viewer_may_not(self, send):
        assert send("viewer").status_code == 403

    def test_sent_twice_it_is_kept_once(self, send):
        key = {"Idempotency-Key": "front-1"}
        token_of_the_same_person = send(**key), send(**key)
        first, second = (answer.json()["number"] for answer in token_of_the_same_person)
        assert first == second
        assert Photo.objects.count() == 1
        Photo.objects.update(removed_at=Photo.objects.get().taken_at)
        assert send(**key).status_code == 409


@pytest.mark.django_db
class TestThePage:
    def test_names_every_call_and_asks_the_net_for_nothing(self, client, people):
        client.force_login(people.viewer)
        page = client.get("/api-docs/").content.decode()
        document = client.get("/api/v1/openapi.json").json()
        for path, verbs in document["paths"].items():
            for verb in verbs:
                assert f"<code>{verb.upper()} {path}</code>" in page
        assert not re.findall(r'(?:src|href)="(?:https?:)?//', page)

    def test_says_what_a_body_takes(self, client, people):
        client.force_login(people.viewer)
        page = client.get("/api-docs/").content.decode()
        assert "one of isolated, limited, full" in page
        assert "image/jpeg" in page
