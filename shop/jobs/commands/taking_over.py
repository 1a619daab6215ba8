"""Taking over what an earlier job knew of the unit."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.jobs import earlier_facts
from shop.jobs.commands.transaction import job_transaction
from shop.jobs.events.fact_recorded import FactRecorded
from shop.jobs.models import LedgerRow
from shop.lib.refusals import BadInput, refuse
from shop.lib.text import quoted


def take_over_facts(
    number: int,
    *,
    by: User,
    at: datetime,
    as_built: bool = True,
    looked_at: Collection[str] = (),
) -> list[LedgerRow]:
    """Record what the last job of the same unit knew; each row names that job as its source.

    `as_built` takes what no hand can have changed; `looked_at` names what can have changed and
    was looked at now: it is still so. What this job knows by itself stays. Returns the rows.
    Refused when the unit was not here before or nothing is left; BadInput names what was not known.
    """
    roles.require(by, FactRecorded.ability)
    with job_transaction(number, by=by, at=at) as tx:
        earlier = earlier_facts.earlier_job(tx.job)
        if earlier is None:
            raise refuse("first-visit", _("This unit was not here before: nothing is known of it."))
        _require_known(looked_at, {fact.name for fact in earlier_facts.known_then(earlier)})
        taken = [
            FactRecorded(name=fact.name, value=fact.value, source=_source(fact, earlier.number))
            for fact in earlier_facts.offered(tx.record, earlier)
            if (as_built and fact.as_built) or fact.name in looked_at
        ]
        if not taken:
            raise refuse(
                "nothing-left",
                _("Nothing more of job {number} was taken over.").format(number=earlier.number),
            )
        return [tx.write(event) for event in taken]


def _source(fact: earlier_facts.EarlierFact, number: int) -> str:
    return f"job {number}" if fact.as_built else f"job {number}, looked at again"


def _require_known(names: Collection[str], known: set[str]) -> None:
    sentence = _("{fact} was not known of this unit; leave it out.")
    problems = [(name, sentence.format(fact=quoted(name))) for name in names if name not in known]
    if problems:
        raise BadInput(problems)
