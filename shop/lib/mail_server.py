"""The mail server of the shop: as the machine names it, else as the page of settings does."""

from __future__ import annotations

import smtplib
import socket
import ssl
from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.smtp import EmailBackend

from shop.lib.text import quoted
from shop.preferences import current as preferences

# As the machine's own: long enough for a slow server, short enough for somebody who waits.
TIMEOUT_SECONDS = 20
# What a server says of a letter can be long.
LONGEST_ANSWER = 300


def is_on() -> bool:
    """Tell whether anybody is written to at all."""
    return bool(settings.MAIL_ON or preferences.value("mail_host"))


class MailServer(EmailBackend):
    """Sends by the settings of this moment; without a server it sends nothing."""

    def __init__(self, *, fail_silently: bool = False, **_: Any) -> None:
        security = preferences.value("mail_security")
        super().__init__(
            host=preferences.value("mail_host"),
            port=preferences.value("mail_port"),
            username=preferences.value("mail_user"),
            password=preferences.value("mail_password"),
            use_tls=security == "starttls",
            use_ssl=security == "tls",
            timeout=TIMEOUT_SECONDS,
            fail_silently=fail_silently,
        )

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        """Send them; returns how many the server took."""
        if not preferences.value("mail_host"):
            return 0
        return int(super().send_messages(email_messages) or 0)


def send_test_letter(to: str) -> str:
    """Send a letter to try the settings, and return what became of it as a sentence."""
    shop = " ".join(preferences.value("shop_name").split())
    letter = EmailMessage(
        f"Test letter of {shop}",
        f"This letter tries the mail settings of {shop}. If you read it, they work.\n",
        preferences.value("email_from"),
        [to],
    )
    return send(letter)[1]


def send(letter: EmailMessage) -> tuple[bool, str]:
    """Send a letter to one address now; return whether the server took it, and a sentence.

    Never raises: what a server, a name or a certificate has against it is the answer.
    """
    if not is_on():
        return False, "Nothing was sent: no mail server is named."
    try:
        letter.send()
    except (OSError, ValueError) as error:
        return False, f"The letter did not go out. {_why(error)}"
    to = letter.to[0]
    return True, f"The mail server took the letter for {to}. Look whether it arrives."


def _why(error: Exception) -> str:
    """Return a sentence for what went wrong, with the words of the server where it said any."""
    if isinstance(error, smtplib.SMTPAuthenticationError):
        return f"The server refused user or password: {_answer(error.smtp_error)}"
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        said = next(iter(error.recipients.values()), (0, b""))[1]
        return f"The server refused the address that it was for: {_answer(said)}"
    if isinstance(error, smtplib.SMTPResponseException):
        return f"The server answered: {_answer(error.smtp_error)}"
    if isinstance(error, smtplib.SMTPNotSupportedError):
        return "The server does not offer what was asked for; try another encryption."
    return _of_the_connection(error)


def _of_the_connection(error: Exception) -> str:
    where = f"{preferences.value('mail_host') or settings.EMAIL_HOST}"
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"The certificate of {where} is not good: {error.verify_message}."
    if isinstance(error, ssl.SSLError):
        return f"{where} speaks no TLS at this port; try starttls, or another port."
    if isinstance(error, socket.gaierror):
        return f"No server is known by the name {quoted(where)}."
    if isinstance(error, TimeoutError) or isinstance(error.__context__, TimeoutError):
        return f"{where} did not answer within {TIMEOUT_SECONDS} seconds; is the port right?"
    if isinstance(error, ConnectionRefusedError):
        return f"{where} takes no connections at this port."
    return f"{where} could not be used: {_answer(str(error))}"


def _answer(said: bytes | str) -> str:
    text = said.decode("utf-8", "replace") if isinstance(said, bytes) else said
    return " ".join(text.split())[:LONGEST_ANSWER] or "no reason given."
