"""What an instrument is asked for each quantity, by SCPI-99, volume 2, the MEASure subsystem."""

from __future__ import annotations

import re
from collections.abc import Mapping

from django.utils.translation import gettext as _

from checklists.engine.quoting import quoted
from checklists.engine.words import METERED
from shop.lib.refusals import bad

IDENTITY = "*IDN?"
STANDARD = {
    "dc-voltage": "MEAS:VOLT:DC?",
    "ac-voltage": "MEAS:VOLT:AC?",
    "dc-current": "MEAS:CURR:DC?",
    "ac-current": "MEAS:CURR:AC?",
    "resistance": "MEAS:RES?",
    "temperature": "MEAS:TEMP?",
    "frequency": "MEAS:FREQ?",
    "power": "MEAS:POW?",
}
LONGEST = 80
# In place of an address: a serial line at the browser, which the browser asks (Web Serial).
AT_BROWSER = "BROWSER"
BAUDS = (1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200)
EXAMPLES = (
    "TCPIP::192.168.1.20::5025::SOCKET, TCPIP::192.168.1.20::INSTR or ASRL/dev/ttyUSB0::INSTR"
)
_COMMAND = re.compile(r"[\x20-\x7e]+\?[\x20-\x7e]*")
_HOST = r"[A-Za-z0-9](?:[A-Za-z0-9.-]{0,252})"
_RESOURCE = re.compile(
    rf"TCPIP\d?::{_HOST}::\d{{1,5}}::SOCKET"
    rf"|TCPIP\d?::{_HOST}(?:::[A-Za-z0-9]{{1,12}})?::INSTR"
    r"|USB\d?(?:::[A-Za-z0-9_.-]{1,40}){3,4}::INSTR"
    r"|ASRL(?:\d{1,3}|COM\d{1,3}|/dev/[A-Za-z0-9][A-Za-z0-9/._-]{0,80})::INSTR"
)


def resource(typed: str) -> str:
    """Return an address of VISA; BadInput for what is none that a meter may have."""
    kept = typed.strip()
    if kept.upper() == AT_BROWSER:
        return AT_BROWSER
    if not _RESOURCE.fullmatch(kept) or "/../" in kept:
        raise bad(
            "resource",
            _("resource is {kept}; write it like {examples}.").format(
                kept=quoted(kept), examples=EXAMPLES
            ),
        )
    return kept


def is_serial(address: str) -> bool:
    """Whether it is on a serial line, so that a speed belongs to it."""
    return address.startswith("ASRL")


def taken(given: Mapping[str, str]) -> dict[str, str]:
    """Return what it is asked, by quantity; an empty text stands for the standard's command."""
    kept = {}
    for measures, typed in given.items():
        if measures not in METERED:
            raise bad(
                "commands",
                _("commands has {measures}; choose from the list.").format(
                    measures=quoted(measures)
                ),
            )
        command = typed.strip()
        if command and (len(command) > LONGEST or not _COMMAND.fullmatch(command)):
            raise bad(
                measures,
                _(
                    "The command for {measures} is {command}; it must be a query of SCPI in one "
                    "line, like {standard}."
                ).format(measures=measures, command=quoted(command), standard=STANDARD[measures]),
            )
        kept[measures] = "" if command == STANDARD[measures] else command
    return kept
