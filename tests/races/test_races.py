"""Real threads on a SQLite file and on PostgreSQL: one winner, no lost row, chain intact."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from django.db import connections
from django.utils import timezone

from checklists import house
from checklists.engine.words import LIMITED
from checklists.models import HouseEdition
from shop.jobs import queries
from shop.jobs.events.note_added import NoteAdded
from shop.jobs.models import Job, LedgerRow, Permit
from shop.lib.refusals import Refused
from shop.pages.rules import publishing
from shop.reminders import services as reminder_services
from shop.reminders.models import Reminder
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 12
OHMS = [("lowest_ohms", 400), ("output_ohms", 400)]


def together(*acts: Callable[[], object]) -> list[object]:
    """Run the acts at one moment, each on a connection of its own; return results or errors."""
    start = threading.Barrier(len(acts))
    results: list[object] = [None] * len(acts)

    def run(place: int, act: Callable[[], object]) -> None:
        start.wait()
        try:
            results[place] = act()
        except Exception as error:
            results[place] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return results


def assert_intact(number):
    rows = list(LedgerRow.objects.filter(job=number).order_by("sequence"))
    assert list(queries.ledger_faults()) == []
    return [row.event_type for row in rows]


def unexpected(results):
    return [r for r in results if isinstance(r, Exception) and not isinstance(r, Refused)]


def test_many_notes_at_once_lose_no_row(bench):
    number = bench.receive()
    acts = [lambda n=n: bench.record(number, "note_added", text=str(n)) for n in range(8)]

    results = together(*acts)

    assert unexpected(results) == []
    assert assert_intact(number).count("note_added") == 8


def test_two_signers_both_get_a_row_and_the_chain_holds(bench, other):
    for _ in range(ROUNDS):
        number = bench.receive(facts=amplifier())
        results = together(
            lambda n=number: bench.sign(n, "fuse-check", readings=[]),
            lambda n=number: other.sign(n, "fuse-check", readings=[], result="fail"),
        )

        assert unexpected(results) == []
        assert assert_intact(number).count("step_signed") == 2
        last = LedgerRow.objects.filter(job=number, event_type="step_signed").last()
        expected = {"pass": "signed", "fail": "failed"}[last.data["result"]]
        assert bench.state(number, "fuse-check") == expected


def test_sign_against_work_that_ends_it(bench, other):
    for _ in range(ROUNDS):
        number = bench.receive(facts=amplifier())
        bench.open_up(number)
        seen = bench.job(number).head
        results = together(
            lambda n=number, s=seen: bench.sign(n, "shorts-before-power", readings=OHMS, seen=s),
            lambda n=number: other.record(n, "work_done", work="joints-reflowed"),
        )

        assert unexpected(results) == []
        assert "work_done" in assert_intact(number)
        signed_first = bench.state(number, "shorts-before-power") != "due"
        # Signed before the work: ended by it.  Signed after: the signer's page was stale.
        state = bench.state(number, "shorts-before-power")
        assert (signed_first, state) in [(True, "ended"), (False, "due")]
        assert isinstance(results[0], Refused) is not signed_first


def test_power_against_a_sign_off_that_ends(bench, other):
    for _ in range(ROUNDS):
        number = bench.receive(facts=amplifier())
        bench.pass_gate(number, "first-power")
        results = together(
            lambda n=number: bench.power(n, "limited"),
            lambda n=number: other.record(n, "finding_recorded", finding="fuse-wrong"),
        )

        assert unexpected(results) == []
        assert_intact(number)
        assert bench.job(number).power == "isolated"
        assert bench.state(number, "fuse-check") == "ended"
        assert not Permit.objects.filter(job=number, ended_at=None).exists()


def test_two_movers_of_power_leave_one_permit(bench, other):
    for _ in range(ROUNDS):
        number = bench.receive(facts=amplifier())
        bench.pass_gate(number, "first-power")
        results = together(
            lambda n=number: bench.power(n, "limited"), lambda n=number: other.power(n, "limited")
        )

        assert unexpected(results) == []
        assert assert_intact(number).count("power_applied") == 1
        assert Permit.objects.filter(job=number).count() == 1


def test_power_against_mains_off_never_leaves_power_without_a_permit(bench, other):
    for _ in range(ROUNDS):
        number = bench.receive(facts=amplifier())
        bench.limited(number)
        bench.pass_gate(number, "full-power")
        results = together(
            lambda n=number: bench.power(n, "full"), lambda n=number: other.power(n, "isolated")
        )

        assert not isinstance(results[1], Exception), "mains off was refused"
        assert unexpected(results) == []
        assert_intact(number)
        live = [p.power for p in Permit.objects.filter(job=number, ended_at=None)]
        power = bench.job(number).power
        assert live == ([] if power == "isolated" else [power])


def test_two_movers_of_the_stage_have_one_winner(bench, other):
    for _ in range(ROUNDS):
        number = bench.receive(facts=amplifier())
        bench.pass_gate(number, "hand-back")
        results = together(
            lambda n=number: bench.stage(n, "withdrawn"),
            lambda n=number: other.stage(n, "reproducing"),
        )

        assert unexpected(results) == []
        kinds = assert_intact(number)
        stage = bench.job(number).stage
        # Either withdrawn alone (the other came too late), or first reproducing, then withdrawn.
        assert stage == "withdrawn"
        assert kinds.count("stage_changed") in (1, 2)
        assert isinstance(results[1], Refused) is (kinds.count("stage_changed") == 1)


def test_two_readers_of_a_job_cannot_both_write_it(bench):
    number = bench.receive()
    one, two = bench.job(number), bench.job(number)
    one.complaint, two.complaint = "first", "second"

    results = together(
        lambda: one.save(update_fields=["complaint", "version"]),
        lambda: two.save(update_fields=["complaint", "version"]),
    )

    errors = [r for r in results if isinstance(r, Exception)]
    assert [type(error).__name__ for error in errors] == ["StaleJob"]


def test_two_workers_make_one_reminder(bench):
    numbers = [bench.receive() for _ in range(5)]
    later = timezone.now() + timezone.timedelta(days=30)

    results = together(*[lambda: reminder_services.remind(now=later) for _ in range(4)])

    assert unexpected(results) == []
    assert sum(results) == 5
    assert sorted(Reminder.objects.values_list("job", flat=True)) == numbers


def test_one_reference_is_imported_once(bench):
    results = together(*[lambda: bench.receive(reference="X-1") for _ in range(4)])

    assert sum(isinstance(r, int) for r in results) == 1
    assert Job.objects.filter(reference="X-1").count() == 1
    errors = [r for r in results if isinstance(r, Exception)]
    assert {type(error).__name__ for error in errors} == {"BadInput"}


def test_a_move_that_fails_half_way_leaves_nothing(bench, monkeypatch):
    number = bench.receive(facts=amplifier())
    bench.pass_gate(number, "first-power")
    before = bench.kinds(number)

    def broken(*args, **kwargs):
        raise RuntimeError("the power went while writing")

    monkeypatch.setattr(Job, "save", broken)
    with pytest.raises(RuntimeError):
        bench.power(number, "limited")
    monkeypatch.undo()

    assert bench.kinds(number) == before
    assert bench.job(number).power == "isolated"
    assert not Permit.objects.filter(job=number).exists()
    assert_intact(number)


def test_the_commands_take_a_real_lock(bench):
    number = bench.receive()
    entered, leave = threading.Event(), threading.Event()
    from shop.jobs.commands.transaction import job_transaction  # noqa: PLC0415

    def hold():
        with job_transaction(number, by=bench.by, at=timezone.now()) as here:
            entered.set()
            leave.wait(10)
            here.write(NoteAdded(text="first"))

    def wait_and_write():
        entered.wait(10)
        threading.Timer(0.3, leave.set).start()
        return bench.record(number, "note_added", text="second").sequence

    results = together(hold, wait_and_write)
    assert unexpected(results) == []
    texts = [r.data["text"] for r in LedgerRow.objects.filter(job=number, event_type="note_added")]
    assert texts == ["first", "second"]


def test_two_owners_who_write_at_once_keep_each_others_rules(bench):
    def rule(name):
        table = {"id": name, "when": "true", "require": ["touch-current"]}
        return table | {"because": "We say so.", "source": "common practice"}

    def write(name):
        return house.revise(
            lambda content: house.with_tables(content, rule=rule(name)), by="x", at=timezone.now()
        )

    write("first")
    results = together(*[lambda n=n: write(f"rule-{n}") for n in range(5)])

    assert unexpected(results) == []
    names = {table["id"] for table in house.draft_or_in_force()["rule"]}
    assert names == {"first", *(f"rule-{n}" for n in range(5))}
    assert HouseEdition.objects.count() == 1


def test_the_first_draft_of_all_is_started_once(bench):
    def write(name):
        table = {"id": name, "when": "true", "require": ["touch-current"]}
        table |= {"because": "We say so.", "source": "common practice"}
        return house.revise(
            lambda content: house.with_tables(content, rule=table), by="x", at=timezone.now()
        )

    results = together(*[lambda n=n: write(f"rule-{n}") for n in range(4)])

    assert HouseEdition.objects.count() == 1
    kept = {table["id"] for table in house.draft_or_in_force()["rule"]}
    errors = [r for r in results if isinstance(r, Exception)]
    assert {type(error).__name__ for error in errors} <= {"DraftTaken"}
    assert len(kept) == 4 - len(errors)


def held_before_power(name):
    """A rule of the house with a hold of its own at the gates that mains comes through."""
    step = {"key": name, "title": "Look", "instruction": "Look.", "phase": "first-power"}
    step |= {"gate": "first-power", "gate_once_opened": "limited-power", "hold": True}
    rule = {"id": name, "when": "true", "require": [name], "because": "We say so."}
    return {"rule": rule | {"source": "x"}, "step": step | {"source": "x"}}


def test_mains_that_comes_on_while_rules_are_published_stands_under_them(bench):
    for round_ in range(ROUNDS):
        number = bench.receive(make=f"Maker {round_}", facts=amplifier())
        bench.clear(number, LIMITED)
        tables, now = held_before_power(f"look-{round_}"), timezone.now()
        house.revise(lambda content, new=tables: house.with_tables(content, **new), by="x", at=now)
        results = together(
            lambda n=number: bench.power(n, "limited"),
            lambda: publishing.publish(by="x", at=timezone.now()),
        )

        assert unexpected(results) == []
        assert house.draft() is None
        assert_intact(number)
        assert bench.job(number).power == "isolated"
        assert not Permit.objects.filter(job=number, ended_at=None).exists()
