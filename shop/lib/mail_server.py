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
from django.utils.translation import gettext as _

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
        _("Test letter of {shop}").format(shop=shop),
        _("This letter tries the mail settings of {shop}. If you read it, they work.\n").format(
            shop=shop
        ),
        preferences.value("email_from"),
        [to],
    )
    return send(letter)[1]


def send(letter: EmailMessage) -> tuple[bool, str]:
    """Send a letter to one address now; return whether the server took it, and a sentence.

    Never raises: what a server, a name or a certificate has against it is the answer.
    """
    if not is_on():
        return False, _("Nothing was sent: no mail server is named.")
    try:
        letter.send()
    except (OSError, ValueError) as error:
        return False, _("The letter did not go out. {why}").format(why=_why(error))
    to = letter.to[0]
    return True, _("The mail server took the letter for {to}. Look whether it arrives.").format(
        to=to
    )


def _why(error: Exception) -> str:
    """Return a sentence for what went wrong, with the words of the server where it said any."""
    if isinstance(error, smtplib.SMTPAuthenticationError):
        return _("The server refused user or password: {answer}").format(
            answer=_answer(error.smtp_error)
        )
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        said = next(iter(error.recipients.values()), (0, b""))[1]
        return _("The server refused the address that it was for: {answer}").format(
            answer=_answer(said)
        )
    if isinstance(error, smtplib.SMTPResponseException):
        return _("The server answered: {answer}").format(answer=_answer(error.smtp_error))
    if isinstance(error, smtplib.SMTPNotSupportedError):
        return _("The server does not offer what was asked for; try another encryption.")
    return _of_the_connection(error)


def _of_the_connection(error: Exception) -> str:
    where = f"{preferences.value('mail_host') or settings.EMAIL_HOST}"
    if isinstance(error, ssl.SSLCertVerificationError):
        return _("The certificate of {where} is not good: {reason}.").format(
            where=where, reason=error.verify_message
        )
    if isinstance(error, ssl.SSLError):
        return _("{where} speaks no TLS at this port; try starttls, or another port.").format(
            where=where
        )
    if isinstance(error, socket.gaierror):
        return _("No server is known by the name {where}.").format(where=quoted(where))
    if isinstance(error, TimeoutError) or isinstance(error.__context__, TimeoutError):
        return _("{where} did not answer within {seconds} seconds; is the port right?").format(
            where=where, seconds=TIMEOUT_SECONDS
        )
    if isinstance(error, ConnectionRefusedError):
        return _("{where} takes no connections at this port.").format(where=where)
    return _("{where} could not be used: {answer}").format(where=where, answer=_answer(str(error)))


def _answer(said: bytes | str) -> str:
    text = said.decode("utf-8", "replace") if isinstance(said, bytes) else said
    return " ".join(text.split())[:LONGEST_ANSWER] or _("no reason given.")
