"""Where a machine is reached, the code for it, and the page on which a phone is told to trust it."""

from __future__ import annotations

import socket
from datetime import UTC, datetime

import pytest
from django.utils import timezone

from shop.lib import own_certificate
from shop.preferences import changing, current
from shop.preferences.models import SettingChange
from shop.site import reach
from shop.site.management.commands import quickstart
from shop.site.reach import Place


def test_the_address_is_one_of_this_machine(monkeypatch):
    found = reach.network_address()
    if found is not None:
        with socket.socket() as own:
            own.bind((found, 0))

    def cut(*_):
        raise OSError

    monkeypatch.setattr(reach.socket.socket, "connect", cut)
    assert reach.network_address() is None


@pytest.mark.parametrize(
    ("name", "wanted"),
    [("Bench.fritz", "bench.local"), ("localhost", None), ("my bench", None), ("작업대", None)],
)
def test_the_name_is_one_that_a_network_can_know(monkeypatch, name, wanted):
    monkeypatch.setattr(reach.socket, "gethostname", lambda: name)
    assert reach.local_name() == wanted


def test_places(monkeypatch):
    monkeypatch.setattr(reach, "network_address", lambda: "192.168.7.20")
    here, everywhere = Place("127.0.0.1", 8000, False), Place("0.0.0.0", 8443, True)
    assert (here.address, here.on_network) == ("http://127.0.0.1:8000", False)
    assert (everywhere.address, everywhere.on_network) == ("https://192.168.7.20:8443", True)
    assert everywhere.inner_address == "https://127.0.0.1:8443"
    assert Place("fd00::7", 8000, False).address == "http://[fd00::7]:8000"


def test_the_code_is_drawn_for_a_terminal():
    drawn = reach.code("https://192.168.7.20:8000/")
    assert len(drawn.splitlines()) > 10
    assert "█" in drawn or "▄" in drawn or "\x1b[" in drawn


@pytest.mark.django_db
class TestAddress:
    def test_links_follow_the_machine_until_a_person_decides(self):
        quickstart._remember_address(Place("192.168.7.20", 8000, True))
        assert current.value("address") == "https://192.168.7.20:8000"
        quickstart._remember_address(Place("192.168.7.21", 8000, True))
        assert current.value("address") == "https://192.168.7.21:8000"
        assert SettingChange.objects.count() == 2
        quickstart._remember_address(Place("192.168.7.21", 8000, True))
        assert SettingChange.objects.count() == 2

        changing.change({"address": "https://bench.example.org"}, by="lou", at=timezone.now())
        quickstart._remember_address(Place("192.168.7.22", 8000, True))
        assert current.value("address") == "https://bench.example.org"

    def test_the_environment_stays_as_it_is(self, settings):
        settings.ADDRESS = "https://bench.example.org"
        quickstart._remember_address(Place("192.168.7.22", 8000, True))
        assert not SettingChange.objects.exists()


@pytest.mark.django_db
class TestTrustPage:
    @pytest.fixture
    def files(self, settings, tmp_path):
        settings.DATA, settings.OWN_CERTIFICATE = tmp_path, True
        files = own_certificate.in_folder(tmp_path)
        files.provide(["localhost"], ["127.0.0.1"], datetime.now(UTC))
        return files

    def test_a_phone_that_is_not_signed_in_gets_page_and_certificate(self, client, files):
        page = client.get("/trust/").content.decode()
        assert files.fingerprint() in page
        answer = client.get("/trust/benchtag.crt")
        assert answer["Content-Type"] == "application/x-x509-ca-cert"
        assert answer.content == files.authority_der()
        assert client.post("/trust/").status_code == 405

    def test_behind_a_proxy_there_is_no_such_page(self, client, files, settings):
        settings.OWN_CERTIFICATE = False
        assert client.get("/trust/").status_code == 404
        assert client.get("/trust/benchtag.crt").status_code == 404
