"""What the worker does with a request: lets the reader ask, and writes down what came of it."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from datetime import datetime

from django.utils import timezone

from checklists.engine.quoting import quoted
from checklists.engine.words import MEASURED
from shop.instruments import accuracies, answers, asking, scpi, settling, talking
from shop.instruments.models import Connection, Instrument, Request
from shop.instruments.talking import Line, conversation, problem

_SHOWN_SECONDS = 0.5


def answer_waiting(*, now: datetime) -> int:
    """Answer every request that waits, one after the other; returns how many."""
    asking.end_overdue(now)
    count = 0
    while (request := asking.take_next(timezone.now())) is not None:
        answer(request)
        count += 1
    return count


def answer(request: Request) -> None:
    """Answer a request that was taken; whatever happens, it ends."""
    try:
        state, outcome = _SORTS[request.what](request)
    except Exception as error:
        asking.end(request, Request.FAILED, said=f"It cannot be asked: {type(error).__name__}.")
        raise
    asking.end(request, state, **outcome)


Outcome = tuple[str, Line]


def _failed(said: str) -> Outcome:
    return Request.FAILED, {"said": said}


def _read(request: Request) -> Outcome:
    """Read until a value stands still, or say why none does."""
    instrument = _instrument(request)
    ranges = list(instrument.accuracies.filter(measures=request.measures))
    if not ranges:
        return _failed(
            f"{instrument} has no accuracy for {accuracies.title(request.measures)}; write it down first."
        )
    connection = instrument.connection
    command = connection.commands[request.measures] or scpi.STANDARD[request.measures]
    asked = talking.asked_of(connection) | {"command": command, "expects": connection.identity}
    with conversation(Request.READ, asking.SECONDS[Request.READ], asked) as lines:
        return _settled(request, connection, settling.Settling(ranges), lines)


def _settled(
    request: Request, connection: Connection, seen: settling.Settling, lines: Iterator[Line]
) -> Outcome:
    unit, said, shown = MEASURED[request.measures][1], "", 0.0
    met = False
    for line in lines:
        if "problem" in line:
            # Some libraries tell a cable that was pulled by the time alone.
            mute = shown and line["problem"] == "timeout"
            return _failed(problem("lost" if mute else line["problem"], met=met))
        if "identity" in line:
            met = True
            if line["identity"] != connection.identity:
                return _failed(_another(connection, line["identity"]))
            continue
        try:
            value = answers.read(line["answer"], unit)
            still = seen.take(line["at"], value)
        except answers.WrongAnswer as wrong:
            said = _not_taken(seen, wrong)
            if wrong.word == "unit" or seen.hopeless:
                return _failed(said)
            continue
        if still is not None:
            return Request.DONE, {"value": still, "latest": still}
        said, shown = "", _show(request, value, shown)
    return _failed(said or _restless(seen, unit))


def judged(
    instrument: Instrument, measures: str, given: Sequence[tuple[float, str]]
) -> tuple[float | None, str] | None:
    """Return (value, "") once answers stand still, (None, why) when they never will, None before.

    given: each answer with its time in seconds.
    """
    unit = MEASURED[measures][1]
    seen, said = settling.Settling(list(instrument.accuracies.filter(measures=measures))), ""
    for seconds, text in given:
        try:
            still = seen.take(seconds, answers.read(text, unit))
        except answers.WrongAnswer as wrong:
            said = _not_taken(seen, wrong)
            if wrong.word == "unit" or seen.hopeless:
                return None, said
            continue
        said = ""
        if still is not None:
            return still, ""
    late = bool(given) and given[-1][0] >= asking.SECONDS[Request.READ]
    return (None, said or _restless(seen, unit)) if late else None


def _not_taken(seen: settling.Settling, wrong: answers.WrongAnswer) -> str:
    if wrong.word != "range":
        seen.nothing()
    return str(wrong)


def _show(request: Request, value: float, shown: float) -> float:
    """Let the page see the value as it moves, now and then."""
    now = time.monotonic()
    if now - shown < _SHOWN_SECONDS:
        return shown
    Request.objects.filter(pk=request.pk).update(latest=value)
    return now


def _restless(seen: settling.Settling, unit: str) -> str:
    if seen.spread is None:
        return problem("timeout")
    low, high = (accuracies.amount(end, unit) for end in seen.spread)
    seconds = asking.SECONDS[Request.READ]
    return f"It did not stand still in {seconds:g} seconds: {low} to {high}. Read it and type it."


def _another(connection: Connection, identity: str) -> str:
    return (
        f"Another instrument answers at its address: {quoted(identity[:100])}. Nothing was read."
        f" Test {connection.instrument} again on its page."
    )


def _test(request: Request) -> Outcome:
    """Ask who it is, and each command once; the identity is what it answers to from now on."""
    connection = _instrument(request).connection
    asked = {m: command or scpi.STANDARD[m] for m, command in connection.commands.items()}
    identity, told = "", []
    with conversation(
        Request.TEST,
        asking.SECONDS[Request.TEST],
        talking.asked_of(connection) | {"commands": asked},
    ) as lines:
        for line in lines:
            if "identity" in line:
                identity = line["identity"]
            elif "measures" in line:
                told.append((accuracies.title(line["measures"]), _tried(line)))
            else:
                return _forgotten(connection, problem(line["problem"], met=bool(identity)))
    if not identity or len(identity) > 200:
        return _forgotten(connection, problem("timeout"))
    Connection.objects.filter(pk=connection.pk, resource=connection.resource).update(
        identity=identity, tested_at=timezone.now()
    )
    return Request.DONE, {"said": identity, "found": told}


def _forgotten(connection: Connection, said: str) -> Outcome:
    """An instrument that does not answer is not connected, and nothing is offered from it."""
    Connection.objects.filter(pk=connection.pk).update(identity="")
    return _failed(said)


def _tried(line: Line) -> str:
    if "problem" in line:
        return problem(line["problem"])
    unit = MEASURED[line["measures"]][1]
    try:
        return accuracies.amount(answers.read(line["answer"], unit), unit)
    except answers.WrongAnswer as wrong:
        return str(wrong)


def _find(request: Request) -> Outcome:
    found = []
    with conversation(Request.FIND, asking.SECONDS[Request.FIND], {}) as lines:
        for line in lines:
            if "resource" not in line:
                return _failed(problem(line["problem"]))
            found.append((line["resource"], line.get("identity", "")[:200]))
    return Request.DONE, {"found": found}


def _instrument(request: Request) -> Instrument:
    assert request.instrument is not None
    return request.instrument


_SORTS = {Request.READ: _read, Request.TEST: _test, Request.FIND: _find}
