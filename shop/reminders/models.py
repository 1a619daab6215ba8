"""Reminders, snoozes, and the e-mails that go to the people of the shop.

Tables and columns keep the names under which they were made.
"""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from shop.jobs.models import Job
from shop.messages.mail_queue import QueuedEmail
from shop.reminders.policy import TOPICS


class Reminder(models.Model):
    """Something somebody should look at, once for each escalation level.

    Unique on (job, dedup_key, escalation_level): a detector that runs twice makes one row.
    """

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="reminders")
    topic = models.CharField(max_length=20, default="stalled")
    dedup_key = models.CharField(max_length=80, db_column="cause")
    escalation_level = models.PositiveSmallIntegerField(default=1, db_column="rung")
    sentence = models.CharField(max_length=400)
    # The newest ledger row when it was made: what happens after that may have settled it.
    head = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField()
    # When the next level is due; empty on the last.
    next_at = models.DateTimeField(null=True, blank=True)
    cleared_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["job", "dedup_key", "escalation_level"], name="reminder_said_once"
            ),
        ]
        indexes = [
            models.Index(
                fields=["topic", "job"],
                name="reminder_open",
                condition=Q(cleared_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return self.sentence


class Snooze(models.Model):
    """No reminder of one topic of one job until a moment, with a reason."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="snoozes")
    topic = models.CharField(max_length=20)
    until = models.DateTimeField()
    reason = models.CharField(max_length=400)
    made_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["job", "topic", "until"], name="snooze_of_job")]

    @property
    def title(self) -> str:
        """What is snoozed, in the language of the page."""
        return str(TOPICS[self.topic].title) if self.topic in TOPICS else self.topic

    def __str__(self) -> str:
        return f"{self.topic} of job {self.job_id} until {self.until:%Y-%m-%d %H:%M}"


class EmailPreference(models.Model):
    """How a person wants to be reminded by e-mail."""

    EACH, DIGEST, NONE = "each", "digest", "none"
    WAYS = (
        (EACH, _("each reminder at once")),
        (DIGEST, _("one e-mail a day")),
        (NONE, _("no e-mails")),
    )

    person = models.OneToOneField(User, on_delete=models.CASCADE, related_name="email_preference")
    way = models.CharField(max_length=8, choices=WAYS, default=EACH)

    class Meta:
        db_table = "watch_mailwish"

    def __str__(self) -> str:
        return f"{self.person}: {self.way}"


class StaffEmail(QueuedEmail):
    """An e-mail to somebody of the shop; written in the transaction of its cause, sent by whoever claims it.

    Unique on (person, key): a cause that is worked twice writes one e-mail. `key` names the
    message to the mail servers as well, so that an e-mail sent again after a crash between
    sending and noting it is the same message to them.
    """

    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="staff_emails")
    reminder = models.ForeignKey(Reminder, on_delete=models.CASCADE, null=True, related_name="+")

    class Meta:
        db_table = "watch_letter"
        constraints = [
            models.UniqueConstraint(fields=["person", "key"], name="letter_written_once"),
        ]
        indexes = [
            models.Index(
                fields=["send_after"],
                name="letter_waiting",
                condition=Q(sent_at__isnull=True, given_up_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} to {self.person}"
