"""Drafting, changing, sending and answering estimates."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.estimates.drafting import lines_for
from shop.estimates.models import Estimate, EstimateLine
from shop.jobs import commands, queries
from shop.jobs.ledger import AnyRow
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.lib import text
from shop.lib.money import formatted, rounded
from shop.lib.refusals import Refused, refuse
from shop.preferences import current as preferences

LONGEST_WORDS = 4000
MOST_LINES = 60


@dataclass(frozen=True)
class SentEstimate:
    """A sent version with the last answer to it; `answer` is sent while there is none."""

    estimate: Estimate
    answer: str
    row: AnyRow | None


@transaction.atomic
def get_or_create_draft(number: int, *, by: User, at: datetime) -> Estimate:
    """Return the draft of a job, made from what the job needs and has had done when there is none.

    Refused for a closed job.
    """
    roles.require(by, "note")
    job = _open_job(number)
    existing = Estimate.objects.filter(job=job, sent_at=None).first()
    if existing is not None:
        return existing
    last = latest_estimate(job)
    estimate = Estimate.objects.create(
        job=job,
        version=last.version + 1 if last else 1,
        currency=preferences.value("currency"),
        tax_name=preferences.value("tax_name"),
        words=last.words if last else "",
        made_at=at,
        made_by=by,
    )
    EstimateLine.objects.bulk_create(lines_for(estimate, queries.record_of(job), last))
    return estimate


def _open_job(number: int) -> Job:
    """Lock a job that takes estimates still."""
    job = Job.objects.select_for_update().get(pk=number)
    if job.closed:
        raise refuse("closed", _("The job is closed; an estimate comes before the work."))
    return job


@transaction.atomic
def save_draft(
    number: int,
    words: str,
    lines: Sequence[dict[str, Any]],
    *,
    by: User,
    seen: str | None = None,
) -> Estimate:
    """Put these lines in place of those of the draft.

    `seen` is the digest of the draft that was looked at. Refused when the draft has been sent, or
    changed by somebody else, since; BadInput for words that cannot be kept.
    """
    roles.require(by, "note")
    kept_words = text.take("words", words, LONGEST_WORDS)
    lines = [
        line | {"words": text.take("words", line["words"], 500, needed=True)} for line in lines
    ]
    estimate = Estimate.objects.filter(job=_open_job(number), sent_at=None).first()
    if estimate is None:
        raise no_draft_refusal()
    if seen is not None and seen != draft_digest(estimate):
        raise refuse(
            "changed", _("Somebody changed the draft since you opened it. Yours is below.")
        )
    estimate.words = kept_words
    estimate.save(update_fields=["words"])
    estimate.lines.all().delete()
    EstimateLine.objects.bulk_create(
        EstimateLine(estimate=estimate, place=place, **line) for place, line in enumerate(lines)
    )
    return estimate


def no_draft_refusal() -> Refused:
    """Return the reason against changing what has been sent."""
    return refuse("no-draft", _("The draft has been sent since; start the next version."))


def draft_digest(estimate: Estimate) -> str:
    """Return what a draft is told by: another one when anything of it was changed."""
    lines = [
        (
            cells.sort,
            cells.words,
            cells.quantity,
            cells.price,
            cells.tax_rate,
            cells.need,
            cells.work,
        )
        for cells in estimate.lines.all()
    ]
    content = repr((estimate.words, [[str(cell) for cell in cells] for cells in lines]))
    return hashlib.sha256(content.encode()).hexdigest()[:16]


@transaction.atomic
def send_draft(number: int, *, by: User, at: datetime) -> Estimate:
    """Close the draft and write it into the ledger, with what it covers.

    At or under the price up to which the customer wants not to be asked, it is agreed at once.
    Refused for a draft without lines or without a price.
    """
    roles.require(by, "note")
    job = _open_job(number)
    estimate = Estimate.objects.filter(job=job, sent_at=None).first()
    if estimate is None:
        raise refuse("no-draft", _("There is no draft to send; start one first."))
    gross = estimate.totals().gross
    if not gross:
        raise refuse("no-price", _("The estimate comes to nothing; give its lines a price."))
    estimate.sent_at = at
    estimate.save(update_fields=["sent_at"])
    commands.record(number, "estimate_sent", _covered(estimate, gross), by=by, at=at)
    limit = queries.record_of(job).agreement.ring_above
    if limit and gross <= Decimal(limit):
        _agree_within(estimate, limit, by=by, at=at)
    return estimate


def _covered(estimate: Estimate, gross: Decimal) -> dict[str, Any]:
    lines = list(estimate.lines.all())
    return {
        "version": estimate.version,
        "total": f"{gross:f}",
        "needs": [line.need for line in lines if line.need],
        "work": list(dict.fromkeys(line.work for line in lines if line.work)),
    }


def _agree_within(estimate: Estimate, limit: str, *, by: User, at: datetime) -> None:
    amount = formatted(rounded(Decimal(limit), estimate.currency), estimate.currency)
    answer = {
        "answer": "yes",
        "version": estimate.version,
        "way": "within-limit",
        "note": f"The customer asked to be rung only above {amount}.",
    }
    commands.record(estimate.job_id, "estimate_answered", answer, by=by, at=at)


def latest_estimate(job: Job) -> Estimate | None:
    """Return the newest version that was sent."""
    return Estimate.objects.filter(job=job, sent_at__isnull=False).order_by("-version").first()


def sent_estimates(record: Record) -> list[SentEstimate]:
    """Return the versions that were sent, newest first, each with its last answer."""
    answers = record.agreement.answers
    versions = Estimate.objects.filter(job=record.job, sent_at__isnull=False)
    return [
        SentEstimate(
            estimate, row.data["answer"] if (row := answers.get(estimate.version)) else "sent", row
        )
        for estimate in versions.prefetch_related("lines").order_by("-version")
    ]
