"""Messages to customers, and the shop's own templates of them."""

from __future__ import annotations

from urllib.parse import quote

from django.db import models
from django.db.models import Q

from shop.customers.models import Customer
from shop.jobs.models import Job
from shop.messages import letters, occasions
from shop.messages.mail_queue import QueuedEmail
from shop.preferences import languages


class Message(QueuedEmail):
    """Something a customer is told once: by e-mail, or by hand where they want it so.

    Unique on (job, key). The words are those of the moment it was written; they go when the
    customer is erased.
    """

    EMAIL, HAND = "email", "hand"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="messages")
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, related_name="messages", db_column="owner_id"
    )
    about = models.CharField(max_length=20)
    way = models.CharField(max_length=5, default=EMAIL)
    subject = models.CharField(max_length=200, blank=True)
    text = models.TextField(blank=True)
    written_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "key"], name="message_written_once"),
        ]
        indexes = [
            models.Index(
                fields=["way", "send_after"],
                name="message_waiting",
                condition=Q(sent_at__isnull=True, given_up_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.about} of job {self.job_id}"

    @property
    def title(self) -> str:
        """What it is about, in the language of the page."""
        return occasions.name_of(self.about)

    @property
    def waits_for_person(self) -> bool:
        """Whether somebody still has to tell it."""
        return self.way == self.HAND and self.sent_at is None

    @property
    def letter(self) -> str:
        """Where it is printed as a letter; empty where it is not."""
        return letters.address_of(self)

    @property
    def mailto(self) -> str:
        """An address that opens the words in one's own mail program (RFC 6068)."""
        lines = "\r\n".join(self.text.splitlines())
        to, about, body = (
            quote(part, safe="@") for part in (self.customer.email, self.subject, lines)
        )
        return f"mailto:{to}?subject={about}&body={body}"


class MessageTemplate(models.Model):
    """The shop's own template for an occasion in a language; without one the default is used."""

    about = models.CharField(max_length=20)
    language = models.CharField(max_length=5, choices=languages.CHOICES, default="en")
    subject = models.CharField(max_length=200)
    text = models.TextField()

    class Meta:
        db_table = "post_wording"
        constraints = [
            models.UniqueConstraint(fields=["about", "language"], name="wording_once_a_language"),
        ]

    def __str__(self) -> str:
        return f"{self.about} ({self.language})"
