"""Asks one instrument: run as a process of its own, with little time.

Takes one line of JSON from standard input and writes a line of JSON for each answer. Whatever a
driver or a cable does, the process ends by itself after its seconds: nothing waits for it. Knows
nothing of Django. Every session is closed when it ends, so that nothing stays locked.
"""

from __future__ import annotations

import json
import signal
import sys
import time
from collections.abc import Callable
from typing import Any

Asked = dict[str, Any]
MISSING = "missing"


def say(**what: Any) -> None:
    """Write a line at once."""
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


def _manager(asked: Asked) -> Any:
    """Return the library, or raise whatever it raises where it is not installed."""
    import pyvisa  # noqa: PLC0415 - an extra; the rest of the shop works without it

    return pyvisa.ResourceManager(asked["library"])


def _opened(manager: Any, asked: Asked) -> Any:
    address = asked["resource"]
    session = manager.open_resource(address, open_timeout=int(asked["wait"] * 1000))
    session.timeout = int(asked["wait"] * 1000)
    session.read_termination = session.write_termination = "\n"
    if address.startswith("ASRL"):
        session.baud_rate = asked["baud"]
    return session


def _read(session: Any, asked: Asked) -> None:
    """Ask again and again; whoever reads the lines ends it."""
    began = time.monotonic()
    while True:
        answer = session.query(asked["command"])
        say(answer=answer, at=time.monotonic() - began)
        time.sleep(asked["pause"])


def _test(session: Any, asked: Asked) -> None:
    """Ask each command once; one that it does not answer leaves the others be."""
    for measures, command in asked["commands"].items():
        try:
            say(measures=measures, answer=session.query(command))
        except Exception as error:
            say(measures=measures, problem=_said(error))
            session.clear()


def _find(manager: Any, asked: Asked) -> None:
    """List what is there; a serial line is not written to before somebody chose it."""
    for address in manager.list_resources("?*"):
        if address.startswith("ASRL"):
            say(resource=address, identity="")
            continue
        try:
            session = _opened(manager, asked | {"resource": address})
            say(resource=address, identity=session.query(asked["identity"]).strip())
            session.close()
        except Exception as error:
            say(resource=address, identity="", problem=_said(error))


def _said(error: Exception) -> str:
    """Return an error in a word where it is a usual one."""
    name = str(getattr(error, "abbreviation", ""))
    words = {"VI_ERROR_TMO": "timeout", "VI_ERROR_CONN_LOST": "lost", "VI_ERROR_IO": "lost"}
    words["VI_ERROR_RSRC_NFOUND"] = words["VI_ERROR_NLISTENERS"] = "away"
    words["VI_ERROR_RSRC_BUSY"] = words["VI_ERROR_RSRC_LOCKED"] = "busy"
    if name in words:
        return words[name]
    return "lost" if isinstance(error, OSError | EOFError) else f"{type(error).__name__}: {error}"


def _ask(asked: Asked) -> None:
    try:
        manager = _manager(asked)
    except Exception:
        manager = None
    if manager is None:
        say(problem=MISSING)
        return
    if asked["do"] == "find":
        _find(manager, asked)
        return
    does: Callable[[Any, Asked], None] = {"read": _read, "test": _test}[asked["do"]]
    session = None
    try:
        session = _opened(manager, asked)
        identity = session.query(asked["identity"]).strip()
        say(identity=identity)
        if asked.get("expects", identity) == identity:
            does(session, asked)
    finally:
        if session is not None:
            session.close()


def main() -> None:
    """Do what the line asks for, and end in time."""
    asked = json.loads(sys.stdin.readline())
    # The default of this signal ends the process, also in the midst of a driver.
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_REAL, asked["seconds"])
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    try:
        _ask(asked)
    except Exception as error:
        say(problem=_said(error))


if __name__ == "__main__":
    main()
