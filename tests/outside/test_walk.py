"""Eight threads at a shop that runs: each time mains comes on, a stranger reads why it might."""

from __future__ import annotations

import os
from collections.abc import Iterator

import psycopg
import pytest

from tests.helpers_plain import examples
from tests.outside.running import Caller, RunningShop
from tests.outside.walking import Walk

pytestmark = [pytest.mark.process, pytest.mark.long, pytest.mark.random]
SERVER = os.environ.get("SERVICES_DATABASE", "postgres://root@127.0.0.1:5432/postgres")
# In the suite 400; in a long run, which draws 100 or 300, one to three thousand.
EVENTS = max(400, examples(1000))


@pytest.fixture
def database() -> Iterator[str]:
    """A PostgreSQL database of this test alone."""
    name, server = f"benchtag_outside_{os.getpid()}", SERVER.rpartition("/")[0] + "/postgres"
    try:
        door = psycopg.connect(server, autocommit=True, connect_timeout=3)
    except psycopg.OperationalError:
        pytest.skip("no PostgreSQL on this machine")
    with door:
        door.execute(f'CREATE DATABASE "{name}"')
        yield f"{SERVER.rpartition('/')[0]}/{name}"
        door.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def _walk(shop: RunningShop) -> None:
    seed = int(os.environ.get("BENCHTAG_SEED", "0"))
    print(f"seed {seed}: BENCHTAG_SEED={seed} draws the same acts again")
    walk = Walk(Caller(shop.port, shop.token()), seed)
    walk.run(EVENTS)
    print(dict(sorted(walk.tally.items())))
    assert walk.faults == []
    assert sum(walk.tally.values()) >= EVENTS
    assert len(walk.audited) >= 3, "mains never came on: nothing was tried"


def test_no_hold_is_unmet_when_mains_comes_on(tmp_path):
    with RunningShop(tmp_path) as shop:
        _walk(shop)


@pytest.mark.slow
def test_no_hold_is_unmet_on_postgresql_either(tmp_path, database):
    with RunningShop(tmp_path, database) as shop:
        _walk(shop)
