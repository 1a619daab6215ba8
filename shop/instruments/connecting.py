"""Writing how an instrument is reached, and taking it off again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.contrib.auth.models import User
from django.utils.translation import gettext

from checklists.engine.quoting import quoted
from shop.accounts import roles
from shop.instruments import scpi
from shop.instruments.models import Connection, Instrument
from shop.instruments.services import ABILITY
from shop.lib import text
from shop.lib.refusals import bad


def save(
    instrument: Instrument, resource: str, baud: int, commands: Mapping[str, str], *, by: User
) -> Connection:
    """Write it down; BadInput with a sentence. It counts once the instrument has said who it is.

    baud: bits a second on a serial line. commands: by quantity; an empty one is the standard's.
    """
    roles.require(by, ABILITY)
    if baud not in scpi.BAUDS:
        raise bad(
            "baud", gettext("baud is {baud}; choose from the list.").format(baud=quoted(baud))
        )
    kept = scpi.taken(commands)
    if not kept:
        raise bad("commands", gettext("Nothing is ticked; tick what it reads."))
    found, _ = Connection.objects.update_or_create(
        instrument=instrument,
        defaults={
            "resource": scpi.resource(resource),
            "baud": baud,
            "commands": kept,
            "identity": "",
            "tested_at": None,
        },
    )
    return found


def identify(instrument: Instrument, identity: object, *, by: User, at: datetime) -> None:
    """Keep what an instrument on a serial line of the browser answered to `*IDN?`."""
    roles.require(by, ABILITY)
    kept = text.take("identity", identity, 200, needed=True)
    mine = Connection.objects.filter(instrument=instrument, resource=scpi.AT_BROWSER)
    if not mine.update(identity=kept, tested_at=at):
        raise bad(
            "identity",
            gettext("{instrument} is not on a serial line of a browser; test it.").format(
                instrument=instrument
            ),
        )


def drop(instrument: Instrument, *, by: User) -> None:
    """Take the connection off; the instrument stays, and is read by eye."""
    roles.require(by, ABILITY)
    Connection.objects.filter(instrument=instrument).delete()
