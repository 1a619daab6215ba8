"""What is sent twice is done once: the header Idempotency-Key on POST.

The key, and what it was spent on, are written in the transaction of what was done: a process that
dies leaves both or neither. A replay repeats no state. It tells how things are now, and is refused
when what was asked for holds no longer.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import wraps
from typing import Any, NamedTuple, TypeVar

from django.contrib.auth.models import User
from django.db import DatabaseError, transaction
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext
from ninja import Status

from checklists.engine.quoting import quoted
from shop.accounts import roles
from shop.api.models import KeyedRequest
from shop.lib import waiting
from shop.lib.refusals import Refused, UserFacingError, bad, refuse

HEADER = "Idempotency-Key"
REPLAYED_HEADER = "Idempotency-Replayed"
LONGEST_KEY = 200
HOURS_KEPT = 24
_FORGOTTEN_AT_ONCE = 1000
_WAIT_MILLISECONDS = 200
# The draft of the IETF has it in quotation marks; many programs send it without.
_KEY = re.compile(rf'"([!#-~]{{1,{LONGEST_KEY}}})"|([!#-~]{{1,{LONGEST_KEY}}})')
Endpoint = TypeVar("Endpoint", bound=Callable[..., Any])


class Replay(NamedTuple):
    """A request that was carried out before: by whom, when, what is kept of it, what it gave."""

    by: User
    done_at: datetime
    kept: Any
    given: dict[str, Any]

    def overtaken(self, sentence: str) -> Refused:
        """Return the refusal of a replay that would tell of what holds no longer."""
        return refuse(
            "replayed",
            gettext("This was done {moment} already. {sentence}").format(
                moment=_moment(self.done_at), sentence=sentence
            ),
        )


class RefusedBefore(UserFacingError):
    """The replay of a refused request: it is not judged again."""

    def __init__(self, row: KeyedRequest) -> None:
        said: dict[str, Any] = row.answer or {}
        self._details = {name: said[name] for name in ("unmet", "codes")}
        super().__init__(
            f"Refused {_moment(row.made_at)}; send it with another {HEADER} to have it judged anew."
            f" It was said: {said['reason']}"
        )

    @property
    def details(self) -> dict[str, Any]:
        """What was in the way then."""
        return self._details


@dataclass(frozen=True)
class Once:
    """How an endpoint is replayed: what is kept of its answer, and what it answers again.

    `at_once`: requests for which the key is written after them, so that it is in the way of none.
    """

    kept: Callable[[Any], Any]
    again: Callable[[Replay], Any]
    at_once: Callable[[dict[str, Any]], bool]


def once(
    *,
    again: Callable[[Replay], Any],
    kept: Callable[[Any], Any] = lambda answer: answer,
    at_once: Callable[[dict[str, Any]], bool] = lambda given: False,
) -> Callable[[Endpoint], Endpoint]:
    """Say of an endpoint how it is replayed. `kept` returns plain values."""

    def mark(endpoint: Endpoint) -> Endpoint:
        endpoint.once = Once(kept, again, at_once)  # type: ignore[attr-defined]
        return endpoint

    return mark


def keyed(endpoint: Endpoint) -> Endpoint:
    """Carry an endpoint that says how it is replayed out once for each key."""
    how: Once | None = getattr(endpoint, "once", None)
    if how is None:
        return endpoint

    @wraps(endpoint)
    def answering(request: HttpRequest, **given: Any) -> Any:
        key = _key_of(request)
        if key is None:
            return endpoint(request, **given)
        carried_out = _carried_out_at_once if how.at_once(given) else _carried_out
        row, error, answer = carried_out(request, key, how, lambda: endpoint(request, **given))
        if error is not None:
            raise error
        return answer if row is None else _again(request, row, how, given)

    return answering  # type: ignore[return-value]


def _key_of(request: HttpRequest) -> str | None:
    sent = request.headers.get(HEADER)
    if sent is None:
        return None
    read = _KEY.fullmatch(sent.strip())
    if read is None:
        raise bad(
            HEADER,
            gettext(
                "{header} is {sent}; it must be 1 to {longest_key} letters, digits and signs, "
                "without blanks."
            ).format(header=HEADER, sent=quoted(sent), longest_key=LONGEST_KEY),
        )
    return read[1] or read[2]


def _carried_out(
    request: HttpRequest, key: str, how: Once, act: Callable[[], Any]
) -> tuple[KeyedRequest | None, Refused | None, Any]:
    """Return the row of an earlier request with this key; or the refusal or the answer of this one.

    Whoever comes at the same moment waits here for the row of the first.
    """
    _forget_what_is_old()
    with transaction.atomic():
        row, is_new = _claimed(request, key)
        if not is_new:
            return row, None, None
        try:
            with transaction.atomic():
                answer = act()
        except Refused as error:
            row.keep(error.status, {"reason": str(error), **error.details})
            return None, error, None
        status, value = _parts(answer)
        row.keep(status, how.kept(value))
        return None, None, answer


def _carried_out_at_once(
    request: HttpRequest, key: str, how: Once, act: Callable[[], Any]
) -> tuple[KeyedRequest | None, Refused | None, Any]:
    """The same for what waits for nobody: the key is read before and written after, if it can be."""
    row = _of_the_key(request, key).filter(made_at__gt=_oldest_kept()).first()
    if row is not None:
        _require_same(request, row)
        return row, None, None
    answer = act()
    with suppress(DatabaseError), waiting.at_most(_WAIT_MILLISECONDS), transaction.atomic():
        row, _ = _claimed(request, key)
        status, value = _parts(answer)
        row.keep(status, how.kept(value))
    return None, None, answer


def _of_the_key(request: HttpRequest, key: str) -> QuerySet[KeyedRequest]:
    caller: User = request.auth  # type: ignore[attr-defined]
    return KeyedRequest.objects.filter(person=caller, key=key)


def _claimed(request: HttpRequest, key: str) -> tuple[KeyedRequest, bool]:
    of_the_key = _of_the_key(request, key)
    of_the_key.filter(made_at__lte=_oldest_kept()).delete()
    row, is_new = KeyedRequest.objects.get_or_create(
        person=request.auth,  # type: ignore[attr-defined]
        key=key,
        defaults={**_asked(request), "made_at": timezone.now()},
    )
    _require_same(request, row)
    return row, is_new


def _asked(request: HttpRequest) -> dict[str, Any]:
    return {
        "method": request.method,
        "path": request.get_full_path(),
        "body_digest": hashlib.sha256(request.body).hexdigest(),
    }


def _require_same(request: HttpRequest, row: KeyedRequest) -> None:
    if any(getattr(row, name) != value for name, value in _asked(request).items()):
        raise bad(
            HEADER,
            gettext(
                "{header} is {key}; it was spent on another request {moment}. Send a key of its "
                "own."
            ).format(header=HEADER, key=quoted(row.key), moment=_moment(row.made_at)),
        )


def _again(request: HttpRequest, row: KeyedRequest, how: Once, given: dict[str, Any]) -> Any:
    request.is_replay = True  # type: ignore[attr-defined]
    roles.require(row.person, "read")
    if row.status == Refused.status:
        raise RefusedBefore(row)
    return Status(row.status, how.again(Replay(row.person, row.made_at, row.answer, given)))


def _parts(answer: Any) -> tuple[int, Any]:
    if isinstance(answer, Status):
        return answer.status_code, answer.value
    return 200, answer


def _oldest_kept() -> datetime:
    return timezone.now() - timedelta(hours=HOURS_KEPT)


def _forget_what_is_old() -> None:
    """Take rows away that no replay is answered from any more; short, and by itself."""
    old = KeyedRequest.objects.filter(made_at__lte=_oldest_kept()).order_by("pk")
    some = list(old.values_list("pk", flat=True)[:_FORGOTTEN_AT_ONCE])
    if some:
        KeyedRequest.objects.filter(pk__in=some).delete()


def _moment(at: datetime) -> str:
    return f"on {timezone.localtime(at):%Y-%m-%d at %H:%M:%S}"
