"""Health: is the process up, and can it serve."""

from __future__ import annotations

from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse

from checklists import published
from checklists.engine.pack import PackError
from shop.site import start


def live(request: HttpRequest) -> JsonResponse:
    """Answer as long as the process runs."""
    return JsonResponse({"live": True})


def ready(request: HttpRequest) -> JsonResponse:
    """Answer 200 when the database answers and guards itself and the rules can be read, else 503."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM jobs_job LIMIT 1")
        lost = start.guard_faults()
        published.current()
    except DatabaseError:
        return JsonResponse({"ready": False, "reason": "The database does not answer."}, status=503)
    except PackError:
        return JsonResponse({"ready": False, "reason": "The rules cannot be read."}, status=503)
    if lost:
        return JsonResponse({"ready": False, "reason": " ".join(lost)}, status=503)
    return JsonResponse({"ready": True})
