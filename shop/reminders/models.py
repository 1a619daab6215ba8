"""Reminders, what puts them off, and the letters that carry them out of the house."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q

from shop.jobs.models import Job
from shop.messages.mail_queue import Mail


class Reminder(models.Model):
    """Something somebody should look at. Unique on (job, cause, rung): run twice, said once."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="reminders")
    topic = models.CharField(max_length=20, default="stalled")
    cause = models.CharField(max_length=80)
    rung = models.PositiveSmallIntegerField(default=1)
    sentence = models.CharField(max_length=400)
    # The newest ledger row when it was made: what happens after that may have settled it.
    head = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField()
    # When the next rung is due; empty on the last.
    next_at = models.DateTimeField(null=True, blank=True)
    cleared_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "cause", "rung"], name="reminder_said_once"),
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
    """Leave to say nothing about one topic of one job until a moment, with a reason."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="snoozes")
    topic = models.CharField(max_length=20)
    until = models.DateTimeField()
    reason = models.CharField(max_length=400)
    made_at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["job", "topic", "until"], name="snooze_of_job")]

    def __str__(self) -> str:
        return f"{self.topic} of job {self.job_id} until {self.until:%Y-%m-%d %H:%M}"


class MailWish(models.Model):
    """How a person wants to be told by e-mail."""

    EACH, DIGEST, NONE = "each", "digest", "none"
    WAYS = ((EACH, "each reminder at once"), (DIGEST, "one letter a day"), (NONE, "no letters"))

    person = models.OneToOneField(User, on_delete=models.CASCADE, related_name="mail_wish")
    way = models.CharField(max_length=8, choices=WAYS, default=EACH)

    def __str__(self) -> str:
        return f"{self.person}: {self.way}"


class Letter(Mail):
    """An e-mail to be sent; written in the transaction of its cause, sent by whoever claims it.

    Unique on (person, key): the cause can be worked twice and writes one letter. `key` names
    the message to the mail servers as well, so that a letter sent again after a crash between
    sending and noting it is the same message to them.
    """

    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="letters")
    reminder = models.ForeignKey(Reminder, on_delete=models.CASCADE, null=True, related_name="+")

    class Meta:
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
