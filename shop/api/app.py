"""The API itself: who may call, and how every refusal is said."""

from __future__ import annotations

from datetime import datetime
from typing import Any, NamedTuple

from django.contrib.auth.models import User
from django.core.exceptions import RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from ninja import NinjaAPI
from ninja.errors import AuthenticationError, HttpError, ValidationError
from ninja.openapi.schema import OpenAPISchema
from ninja.security import HttpBearer, SessionAuth

from checklists.engine.quoting import quoted
from shop.accounts import roles
from shop.api import bodies, document, once
from shop.api.models import ApiToken, digest_of
from shop.jobs import queries
from shop.jobs.commands.signing import NotListed
from shop.jobs.models import Job
from shop.lib.refusals import BadInput, Forbidden, UserFacingError, short

NOT_WITHOUT_ITS_TOKEN = (
    "A signed-in browser sends the CSRF token of its session (X-CSRFToken); a program sends"
    " Authorization: Bearer with a token."
)
_READS = ("GET", "HEAD", "OPTIONS")


class Token(HttpBearer):
    """`Authorization: Bearer TOKEN`, as printed by `manage.py api-token`."""

    def authenticate(self, request: HttpRequest, token: str) -> User | None:
        """Return the token's owner, or None when it does not stand; Forbidden when it only reads."""
        known = ApiToken.objects.select_related("user").filter(digest=digest_of(token)).first()
        if known is None or not known.stands(timezone.now()):
            return None
        if known.scope == ApiToken.READ and request.method not in _READS:
            raise Forbidden("This token reads only; make one that writes.")
        return known.user


class Session(SessionAuth):
    """A signed-in browser; strangers are told to sign in before anything about CSRF."""

    def __call__(self, request: HttpRequest) -> Any:
        """Return the person, or None for a stranger."""
        return super().__call__(request) if request.user.is_authenticated else None


class ShopAPI(NinjaAPI):
    """The API: its answers say when they are those of a replay, its document says what all refuse."""

    def get_openapi_schema(self, **kwargs: Any) -> OpenAPISchema:
        """Return the document of all calls."""
        described = super().get_openapi_schema(**kwargs)
        document.completed(described)
        return described

    def create_response(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Return the answer, marked if it is to a request that was carried out before."""
        response = super().create_response(request, *args, **kwargs)
        if getattr(request, "is_replay", False):
            response[once.REPLAYED_HEADER] = "true"
        return response


api = ShopAPI(
    title="Benchtag",
    version="1",
    description="Jobs of a repair bench. Every refusal is JSON with a sentence in `reason`.",
    docs_url=None,
    auth=[Token(), Session()],
    urls_namespace="api",
    parser=bodies.Bounded(),
)
api.add_decorator(once.keyed)


def person(request: HttpRequest, ability: str = "read") -> User:
    """Return the caller, or raise Forbidden when the role lacks the ability."""
    caller: User = request.auth  # type: ignore[attr-defined]
    roles.require(caller, ability)
    return caller


class JobCall(NamedTuple):
    """A call about one job: who calls, the job, and when."""

    by: User
    job: Job
    now: datetime


def on_job(request: HttpRequest, number: int, ability: str = "read") -> JobCall:
    """Return what an endpoint of one job needs; Forbidden before 404, as on the pages."""
    by, now = person(request, ability), timezone.now()
    return JobCall(by, queries.job(number, now), now)


def _error_answer(request: HttpRequest, status: int, reason: str, **more: Any) -> HttpResponse:
    return api.create_response(request, {"reason": reason, **more}, status=status)


@api.exception_handler(UserFacingError)
def _refused(request: HttpRequest, error: UserFacingError) -> HttpResponse:
    return _error_answer(request, error.status, str(error), **error.details)


@api.exception_handler(ValidationError)
def _wrong_shape(request: HttpRequest, error: ValidationError) -> HttpResponse:
    return _refused(request, BadInput([_problem(fault) for fault in error.errors]))


def _problem(fault: dict[str, Any]) -> tuple[str, str]:
    place = [str(part) for part in fault["loc"] if part not in ("body", "payload", "query", "path")]
    field = short(".".join(place)) or "body"
    if fault["type"] == "missing":
        return field, f"{field} is missing."
    if fault["type"] == "extra_forbidden":
        return field, f"{field} is not known here."
    if fault["type"] == "too_long":
        return field, f"{field} is too long; at most {fault['ctx']['max_length']} are taken."
    wanted = fault["msg"].removeprefix("Input should be ").removeprefix("a valid ")
    given = f" {quoted(fault['input'])}" if "input" in fault else " not usable"
    return field, f"{field} is{given}; it must be {wanted}."


@api.exception_handler(Forbidden)
def _forbidden(request: HttpRequest, error: Forbidden) -> HttpResponse:
    return _error_answer(request, 403, str(error))


@api.exception_handler(AuthenticationError)
def _unknown_caller(request: HttpRequest, error: AuthenticationError) -> HttpResponse:
    return _error_answer(request, 401, "Sign in, or send Authorization: Bearer with a token.")


# On a page the step was listed when it was looked at; here it is a part of the address.
@api.exception_handler(NotListed)
def _not_listed(request: HttpRequest, error: NotListed) -> HttpResponse:
    return _error_answer(request, 404, str(error))


@api.exception_handler(Http404)
def _not_there(request: HttpRequest, error: Http404) -> HttpResponse:
    return _error_answer(request, 404, str(error) or "There is nothing at this address.")


@api.exception_handler(RequestDataTooBig)
def _too_big(request: HttpRequest, error: RequestDataTooBig) -> HttpResponse:
    return _error_answer(request, 413, "The request is larger than 32 MB; send less.")


@api.exception_handler(HttpError)
def _unreadable(request: HttpRequest, error: HttpError) -> HttpResponse:
    if error.status_code == 400:
        return _error_answer(request, 422, bodies.why_unreadable(error.__cause__))
    if error.status_code == 403:
        return _error_answer(request, 403, NOT_WITHOUT_ITS_TOKEN)
    return _error_answer(request, error.status_code, str(error))
