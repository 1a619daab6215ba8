"""What the shop reads about a date: when a unit will be ready, from what that is told, or why it is not."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from shop.jobs.names import stage_name
from shop.lib import languages


def ready(first: date, last: date, likely: date) -> str:
    """Return 'ready between 3 and 8 March, most likely 5 March'."""
    day = languages.day_of_year(likely)
    if first == last:
        return _("ready about {day}").format(day=day)
    begins, stops = ends(first, last)
    words = _("ready between {first} and {last}, most likely {likely}")
    return words.format(first=begins, last=stops, likely=day)


def left() -> str:
    """Return the words for a job that is closed."""
    return _("It has left.")


def too_long(stage: str, longer: int) -> str:
    """Return why no date is told: hardly any job was in the stage for as long; `longer` were."""
    if not longer:
        words = _("No earlier job was {stage} for so long, so no date can be given.")
        return words.format(stage=stage_name(stage))
    return ngettext(
        "It has been {stage} for longer than all but {longer} earlier job, so no date can be given.",
        "It has been {stage} for longer than all but {longer} earlier jobs, so no date can be given.",
        longer,
    ).format(stage=stage_name(stage), longer=longer)


def too_few(known: int, fewest: int) -> str:
    """Return why no date is told: too few jobs are on record."""
    words = _(
        "Too few closed jobs to tell a date: {known} on record in this stage, {fewest} are needed."
    )
    return words.format(known=known, fewest=fewest)


def of_kind(jobs: int) -> str:
    """Return what a date is told from: 'From 12 earlier jobs of its kind in this stage.'."""
    words = ngettext(
        "{jobs} earlier job of its kind in this stage",
        "{jobs} earlier jobs of its kind in this stage",
        jobs,
    )
    return words.format(jobs=jobs)


def of_all_kinds(jobs: int) -> str:
    """Return what a date is told from: 'From 12 earlier jobs in this stage.'."""
    words = ngettext("{jobs} earlier job in this stage", "{jobs} earlier jobs in this stage", jobs)
    return words.format(jobs=jobs)


def with_delivery(basis: str) -> str:
    """Return what a date is told from, where parts are on order too."""
    return _("its parts' delivery and {basis}").format(basis=basis)


def ends(first: date, last: date) -> tuple[str, str]:
    """Return two days as one says them together; English says a month that they share once."""
    same_month = (first.year, first.month) == (last.year, last.month)
    if same_month and languages.is_english():
        return str(first.day), languages.day_of_year(last)
    return languages.day_of_year(first), languages.day_of_year(last)
