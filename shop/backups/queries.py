"""How old the newest sound backup is, and what is wrong with backups, in a sentence."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.translation import gettext as _

from shop.backups.models import BackupRun
from shop.lib.phrases import span
from shop.lib.prepared import Prepared, PreparedRows

# A night and half a day: a machine that was off at night has made up for it by then.
OLD = timedelta(hours=36)
# A shop that was set up a moment ago has nothing to lose yet.
NEW_SHOP = timedelta(hours=1)
TRY_AGAIN = timedelta(hours=1)
_ENDED = Prepared(lambda: BackupRun.objects.exclude(ended_at=None).order_by("-pk")[:1])
_SOUND = Prepared(lambda: BackupRun.objects.filter(sound=True).order_by("-pk")[:1])
_JOINED = PreparedRows(lambda: User.objects.order_by("date_joined")[:1], columns=["date_joined"])


@dataclass(frozen=True, slots=True)
class State:
    """How backups stand: when the newest sound one began (aware), and its age in words.

    `sentence` says what is wrong; it is empty when nothing is.
    """

    sound_at: datetime | None
    age: str
    sentence: str = ""

    def as_json(self, now: datetime) -> dict[str, object]:
        """Return it for monitors, who need no words about files."""
        at = self.sound_at
        hours = None if at is None else round((now - at).total_seconds() / 3600, 1)
        return {"at": at and at.isoformat(), "age_hours": hours, "fine": not self.sentence}


def state(now: datetime) -> State:
    """Return how backups stand at a moment; no sentence when there is nothing to be said."""
    newest = _newest_sound()
    at = newest.began_at if newest else None
    age = _age(at, now)
    if not settings.NIGHTLY_BACKUP:
        return State(at, age)
    last = _ENDED.first()
    if last is not None and last.fault:
        return State(
            at, age, _("{age} The last one went wrong: {fault}").format(age=age, fault=last.fault)
        )
    return State(at, age, age if now - (at or _set_up(now)) > OLD else "")


def is_due(now: datetime) -> bool:
    """Whether there is no sound backup since the hour of backups last struck, nor a try just now."""
    if not settings.NIGHTLY_BACKUP:
        return False
    begun = BackupRun.objects.last()
    if begun is None:
        return now - _set_up(now) > NEW_SHOP
    if begun.began_at > now - TRY_AGAIN:
        return False
    newest = _newest_sound()
    return newest is None or newest.began_at < hour_of_backups(now)


def hour_of_backups(now: datetime) -> datetime:
    """Return when it last was the hour of backups, in the time zone of the shop."""
    here = timezone.localtime(now)
    struck = here.replace(hour=settings.BACKUP_HOUR, minute=0, second=0, microsecond=0)
    return struck if struck <= here else struck - timedelta(days=1)


def _newest_sound() -> BackupRun | None:
    return _SOUND.first()


def _set_up(now: datetime) -> datetime:
    """Return since when there are people here."""
    return next((joined for (joined,) in _JOINED()), now)


def _age(at: datetime | None, now: datetime) -> str:
    if at is None:
        return _("There is no backup of this shop.")
    return _("The last sound backup is {time} old.").format(time=span(at, now))
