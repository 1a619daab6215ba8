"""Signing steps, and waiving the few that may be waived."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.utils.timezone import localdate
from django.utils.translation import gettext

from checklists.engine import judging, validity
from checklists.engine.checklist import ListedStep
from checklists.engine.quoting import quoted
from shop.accounts import roles
from shop.instruments import queries as instruments_of
from shop.instruments import services as instrument_services
from shop.jobs import guards, measured_with, sharing, typed_readings
from shop.jobs.commands import answering
from shop.jobs.commands.transaction import JobTransaction, check, job_transaction
from shop.jobs.events.fields import LONGEST_NOTE
from shop.jobs.events.step_signed import StepSigned
from shop.jobs.events.step_waived import StepWaived
from shop.jobs.recorded_readings import recorded_readings
from shop.lib import text
from shop.lib.refusals import BadInput, Forbidden, UserFacingError, bad, refuse
from shop.preferences import current as preferences


class NotListed(UserFacingError, LookupError):
    """The step is not on the job's checklist; the message is a sentence."""


def sign(
    number: int,
    key: str,
    *,
    result: str,
    by: User,
    at: datetime,
    readings: Sequence[tuple[str, object]] = (),
    answers: answering.Answers = (),
    note: str = "",
    content_hash: str = "",
    seen: int | None = None,
    instruments: Mapping[str, object] | None = None,
) -> ListedStep:
    """Sign a step with pass, fail or not-applicable, and return it as it stands then.

    Readings are (quantity, value in the unit the step shows), or (quantity, text as typed, several
    values parted by blanks or semicolons). One outside its limits turns a pass into a fail,
    whoever signs; a missing required one is BadInput. Answers are (fact, value):
    a pass tells each that the step asks for, or it is BadInput. They are recorded before the
    signature; when they take the step off the list, nothing is signed. `content_hash` and
    `seen` (newest ledger row on the signer's page) guard against a stale page: the step was
    changed, or an event that ends it came, after the signer looked. `instruments` names the
    instrument, by what it measures (a word of MEASURED), or none: what it may be off by counts
    against each reading, and a hold step does not pass on one that it cannot tell from a fail.
    NotListed when the step is not on the list; Refused when it cannot be signed so now.
    """
    roles.require(by, StepSigned.ability)
    _require_result(result)
    kept_note = text.take("note", note, LONGEST_NOTE, needed=result == judging.NOT_APPLICABLE)
    with job_transaction(number, by=by, at=at) as tx:
        step = _listed(tx, key)
        _require_role(by, step)
        _refuse_if_stale(tx, step, content_hash, seen)
        check(guards.against_signing(tx.job, tx.checklist, step, result))
        told = answering.taken(step, answers, needed=result == judging.PASS)
        answering.write(tx, told)
        if key not in tx.checklist.by_key:
            return answering.not_asked(step)
        step = tx.checklist.by_key[key]
        given = typed_readings.as_numbers(step, readings)
        judged = _judged(step, result, [*given, *_on_record(tx, step, given)])
        stands = judging.result(result, judged)
        named = instruments_of.named(_of_this(step, instruments or {}))
        readings_with = measured_with.counted(step, judged, named)
        if result == judging.PASS:
            check(guards.against_record(tx.record, step, judged))
        if stands == judging.PASS:
            check(measured_with.against_doubt(step, readings_with))
        used = {kind: one.instrument if one else None for kind, one in named.items()}
        instrument_services.remember(by, used)
        tx.write(
            StepSigned(
                **_bound_to(tx, step),
                result=stands,
                asked=result,
                readings=[measured_with.row(one, localdate(at)) for one in readings_with],
                note=kept_note,
            )
        )
        return _as_it_stands(tx, step)


def _as_it_stands(tx: JobTransaction, step: ListedStep) -> ListedStep:
    """Return a step after its sign-off; one that nothing but its fail kept on the list is off it then."""
    listed = tx.checklist.by_key.get(step.key)
    if listed is not None:
        return listed
    two_people = preferences.value("second_person")
    judged = validity.of(step.step, step.content_hash, tx.record.history, two_people=two_people)
    return replace(step, validity=judged)


def sign_together(
    number: int,
    steps: Sequence[tuple[str, Mapping[str, Any]]],
    *,
    by: User,
    at: datetime,
) -> list[ListedStep]:
    """Pass the steps of one card, all or none; return those that were signed, as they stand then.

    Each step comes with what `sign` takes for it: readings, answers, instruments, note,
    content_hash, seen. Refused when the card of the first step does not offer another of them.
    The first that fails by a reading is the last that is signed; a step that an answer on the
    card takes off the list is left out.
    """
    roles.require(by, StepSigned.ability)
    first, *others = [key for key, _ in steps]
    signed: list[ListedStep] = []
    with job_transaction(number, by=by, at=at) as tx:
        check(sharing.against_sharing(tx.job, tx.record, tx.checklist, first, others))
        for key, given in steps:
            if signed and signed[-1].state == "failed":
                break
            try:
                signed.append(sign(number, key, result=judging.PASS, by=by, at=at, **given))
            except NotListed:
                if not signed:
                    raise
            except BadInput as error:
                raise _named_by_step(tx, key, error) from None
    return signed


def _named_by_step(tx: JobTransaction, key: str, error: BadInput) -> BadInput:
    title = tx.checklist.by_key[key].step.title
    nothing = gettext("Nothing on this card was signed.")
    named = [(field, f"{title}: {sentence}") for field, sentence in error.problems]
    return BadInput([*named, ("step", nothing)])


def waive(
    number: int, key: str, *, reason: str, by: User, at: datetime, look: int | None = None
) -> ListedStep:
    """Waive a step with a reason, where the pack lets this role do so, and return it.

    A step that failed is waived on a new look alone: `look` is the row of a reading, a fact or
    another try at the step from after the fail.
    """
    roles.require(by, StepWaived.ability)
    kept = text.take("reason", reason, LONGEST_NOTE, needed=True)
    with job_transaction(number, by=by, at=at) as tx:
        step = _listed(tx, key)
        role = roles.role_of(by) or ""
        check(guards.against_waiving(tx.job, tx.record, step, role, look or 0))
        rests_on = (look or 0) if key in tx.record.history.unproved else 0
        tx.write(
            StepWaived(**_bound_to(tx, step), reason=kept, instead=step.step.instead, look=rests_on)
        )
        return _as_it_stands(tx, step)


def _bound_to(tx: JobTransaction, step: ListedStep) -> dict[str, str]:
    """Return what every sign-off is bound to: the step, its content hash, the edition of the pack."""
    return {
        "step": step.key,
        "title": step.step.title,
        "substance": step.content_hash,
        "pack": tx.checklist.pack.digest,
    }


def _of_this(step: ListedStep, instruments: Mapping[str, object]) -> Mapping[str, object]:
    """Return the instruments; BadInput for one that is named for what the step does not measure."""
    measured = {reading.measures for reading in step.readings if reading.measures}
    for kind in instruments:
        if kind not in measured:
            wanted = ", ".join(sorted(measured)) or "nothing"
            raise bad(
                "instruments",
                gettext("instruments has {kind}; this step measures {wanted}.").format(
                    kind=quoted(kind), wanted=wanted
                ),
            )
    return instruments


def _listed(tx: JobTransaction, key: str) -> ListedStep:
    step = tx.checklist.by_key.get(key)
    if step is None:
        raise NotListed(
            gettext("{key} is not on the checklist of job {number}.").format(
                key=quoted(key), number=tx.job.number
            )
        )
    return step


def _require_result(result: object) -> None:
    if result not in judging.RESULTS:
        wanted = ", ".join(judging.RESULTS)
        raise bad(
            "result",
            gettext("result is {result}; it must be one of {wanted}.").format(
                result=quoted(result), wanted=wanted
            ),
        )


def _require_role(by: User, step: ListedStep) -> None:
    role = roles.role_of(by)
    if role not in step.step.signed_by:
        raise Forbidden(
            gettext("{title}: this is signed by {roles}.").format(
                title=step.step.title, roles=" or ".join(step.step.signed_by)
            )
        )


def _refuse_if_stale(
    tx: JobTransaction, step: ListedStep, content_hash: str, seen: int | None
) -> None:
    if content_hash and content_hash != step.content_hash:
        raise refuse(
            "stale",
            gettext("{title}: the step has changed since you opened it. Read it again.").format(
                title=step.step.title
            ),
        )
    ends, hazards = step.step.invalidated_by, step.step.hazards
    if seen is not None and tx.record.history.ends_after(seen, ends, hazards=hazards):
        raise refuse(
            "stale",
            gettext(
                "{title}: something that ends this step was recorded since you opened it. Do it "
                "again, then sign."
            ).format(title=step.step.title),
        )


def _on_record(
    tx: JobTransaction, step: ListedStep, given: Sequence[tuple[str, object]]
) -> list[tuple[str, object]]:
    """Return the hours and counts that the record knows, where the signer gave none."""
    known = {quantity for quantity, _ in given}
    recorded = recorded_readings(tx.record, step)
    return [(name, value) for name, value in recorded.items() if name not in known]


def _judged(
    step: ListedStep, result: str, readings: Sequence[tuple[str, object]]
) -> list[judging.Judged]:
    try:
        judged = judging.take(step, readings)
    except judging.ReadingError as error:
        raise bad(error.field, str(error)) from None
    absent = judging.missing(step, judged) if result == judging.PASS else []
    if absent:
        raise BadInput(
            [
                (
                    r.quantity,
                    gettext("{quantity} is missing; read it in {unit} ({range}).").format(
                        quantity=r.quantity, unit=r.unit, range=r.range
                    ),
                )
                for r in absent
            ]
        )
    return judged
