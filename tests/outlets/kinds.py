"""The faults: each is put into a lane whose contactor is enabled and closed, and mended afterwards.

A fault returns the moment from which the outlet has two seconds to open.
"""

from __future__ import annotations

import json
import os
import secrets
import signal
import subprocess
import sys
import time
from pathlib import Path

from django.conf import settings
from django.db import connections
from django.db.models import F
from django.utils import timezone
from paho.mqtt import client as mqtt

from shop.jobs.models import Job
from shop.outlets import claims
from shop.outlets.models import HolderLease
from tests.outlets import network, shop
from tests.outlets.rig import DOUBTED, HolderProcess

OBSERVED_SECONDS = 0.8


def permit_falls(run):
    return run.entitled_ends(lambda: shop.without_mains(run.job))


def second_claim(run):
    def claim():
        claims.claim(run.outlet, run.other_job, by=shop.bench().by, at=timezone.now())

    return run.entitled_ends(claim)


def cover_open_without_live_exposure(run):
    return run.entitled_ends(lambda: cover(run.job, "off"))


def cover(job, to):
    Job.objects.filter(pk=job).update(cover=to, version=F("version") + 1)


def holder_killed(run):
    began = time.monotonic()
    run.lane.holder.send(signal.SIGKILL)
    return began


def holder_frozen_and_the_permit_falls(run):
    """It wakes up with an enable on its tongue."""
    began = time.monotonic()
    run.lane.holder.send(signal.SIGSTOP)
    time.sleep(0.1)
    run.entitled_ends(lambda: shop.without_mains(run.job))
    run.lane.contactor.wait_for("dropped", 3, after=began)
    run.lane.holder.send(signal.SIGCONT)
    run.observe(OBSERVED_SECONDS)
    return began


def command_killed(run):
    """`manage.py outlets` itself, in place of the holder that was forked."""
    run.lane.holder.end()
    began = time.monotonic()
    run.lane.contactor.wait_for("dropped", 3, after=began)
    data = run.database.parent
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "shop.site.settings",
        "BENCHTAG_DATA": str(data),
        "BENCHTAG_SECRET_KEY": settings.SECRET_KEY,
    }
    command = [sys.executable, "manage.py", "outlets"]
    process = subprocess.Popen(command, env=environment, cwd=settings.ROOT)
    try:
        back = run.lane.contactor.wait_for("enabled", 60, after=began)
        run.expect(back and not run.lane.contactor.closed, "the command holds no enable")
        run.lane.contactor.order("press")
        run.lane.contactor.wait_for("pressed", 3, after=began)
    finally:
        began = time.monotonic()
        process.send_signal(signal.SIGKILL)
        process.wait()
    return began


def broker_killed(run):
    began = time.monotonic()
    run.lane.broker.kill()
    return began


def broker_killed_and_back_at_once(run):
    began = broker_killed(run)
    run.lane.broker.start()
    return began


def cut_to_the_shop(run):
    began = time.monotonic()
    run.lane.network.cut("shop")
    return began


def cut_to_the_outlet(run):
    began = time.monotonic()
    run.lane.network.cut("outlet")
    return began


def cut_and_the_permit_falls_meanwhile(run):
    """What was under way comes when the cable is plugged in again."""
    whose = secrets.choice(("shop", "outlet") if run.lane.broker else ("shop",))
    began = time.monotonic()
    run.lane.network.cut(whose)
    time.sleep(0.3)
    run.entitled_ends(lambda: shop.without_mains(run.job))
    run.lane.contactor.wait_for("dropped", 3, after=began)
    run.lane.network.mend(whose)
    run.observe(2 * OBSERVED_SECONDS)
    return began


def clock_jumps(run):
    began = time.monotonic()
    run.lane.holder.jump.value += secrets.choice((-3600.0, -2.0, 2.0, 3600.0))
    run.must_doubt()
    return began


def another_worker_took_the_lease(run):
    began = time.monotonic()
    HolderLease.objects.update(token="another", beat=F("beat") + 1)
    run.must_doubt()
    return began


def two_workers(run):
    """The second one waits; when the first freezes it takes over, and the first ends when it wakes."""
    first = run.lane.holder
    second = HolderProcess()
    run.observe(0.3)
    began = time.monotonic()
    first.send(signal.SIGSTOP)
    run.lane.contactor.wait_for("dropped", 3, after=began)
    run.lane.contactor.wait_for("enabled", 10, after=began)
    first.send(signal.SIGCONT)
    run.lane.holder = second
    run.expect(first.wait() == DOUBTED, "the first of two workers goes on")
    return began


def worker_that_knows_no_lease(run):
    """Somebody with the rights of the shop answers too."""
    shop_client = Client(run.lane, "shop")
    began = time.monotonic()
    shop_client.publish(_enable(shop_client.tick()))
    shop_client.end()
    return began


def database_file_gone(run):
    connections.close_all()
    began = time.monotonic()
    moved = [one for one in _files(run) if one.exists()]
    for one in moved:
        one.rename(f"{one}.away")
    run.must_doubt()
    for one in moved:
        Path(f"{one}.away").replace(one)
    return began


def database_file_replaced(run):
    """As a restore does it: whoever has the old file open reads on in it."""
    connections.close_all()
    copied = Path(f"{run.database}.copy")
    shop.copy(run.database, copied)
    began = time.monotonic()
    for one in _files(run)[1:]:
        one.unlink(missing_ok=True)
    os.replace(copied, run.database)
    run.must_doubt()
    return began


def _files(run):
    return [Path(f"{run.database}{end}") for end in ("", "-wal", "-shm")]


def stale_retained_message(run):
    """Somebody once published an enable that the broker keeps; the outlet comes back to it."""
    admin = Client(run.lane, "admin")
    old = admin.tick()
    began = permit_falls(run)
    run.lane.contactor.wait_for("dropped", 3, after=began)
    run.observe(1.6)
    admin.publish(_enable(old), retain=True)
    run.lane.contactor.order("reconnect")
    run.observe(2 * OBSERVED_SECONDS)
    admin.publish("", retain=True)
    admin.end()
    return began


def forged_publisher_without_rights(run):
    """It reads the ticks, and publishes enables that are right in everything but its name."""
    forger = Client(run.lane, "meter")
    began = permit_falls(run)
    run.lane.contactor.wait_for("dropped", 3, after=began)
    for _ in range(3):
        forger.publish(_enable(forger.tick()))
        run.observe(OBSERVED_SECONDS / 3)
    forger.end()
    run.expect(not Client(run.lane, None).connected, "the broker lets strangers in")
    return began


def _enable(tick):
    return json.dumps({"enable": True, "tick": tick, "holder": "somebody else"})


class Client:
    """A bare client at the broker, driven by hand."""

    def __init__(self, lane, name):
        self.connected, self._tick = False, None
        self.client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2, protocol=mqtt.MQTTv5)
        if name:
            self.client.username_pw_set(name, network.PEOPLE[name])
        self.client.tls_set(ca_certs=str(lane.broker.authority))
        self.client.on_connect = self._on_connect
        self.client.on_message = self._on_message
        self.client.connect(*lane.ends["shop"])
        self._loop(lambda: self.connected, 2)

    def _on_connect(self, client, _data, _flags, reason, _more):
        self.connected = not reason.is_failure
        client.subscribe("bench/b1/state")

    def _on_message(self, _client, _data, message):
        self._tick = json.loads(message.payload)["tick"]

    def _loop(self, done, seconds):
        until = time.monotonic() + seconds
        while not done() and time.monotonic() < until:
            self.client.loop(0.05)

    def tick(self):
        """Return the tick that comes next."""
        self._tick = None
        self._loop(lambda: self._tick is not None, 3)
        return self._tick

    def publish(self, payload, *, retain=False):
        self.client.publish("bench/b1/enable", payload, qos=1, retain=retain)
        self._loop(lambda: False, 0.1)

    def end(self):
        self.client.disconnect()
        self.client.loop(0.05)


ANYWHERE = (
    permit_falls,
    second_claim,
    cover_open_without_live_exposure,
    holder_killed,
    holder_frozen_and_the_permit_falls,
    cut_to_the_shop,
    cut_and_the_permit_falls_meanwhile,
    clock_jumps,
    another_worker_took_the_lease,
    two_workers,
    database_file_gone,
    database_file_replaced,
)
WITH_A_BROKER = (
    broker_killed,
    broker_killed_and_back_at_once,
    cut_to_the_outlet,
    worker_that_knows_no_lease,
    stale_retained_message,
    forged_publisher_without_rights,
)
# It loads a whole Django each time: asked for by its name.
BY_NAME = {"command_killed": command_killed}
# The permit stands, and the enable may be back before leave ends.
MAY_STAY = (broker_killed_and_back_at_once,)
OF_KIND = {"mqtt": ANYWHERE + WITH_A_BROKER, "modbus": ANYWHERE}
