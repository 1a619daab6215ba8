"""What stays of `quickstart`: starts the children, greets once the pages answer, ends all of it.

`quickstart` becomes this process when the shop is prepared, so that what Django takes in memory is
given back. Knows nothing of Django. What to run is JSON, read from the descriptor that its one
argument names: it holds a password, which no list of processes shows then.
"""

from __future__ import annotations

import json
import os
import signal
import ssl
import sys
import time
import urllib.request
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import NoReturn

from shop.site.supervisor import Children

START_SECONDS = 60.0


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The children by name, the address that answers when they are ready, and the words for then.

    `authority` is the file that vouches for the certificate of that address; empty with http.
    """

    children: dict[str, list[str]]
    ready: str
    authority: str
    greeting: str


class NotStarted(Exception):
    """The pages did not come up; the message is a sentence."""


def become(plan: Plan, environment: Mapping[str, str]) -> NoReturn:
    """Turn this process into the one that runs the plan."""
    reading, writing = os.pipe()
    with open(writing, "w", encoding="utf-8") as pipe:
        json.dump(asdict(plan), pipe)
    os.set_inheritable(reading, True)
    sys.stdout.flush()
    sys.stderr.flush()
    command = [sys.executable, "-m", "shop.site.running", str(reading)]
    os.execve(sys.executable, command, dict(environment))


def run(plan: Plan) -> None:
    """Run until told to stop; NotStarted when the pages do not come up."""
    stopping: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda n, _: stopping.append(n))
    children = Children()
    try:
        for name, command in plan.children.items():
            children.start(name, command, os.environ)
        _await_ready(children, plan, stopping)
        if not stopping:
            print(plan.greeting, flush=True)  # noqa: T201 - how to sign in
        while not stopping:
            for sentence in children.revive():
                print(sentence, file=sys.stderr, flush=True)  # noqa: T201 - told to whoever looks
            time.sleep(0.2)
    finally:
        children.stop()


def _await_ready(children: Children, plan: Plan, stopping: list[int]) -> None:
    trusting = ssl.create_default_context(cafile=plan.authority) if plan.authority else None
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline and not stopping:
        if ended := children.ended():
            raise NotStarted(f"The {ended} did not start; see its message above.")
        try:
            with urllib.request.urlopen(plan.ready, timeout=2, context=trusting) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.2)
    if not stopping:
        raise NotStarted("The pages did not come up within a minute.")


def main() -> None:
    """Read the plan and run it."""
    with open(int(sys.argv[1]), encoding="utf-8") as pipe:
        plan = Plan(**json.load(pipe))
    try:
        run(plan)
    except NotStarted as error:
        print(f"CommandError: {error}", file=sys.stderr)  # noqa: T201 - as the command line says it
        raise SystemExit(1) from None


if __name__ == "__main__":
    main()
