"""Which events of a ledger can be told, and what a message says of one.

A message says that something happened and where to read it, not what it says: words of people and
of customers stay in the shop. Whoever wants more asks the API, with a token.
"""

from __future__ import annotations

import json
from typing import Any

from django.utils.translation import gettext_lazy as _

from shop.jobs.models import LedgerRow
from shop.preferences import current as preferences

# By the event of the ledger: what it is called on the page.
EVENTS = {
    "received": _("A unit came in"),
    "stage_changed": _("A job moved to another stage"),
    "power_applied": _("Mains on"),
    "power_removed": _("Mains off"),
    "soak_ended": _("A soak ended"),
    "estimate_sent": _("An estimate was sent"),
    "estimate_answered": _("The customer answered an estimate"),
    "question_asked": _("The customer asked something"),
    "promise_made": _("A day was promised"),
    "part_needed": _("A part is needed"),
    "part_ordered": _("A part was ordered"),
    "part_arrived": _("A part arrived"),
    "bill_issued": _("A bill was issued"),
    "bill_paid": _("A payment came in"),
    "released": _("A unit was released"),
    "withdrawn": _("A unit goes back unrepaired"),
    "shipped": _("A unit was sent"),
}
TEST = "test"
PREFIX = "job."


def message_of(row: LedgerRow) -> str:
    """Return the body of the message about a row, as JSON."""
    data: dict[str, Any] = {"job": row.job_id, "sequence": row.sequence}
    if row.event_type == "stage_changed" and isinstance(row.data.get("to"), str):
        data["stage"] = row.data["to"]
    base = preferences.value("address")
    data["page"] = f"{base}/jobs/{row.job_id}/"
    data["api"] = f"{base}/api/v1/jobs/{row.job_id}/"
    return body(PREFIX + row.event_type, row.at.isoformat(), data)


def body(kind: str, timestamp: str, data: dict[str, Any]) -> str:
    """Return a body of the Standard Webhooks form: type, timestamp and data."""
    return json.dumps({"type": kind, "timestamp": timestamp, "data": data}, separators=(",", ":"))


def key_of(row: LedgerRow) -> str:
    """Return the webhook-id of the message about a row."""
    return f"msg_{row.job_id}_{row.sequence}"
