"""Mail by the page of settings: sent by what was decided last, and tried by a letter."""

from __future__ import annotations

import socket

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword
from django.core.mail import EmailMessage

from shop.lib import mail_server
from shop.preferences import changing
from tests.composed import free_port

pytestmark = pytest.mark.django_db
BACKEND = "shop.lib.mail_server.MailServer"


class Postbox:
    """Takes letters, but those for nobody@; a password is asked for where one is set."""

    def __init__(self) -> None:
        self.letters: list[str] = []

    async def handle_RCPT(self, server, session, envelope, address, options):
        if address.startswith("nobody@"):
            return "550 5.1.1 There is no such person"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        self.letters.append(envelope.content.decode())
        return "250 kept"


class WithPassword(Controller):
    def factory(self):
        return SMTP(
            self.handler,
            authenticator=lambda *given: AuthResult(
                success=given[-1] == LoginPassword(b"ann", b"tin-whistle"), handled=False
            ),
            auth_required=True,
            auth_require_tls=False,
        )


@pytest.fixture(autouse=True)
def _by_the_page(settings):
    settings.EMAIL_BACKEND = BACKEND


@pytest.fixture
def postbox(now):
    box = Postbox()
    server = Controller(box, hostname="127.0.0.1", port=free_port())
    server.start()
    _decide(now, server.port)
    yield box
    server.stop()


@pytest.fixture
def locked_postbox(now):
    box = Postbox()
    server = WithPassword(box, hostname="127.0.0.1", port=free_port())
    server.start()
    _decide(now, server.port, mail_user="ann")
    yield box
    server.stop()


def _decide(now, port: int, **more: str) -> None:
    texts = {"mail_host": "127.0.0.1", "mail_port": str(port), "mail_security": "none", **more}
    changing.change(texts, by="ann", at=now)


def test_without_a_server_nobody_is_written_to():
    assert not mail_server.is_on()
    assert EmailMessage("a", "b", "a@b.example", ["c@d.example"]).send() == 0
    assert (
        mail_server.send_test_letter("c@d.example") == "Nothing was sent: no mail server is named."
    )


def test_a_letter_goes_by_what_was_decided_a_moment_ago(postbox, now):
    assert mail_server.is_on()
    changing.change({"email_from": "Tin Lane <bench@tin.example>"}, by="ann", at=now)
    said = mail_server.send_test_letter("lou@example.org")
    assert said == "The mail server took the letter for lou@example.org. Look whether it arrives."
    [letter] = postbox.letters
    assert "From: Tin Lane <bench@tin.example>" in letter
    assert "Test letter of Repair bench" in letter


@pytest.mark.parametrize("name", ["Öhler", "Жук", "東京", "مصلح", "תיקון", "Ώμος"])
def test_a_name_in_any_script_reaches_the_letter(postbox, now, name):
    changing.change({"shop_name": name}, by="ann", at=now)
    assert "took the letter" in mail_server.send_test_letter("lou@example.org")


def test_the_words_of_the_server_are_told(postbox):
    said = mail_server.send_test_letter("nobody@example.org")
    assert said == (
        "The letter did not go out. The server refused the address that it was for:"
        " 5.1.1 There is no such person"
    )
    assert postbox.letters == []


def test_the_password_of_the_page_opens_the_server(locked_postbox, now):
    changing.change({"mail_password": "tin-whistle"}, by="ann", at=now)
    assert "took the letter" in mail_server.send_test_letter("lou@example.org")
    changing.change({"mail_password": "wrong"}, by="ann", at=now)
    said = mail_server.send_test_letter("lou@example.org")
    assert said.startswith("The letter did not go out. The server refused user or password: ")
    assert "wrong" not in said


def test_a_server_that_is_not_there(now):
    _decide(now, free_port())
    assert "127.0.0.1 takes no connections at this port." in mail_server.send_test_letter(
        "a@b.example"
    )


def test_a_name_that_nobody_knows(now, monkeypatch):
    def unknown(*_args, **_more):
        raise socket.gaierror(-2, "Name or service not known")

    _decide(now, 25)
    monkeypatch.setattr(socket, "create_connection", unknown)
    said = mail_server.send_test_letter("a@b.example")
    assert "No server is known by the name '127.0.0.1'." in said


def test_a_server_that_offers_no_encryption(postbox, now):
    changing.change({"mail_security": "starttls"}, by="ann", at=now)
    said = mail_server.send_test_letter("a@b.example")
    assert "does not offer what was asked for; try another encryption" in said


def test_a_server_that_is_silent(now, monkeypatch):
    with socket.create_server(("127.0.0.1", 0)) as silent:
        _decide(now, silent.getsockname()[1])
        monkeypatch.setattr(mail_server, "TIMEOUT_SECONDS", 0.2)
        said = mail_server.send_test_letter("a@b.example")
    assert "did not answer within 0.2 seconds; is the port right?" in said
