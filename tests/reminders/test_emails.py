from __future__ import annotations

import pytest
import time_machine
from django.core import mail

from shop.messages import mail_queue
from shop.reminders import emails
from shop.reminders import services as reminder_services
from shop.reminders.models import EmailPreference, StaffEmail
from tests.helpers import amplifier
from tests.reminders.when import at

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def post(settings, people):
    """A mail server, and addresses for the technician and the owner."""
    settings.MAIL_ON = True
    settings.ADDRESS = "https://bench.example.org"
    for person in (people.technician, people.owner):
        person.email = f"{person.username}@example.org"
        person.save()


@pytest.fixture
def quiet_job(bench):
    with time_machine.travel(at("2026-11-25T09:00"), tick=False):
        number = bench.receive(facts=amplifier())
        bench.sign(number, "visual-intake")
    return number


def round_(text):
    now = at(text)
    reminder_services.remind(now=now)
    emails.queue_digests(now=now)
    return emails.deliver(now=now)


def sent_to():
    return sorted(message.to[0] for message in mail.outbox)


def test_the_hands_it_was_in_are_written_to_once(quiet_job):
    assert round_("2026-11-27T10:00") == 1
    assert round_("2026-11-27T10:05") == 0
    [message] = mail.outbox
    assert message.to == ["technician@example.org"]
    assert "nothing has happened" in message.subject
    assert f"https://bench.example.org/jobs/{quiet_job}/" in message.body
    assert message.extra_headers["Message-ID"].endswith("@localhost>")


def test_the_owners_are_told_when_it_is_said_often(quiet_job):
    for day in ("2026-11-27", "2026-12-02", "2026-12-07"):
        round_(f"{day}T10:00")
    assert sent_to() == ["owner@example.org"] + 3 * ["technician@example.org"]


def test_a_job_nobody_had_in_hand_goes_to_the_owners(people, bench):
    with time_machine.travel(at("2026-11-25T09:00"), tick=False):
        bench.receive()
    round_("2026-11-27T10:00")
    assert sent_to() == ["owner@example.org"]


def test_the_night_waits_for_the_morning_but_for_mains_left_on(bench, quiet_job):
    assert round_("2026-11-26T22:00") == 0
    assert StaffEmail.objects.get().send_after == at("2026-11-27T09:00")
    assert round_("2026-11-27T09:00") == 1

    with time_machine.travel(at("2026-11-27T17:00"), tick=False):
        bench.limited(bench.receive(facts=amplifier()))
    mail.outbox.clear()
    round_("2026-11-27T22:00")
    assert ["shop is closed" in message.subject for message in mail.outbox] == [True]


def test_a_digest_once_a_day_and_nothing_else(people, quiet_job):
    EmailPreference.objects.create(person=people.technician, way=EmailPreference.DIGEST)
    assert round_("2026-11-27T07:59") == 0
    assert round_("2026-11-27T08:00") == 1
    assert round_("2026-11-27T17:00") == 0
    assert round_("2026-11-28T10:00") == 0  # Saturday
    assert round_("2026-11-30T08:30") == 1
    assert [m.subject for m in mail.outbox] == [
        "1 thing to look at, 27 November",
        "1 thing to look at, 30 November",
    ]
    assert "nothing has happened" in mail.outbox[0].body


@pytest.mark.parametrize("day", ["2026-03-30", "2026-10-26"])
def test_a_digest_after_the_clocks_have_changed_comes_once(people, bench, day):
    EmailPreference.objects.create(person=people.technician, way=EmailPreference.DIGEST)
    with time_machine.travel(at("2026-01-05T09:00"), tick=False):
        bench.receive(facts=amplifier())
    counts = []
    for hour in ("07:30", "08:00", "08:30", "09:00", "17:00"):
        round_(f"{day}T{hour}")
        counts.append(sent_to().count("technician@example.org"))
    assert counts == [0, 1, 1, 1, 1]


def test_who_wants_none_gets_none(people, quiet_job):
    EmailPreference.objects.create(person=people.technician, way=EmailPreference.NONE)
    round_("2026-11-27T10:00")
    assert mail.outbox == []


def test_nothing_to_say_is_no_digest(people, bench):
    EmailPreference.objects.create(person=people.technician, way=EmailPreference.DIGEST)
    round_("2026-11-27T10:00")
    assert not StaffEmail.objects.exists()


def test_without_a_mail_server_nobody_is_written_to(settings, quiet_job):
    settings.MAIL_ON = False
    round_("2026-11-27T10:00")
    assert not StaffEmail.objects.exists()


def test_a_letter_that_fails_waits_longer_each_time_and_stops_no_other(
    people, bench, quiet_job, monkeypatch
):
    with time_machine.travel(at("2026-11-25T09:30"), tick=False):
        bench.receive()  # this one is written to the owner
    real = emails._message

    def refuses(key, now):
        if StaffEmail.objects.get(pk=key).person == people.technician:
            raise OSError("mailbox full")
        return real(key, now)

    monkeypatch.setattr(emails, "_message", refuses)
    assert round_("2026-11-27T10:00") == 1
    failed = StaffEmail.objects.get(person=people.technician)
    assert (failed.tries, failed.last_error) == (1, "OSError: mailbox full")
    assert failed.send_after == at("2026-11-27T10:02")

    monkeypatch.undo()
    assert emails.deliver(now=at("2026-11-27T10:01")) == 0
    assert emails.deliver(now=at("2026-11-27T10:02")) == 1


def test_a_letter_that_never_goes_out_is_given_up_and_shown(client, people, quiet_job, monkeypatch):
    def refuses(key, now):
        raise OSError("no such host")

    monkeypatch.setattr(emails, "_message", refuses)
    reminder_services.remind(now=at("2026-11-27T10:00"))
    for hour in range(12, 48):
        emails.deliver(now=at(f"2026-11-{27 + hour // 24}T{hour % 24:02}:00"))
    email = StaffEmail.objects.get()
    assert (email.tries, email.given_up_at is not None) == (8, True)
    client.force_login(people.owner)
    assert "1 e-mail could not be sent" in client.get("/reminders/").content.decode()


def test_a_line_break_in_a_unit_cannot_forge_a_header(bench, people):
    with time_machine.travel(at("2026-11-25T09:00"), tick=False):
        bench.receive(make="Eve\nBcc: all@example.org", model="嗡嗡 Пищит")
    assert round_("2026-11-27T10:00") == 1
    [message] = mail.outbox
    assert "\n" not in message.subject
    assert message.message()["Bcc"] is None


def test_the_wish_is_kept_on_the_page(client, people):
    client.force_login(people.technician)
    body = {"way": "digest", "email": "bea@example.org"}
    assert client.post("/reminders/mail/", body).status_code == 302
    assert EmailPreference.objects.get(person=people.technician).way == "digest"
    people.technician.refresh_from_db()
    assert people.technician.email == "bea@example.org"
    wrong = client.post("/reminders/mail/", {"way": "digest", "email": "bea"}, follow=True)
    assert "Not noted: Address: Enter a valid email address." in wrong.content.decode()


def test_a_slow_server_does_not_eat_up_the_leases_of_later_letters(people, bench, monkeypatch):
    with time_machine.travel(at("2026-11-25T09:00"), tick=False):
        for _ in range(3):
            bench.receive()
    now = at("2026-11-27T10:00")
    reminder_services.remind(now=now)
    leases, clock = [], iter(range(0, 10_000, 100))
    monkeypatch.setattr(mail_queue.time, "monotonic", lambda: next(clock))

    def send(mails, key, *_):
        leases.append(mails.get(pk=key).lease_until - now)
        return True

    monkeypatch.setattr(mail_queue, "_send", send)
    assert emails.deliver(now=now) == 3
    assert [lease.total_seconds() for lease in leases] == [220, 320, 420]
