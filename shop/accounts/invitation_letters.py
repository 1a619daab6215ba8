"""An invitation by e-mail: the link in a letter, sent now, so that the page can say what happened."""

from __future__ import annotations

from datetime import datetime

from django.core.exceptions import ValidationError
from django.core.mail import EmailMessage
from django.core.validators import validate_email
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.lib import mail_server
from shop.lib.refusals import bad
from shop.lib.text import quoted
from shop.preferences import current as preferences

LONGEST_ADDRESS = 254


def read_address(text: str) -> str:
    """Return the address as typed, without blanks around it; BadInput where it is none."""
    address = text.strip()
    if not address:
        return ""
    try:
        validate_email(address)
    except ValidationError:
        raise bad(
            "email",
            _(
                "The e-mail address is {address}; write one address like lou@example.org, or "
                "leave it empty."
            ).format(address=quoted(address)),
        ) from None
    return address


def send(to: str, link: str, *, name: str, role: str, ends_at: datetime) -> tuple[bool, str]:
    """Send the link; return whether the mail server took it, and what became of it in a sentence."""
    shop = " ".join(preferences.value("shop_name").split())
    day = f"{timezone.localtime(ends_at):%Y-%m-%d, %H:%M}"
    text = _(
        "You are invited to {shop} as {name} ({role}).\n\nOpen this link and choose your password:\n{link}\n\nThe link works once, until {day}. Whoever has it can use it: pass it to nobody.\nIf you expected no invitation, delete this letter.\n"
    ).format(shop=shop, name=name, role=role, link=link, day=day)
    sender = preferences.value("email_from")
    return mail_server.send(
        EmailMessage(_("Invitation to {shop}").format(shop=shop), text, sender, [to])
    )
