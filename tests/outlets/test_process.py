"""The process that holds enables: when the worker starts it, when it ends, and what it withdraws."""

from __future__ import annotations

import threading
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from shop.outlets import holder
from shop.outlets.doubts import Doubt, elapsed
from shop.outlets.keeper import Grounds, Keeper
from shop.outlets.lease import Lease
from shop.outlets.links import Heard, NotInstalled
from shop.outlets.messages import State
from shop.outlets.models import Outlet
from shop.preferences import changing
from shop.site import outlet_process

NOW = timezone.now()


class Process:
    """A child that runs until it is told otherwise."""

    def __init__(self, command, **_):
        self.command, self.code, self.told = command, None, False

    def poll(self):
        return self.code

    def terminate(self):
        self.told = True


@pytest.fixture
def running(monkeypatch):
    children = []
    monkeypatch.setattr(outlet_process, "_running", children)
    monkeypatch.setattr(outlet_process.subprocess, "Popen", Process)
    return children


@pytest.mark.django_db
def test_the_worker_starts_it_once_and_again_when_it_ended(running, outlet):
    assert outlet_process.keep(now=NOW) == 1
    assert "outlets" in running[0].command
    assert outlet_process.keep(now=NOW) == 0
    running[0].code = 1
    assert outlet_process.keep(now=NOW) == 1


@pytest.mark.django_db
def test_a_shop_without_outlets_starts_none(running, set_up):
    assert outlet_process.keep(now=NOW) == 0
    assert running == []


@pytest.mark.django_db
def test_it_is_told_to_end_when_nothing_is_left_to_keep(running, outlet):
    outlet_process.keep(now=NOW)
    changing.change({"outlets": "no"}, by="", at=NOW)
    outlet_process.keep(now=NOW)
    assert running[0].told


@pytest.mark.django_db(transaction=True)
def test_the_command_ends_with_a_sentence_on_a_doubt(monkeypatch):
    def doubt(self):
        raise Doubt("The clock of this machine has jumped by +3600.0 s.")

    monkeypatch.setattr(holder.Holder, "run", doubt)
    with pytest.raises(CommandError, match="Enables are withdrawn: The clock") as ended:
        call_command("outlets", stdout=StringIO())
    assert ended.value.returncode == 1


class Script:
    """A link that hears what a test wrote, and remembers the answers."""

    def __init__(self, *heard):
        self.heard, self.answers, self.closed = list(heard), [], False
        self.done = threading.Event()

    def listen(self, seconds):
        if self.heard:
            return self.heard.pop(0)
        self.done.set()
        self.done.wait(0.01)
        return None

    def answer(self, tick, *, enable):
        self.answers.append((tick, enable))

    def close(self):
        self.closed = True


class Sure:
    def check(self):
        pass


def kept(link):
    """Run a keeper over a script, and return it with the doubts that it told."""
    doubts = []
    opened = (lambda: link) if isinstance(link, Script) else link
    keeper = Keeper(1, opened, sure(), answers=True, doubted=doubts.append)
    thread = threading.Thread(target=keeper.run)
    thread.start()
    if isinstance(link, Script):
        link.done.wait(5)
    keeper.stop()
    thread.join(5)
    return keeper, doubts


def sure():
    return Grounds(Sure(), Sure(), Sure())


@pytest.fixture
def standing(monkeypatch):
    """What the permit says, in place of the database."""
    said = {"against": ""}

    class Said:
        def __init__(self, _):
            pass

        def against(self):
            if isinstance(said["against"], Exception):
                raise said["against"]
            return said["against"]

    monkeypatch.setattr("shop.outlets.keeper.Standing", Said)
    return said


def ticked(tick, ago=0.0):
    return Heard(State(tick=tick, watts=3.0), elapsed() - ago)


@pytest.mark.django_db(transaction=True)
def test_each_tick_is_answered_while_the_permit_stands(standing):
    link = Script(ticked(7), ticked(8))
    kept(link)
    assert link.answers == [(7, True), (8, True)]
    assert link.closed


@pytest.mark.django_db(transaction=True)
def test_without_a_permit_each_tick_is_answered_with_no(standing):
    standing["against"] = "Job 1 has no permit for mains."
    link = Script(ticked(7))
    keeper, _ = kept(link)
    assert link.answers == [(7, False)]
    assert keeper.latest.withheld == "Job 1 has no permit for mains."


@pytest.mark.django_db(transaction=True)
def test_a_tick_that_was_heard_long_ago_is_answered_with_no(standing):
    link = Script(ticked(7, ago=0.8))
    keeper, _ = kept(link)
    assert link.answers == [(7, False)]
    assert "too long" in keeper.latest.withheld


@pytest.mark.django_db(transaction=True)
def test_a_state_without_a_tick_is_a_report_and_no_more(standing):
    link = Script(Heard(State(watts=42.0), elapsed()))
    keeper, _ = kept(link)
    assert link.answers == []
    assert keeper.latest.state.watts == 42.0


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("error", [Doubt("stale"), RuntimeError("anything")])
def test_a_doubt_is_told_and_the_line_closed(standing, error):
    standing["against"] = error
    link = Script(ticked(7), ticked(8))
    _, doubts = kept(link)
    assert len(doubts) == 1
    assert link.answers == []
    assert link.closed


@pytest.mark.django_db(transaction=True)
def test_a_library_that_is_missing_ends_one_keeper_and_is_no_doubt(standing):
    def missing():
        raise NotInstalled("paho-mqtt")

    _, doubts = kept(missing)
    assert doubts == []


@pytest.mark.django_db(transaction=True)
def test_an_outlet_that_only_reports_is_never_answered(standing):
    link = Script(ticked(7))
    keeper = Keeper(1, lambda: link, sure(), answers=False, doubted=lambda _: None)
    thread = threading.Thread(target=keeper.run)
    thread.start()
    link.done.wait(5)
    keeper.stop()
    thread.join(5)
    assert link.answers == []


@pytest.mark.django_db(transaction=True)
def test_a_holder_that_is_told_to_stop_gives_the_lease_back(set_up, monkeypatch):
    stop, held = threading.Event(), []

    def follow(self, grounds):
        held.append(Lease("b").try_take())
        stop.set()

    monkeypatch.setattr(holder.Holder, "_follow", follow)
    holder.Holder(stop).run()
    assert held == [False]
    assert Lease("b").try_take()


@pytest.mark.django_db(transaction=True)
def test_a_doubt_of_one_outlet_ends_all(outlet, monkeypatch):
    second = Outlet.objects.create(name="B2", kind="modbus", host="b2", port=502)
    opened = {}

    def link(one, _token):
        opened[one.pk] = Script()
        if one.pk == second.pk:
            raise RuntimeError("broken")
        return opened[one.pk]

    monkeypatch.setattr(holder, "_link", link)
    with pytest.raises(Doubt, match="broken"):
        holder.Holder(threading.Event()).run()
    assert opened[outlet.pk].closed
    assert Lease("b").try_take()
