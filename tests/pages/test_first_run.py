"""An empty shop is set up on one page, once, by whoever holds the address that the start printed."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from shop.accounts import roles
from shop.lib.refusals import Refused
from shop.pages.first_run import door, services
from shop.preferences import current
from shop.preferences.models import SettingChange
from tests.pages.settings.test_settings_page import png

pytestmark = pytest.mark.django_db

PASSWORD = "four-words-of-bench"
LEAST = {"owner_name": "lou", "password": PASSWORD, "again": PASSWORD, "shop_name": "Tin Lane"}


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.DATA = tmp_path


@pytest.fixture
def address():
    return f"/first-run/{door.token()}/"


def shown() -> dict[str, str]:
    return {one.setting.name: one.text for one in current.all_in_force()}


def test_a_name_a_password_and_a_shop_s_name_are_enough_and_home_comes_next(client, address):
    page = client.get(address)
    assert page.status_code == 200
    answer = client.post(address, shown() | LEAST, follow=True)
    assert answer.redirect_chain == [("/", 302)]
    assert "Your shop is set up." in answer.content.decode()
    assert answer.context["user"].username == "lou"
    assert roles.role_of(User.objects.get()) == "owner"
    assert current.value("shop_name") == "Tin Lane"
    assert {row.name for row in SettingChange.objects.all()} == {"shop_name"}
    assert Client().post("/sign-in/", {"username": "lou", "password": PASSWORD}).status_code == 302


def test_all_that_is_typed_is_kept(client, address):
    typed = {
        "postal_address": "4 Tin Lane\r\nOstmere",
        "telephone": "+44 20 7946 0101",
        "email": "bench@tin.example",
        "tax_number": "DE123456789",
        "hourly_rate": "72.50",
        "hands": "2",
        "bench_places": "3",
        "mail_host": "mail.tin.example",
        "mail_password": "tin-whistle",
        "logo": SimpleUploadedFile("mark.png", png(300, 100), "image/png"),
    }
    client.post(address, shown() | LEAST | typed)
    assert current.value("postal_address") == "4 Tin Lane\nOstmere"
    assert current.value("mail_password") == "tin-whistle"
    assert current.value("logo").startswith("data:image/png")
    for name in ("telephone", "email", "tax_number", "hourly_rate", "hands", "bench_places"):
        assert current.in_force(name).text == typed[name]


class TestCountry:
    def test_what_is_usual_there_is_taken_and_told(self, client, address):
        answer = client.post(
            address, shown() | LEAST | {"country": "US", "usual": "on"}, follow=True
        )
        assert current.value("currency") == "USD"
        assert current.value("paper_size") == "us-letter"
        text = answer.content.decode()
        assert "Taken as usual in your country" in text
        assert "Currency: USD" in text
        assert "Limits of the release tests: us-service" in text

    def test_nothing_is_without_the_tick(self, client, address):
        answer = client.post(address, shown() | LEAST | {"country": "US"}, follow=True)
        assert (current.value("country"), current.value("currency")) == ("US", "EUR")
        assert "Taken as usual" not in answer.content.decode()

    def test_what_the_machine_says_stays(self, client, address, settings):
        settings.CURRENCY = "CHF"
        client.post(address, shown() | LEAST | {"country": "US", "usual": "on"})
        assert current.value("currency") == "CHF"


class TestFaults:
    @pytest.mark.parametrize(
        ("typed", "said"),
        [
            ({"shop_name": ""}, "This field is required."),
            ({"owner_name": "lou reed"}, "Enter a valid username."),
            ({"password": "short", "again": "short"}, "at least 8 characters"),
            ({"password": "password1", "again": "password1"}, "too common"),
            ({"again": "another"}, "The two passwords differ"),
            (
                {"hourly_rate": "a lot"},
                "Hour of work, without tax is &#x27;a lot&#x27;; write a number",
            ),
            ({"country": "ZZZ", "usual": "on"}, "write a country by its two letters"),
            ({"mail_port": "99999"}, "write a whole number from 1 to 65535"),
        ],
    )
    def test_each_is_named_nothing_is_half_done_and_nothing_is_lost(
        self, client, address, typed, said
    ):
        answer = client.post(address, shown() | LEAST | {"telephone": "0101"} | typed)
        assert answer.status_code == 422
        text = answer.content.decode()
        assert said in text
        assert 'value="0101"' in text
        assert PASSWORD not in text
        assert not User.objects.exists()
        assert not SettingChange.objects.exists()
        assert current.in_force("shop_name").source == "default"
        assert client.get(address).status_code == 200

    def test_a_logo_that_is_no_picture(self, client, address):
        file = SimpleUploadedFile("mark.svg", b"<svg/>", "image/svg+xml")
        answer = client.post(address, shown() | LEAST | {"logo": file})
        assert answer.status_code == 422
        assert "no picture of a kind that is taken" in answer.content.decode()
        assert not User.objects.exists()


class TestDoor:
    def test_the_address_is_kept_for_its_owner_and_stays_the_same(self, tmp_path):
        first = door.token()
        assert door.token() == first
        assert stat.S_IMODE((Path(tmp_path) / door.FILE).stat().st_mode) == 0o600

    def test_a_guess_opens_nothing_and_is_slowed(self, client):
        door.token()
        assert client.post("/first-run/guess/", LEAST).status_code == 404
        assert {client.get(f"/first-run/{n}/").status_code for n in range(40)} == {404, 429}
        assert not User.objects.exists()

    def test_without_a_start_that_printed_one_nothing_opens(self, client):
        assert client.get("/first-run/x/").status_code == 404
        assert client.post("/first-run/x/", LEAST).status_code == 404

    def test_it_is_shut_once_somebody_belongs_to_the_shop(self, client, address, tmp_path):
        client.post(address, shown() | LEAST)
        assert not (Path(tmp_path) / door.FILE).exists()
        again = Client().post(address, shown() | LEAST | {"owner_name": "eve"})
        assert again.status_code == 404
        assert [user.username for user in User.objects.all()] == ["lou"]

    def test_an_account_that_was_made_by_command_shuts_it_too(self, client, address):
        roles.make_user("ann", "owner", PASSWORD)
        assert client.get(address).status_code == 404

    def test_of_two_the_second_is_refused(self, now):
        services.set_up("lou", PASSWORD, {"shop_name": "Tin Lane"}, usual=True, at=now)
        with pytest.raises(Refused, match="has been set up meanwhile"):
            services.set_up("eve", PASSWORD, {"shop_name": "Eve's"}, usual=True, at=now)
        assert current.value("shop_name") == "Tin Lane"

    def test_another_site_cannot_send_the_form(self, address):
        strict = Client(enforce_csrf_checks=True)
        assert strict.post(address, shown() | LEAST).status_code == 403
        assert not User.objects.exists()

    def test_the_sign_in_page_tells_where_to_begin(self, client):
        assert "Nobody belongs to this shop yet" in client.get("/sign-in/").content.decode()
        roles.make_user("ann", "owner", PASSWORD)
        assert "Nobody belongs" not in client.get("/sign-in/").content.decode()


@pytest.mark.parametrize(
    "name", ["Öhler & Söhne", "Работилница", "東京修理", "ورشة", "סדנה", "Εργαστήρι"]
)
def test_a_shop_s_name_in_any_script(client, address, name):
    answer = client.post(address, shown() | LEAST | {"shop_name": name})
    assert answer.status_code == 302
    assert current.value("shop_name") == name
