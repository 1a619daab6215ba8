"""Messages to the customer of a job."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import Literal

from django.db.models import QuerySet
from django.http import HttpRequest
from ninja import Router, Status

from shop.api import schemas
from shop.api.app import on_job
from shop.api.once import Replay, once
from shop.messages import writing
from shop.messages.models import Message

router = Router(tags=["messages"])


class MessageIn(schemas.Strict):
    """A message in one's own words."""

    text: str


class MessageOut(schemas.Schema):
    """A message: by e-mail, or for a person to tell (`hand`). `sent_at` is when the customer was told."""

    about: str
    way: Literal["email", "hand"]
    subject: str
    text: str
    written_at: datetime
    sent_at: datetime | None
    given_up_at: datetime | None


def _again(replay: Replay) -> Message:
    return Message.objects.get(pk=replay.kept)


@router.get("jobs/{int:number}/messages/", response={200: list[MessageOut], **schemas.REFUSALS})
def messages(request: HttpRequest, number: int) -> QuerySet[Message]:
    """List what the customer was told or is to be told, oldest first."""
    return Message.objects.filter(job=on_job(request, number, "note").job).order_by("pk")


@router.post("jobs/{int:number}/messages/", response={201: MessageOut, **schemas.REFUSALS})
@once(kept=lambda message: message.pk, again=_again)
def write(request: HttpRequest, number: int, payload: MessageIn) -> Status[Message]:
    """Write to the customer: by e-mail where they agreed to it, else put down for a person to tell."""
    by, job, now = on_job(request, number, "note")
    key = secrets.token_urlsafe(12)
    return Status(201, writing.write(job, payload.text, key=key, by=by, at=now))
