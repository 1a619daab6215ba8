"""Make, read and end the customer's links.

What stands in the address is the link's number and 256 random bits, signed with the shop's key:
without the key none can be made, and without the row none is good. It ends by its date or by
being revoked.
"""

from __future__ import annotations

import hmac
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.urls import reverse

from shop.accounts import roles
from shop.customers.links import tokens
from shop.customers.links.models import CustomerLink
from shop.jobs.models import Job
from shop.preferences import current as preferences

# The room's first name: links that are out must stay good.
_SALT = "shop.link"


def link_for(job: Job, *, now: datetime, by: User | None = None) -> CustomerLink:
    """Return the live link of a job, its days counted anew; one is made when there is none.

    Two at once make one: the job is locked meanwhile.
    """
    if by is not None:
        roles.require(by, "note")
    expires = now + timedelta(days=preferences.value("link_days"))
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        live = live_link(job, now=now)
        if live is None:
            return CustomerLink.objects.create(
                job=job, nonce=tokens.nonce(), made_at=now, made_by=by, expires_at=expires
            )
        live.expires_at = expires
        live.save(update_fields=["expires_at"])
        return live


def live_link(job: Job, *, now: datetime) -> CustomerLink | None:
    """Return the link of a job that works now."""
    found = CustomerLink.objects.filter(job=job, revoked_at=None, expires_at__gt=now)
    return found.order_by("-pk").first()


def revoke(job: Job, *, by: User, at: datetime) -> int:
    """End all links of a job; returns how many were live."""
    roles.require(by, "note")
    live = CustomerLink.objects.filter(job=job, revoked_at=None, expires_at__gt=at)
    return live.update(revoked_at=at)


def address(link: CustomerLink) -> str:
    """Return the whole address of a link."""
    return preferences.value("address") + reverse("your-unit", args=[token(link)])


def token(link: CustomerLink) -> str:
    """Return what stands in the address."""
    return tokens.made(link.pk, link.nonce, salt=_SALT)


def opened(given: str, *, now: datetime) -> CustomerLink | None:
    """Return the link of a token; None for one that is forged, revoked or past its day."""
    read = tokens.read(given, salt=_SALT)
    found = CustomerLink.objects.select_related("job__unit")
    link = found.filter(pk=read[0]).first() if read else None
    if link is None or read is None or not hmac.compare_digest(link.nonce, read[1]):
        return None
    return link if link.revoked_at is None and link.expires_at > now else None
