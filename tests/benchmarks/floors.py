"""Pages of the demo shop against a bare Django view of the same bytes and queries.

Run by `make bench`, on a database of its own. The floor of a page is a view behind the same
middleware and the same sign-in that runs the statements that the page ran, with their values,
through a cursor, and fetches their rows; then it renders the page's bytes by a template with a
variable a line. Both in alternating runs, by CPU time, without a network.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from typing import Any

os.environ["BENCHTAG_DATA"] = tempfile.mkdtemp(prefix="benchtag-bench-")
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")
os.environ.pop("BENCHTAG_DATABASE_URL", None)

import django

django.setup()

from django.contrib.auth.models import User
from django.db import connection
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.template import Context, Template
from django.test import Client, override_settings
from django.urls import path
from django.utils.safestring import mark_safe

from shop.demo import units
from shop.jobs.models import Job
from shop.site import urls
from tests import migrated
from tests.benchmarks.budgets import medians, told

TIMES, LIMIT = 60, 1.8
Statement = tuple[str, Any]
# What the middleware asks, and asks for the floor too.
_OF_MIDDLEWARE = ("django_session", '"auth_user"."id" =')


class Floor:
    """The statements and the lines of one page."""

    def __init__(self, client: Client, address: str) -> None:
        self.statements: list[Statement] = []
        with connection.execute_wrapper(self._listen):
            self.page = client.get(address).content.decode()
        lines = self.page.split("\n")
        self.values = {f"line_{place}": mark_safe(line) for place, line in enumerate(lines)}
        self.template = Template("\n".join(f"{{{{ {name} }}}}" for name in self.values))

    def _listen(self, execute: Callable, sql: str, values: Any, many: bool, context: Any) -> Any:
        if not any(mark in sql for mark in _OF_MIDDLEWARE):
            self.statements.append((sql, values))
        return execute(sql, values, many, context)

    def answer(self, request: HttpRequest) -> HttpResponse:
        assert request.user.is_authenticated
        with connection.cursor() as cursor:
            for sql, values in self.statements:
                cursor.execute(sql, values)
                cursor.fetchall()
        return HttpResponse(self.template.render(Context(self.values)))


floors: dict[str, Floor] = {}
urlpatterns = [
    path("floor/<slug:name>/", lambda request, name: floors[name].answer(request)),
    *urls.urlpatterns,
]


def measure(client: Client, name: str, address: str) -> None:
    client.get(address)
    floor = floors[name] = Floor(client, address)
    assert len(client.get(f"/floor/{name}/").content) == len(floor.page.encode())
    bare, page = medians(
        TIMES, lambda _: client.get(f"/floor/{name}/"), lambda _: client.get(address)
    )
    print(
        f"{name}: {len(floor.page) / 1000:.0f} kB, {len(floor.statements)} statements,"
        f" {page:.1f} ms against {bare:.1f} of CPU"
    )
    told(f"{name}-over-floor", page / bare, LIMIT)


def main() -> None:
    migrated.migrate(connection)
    units.write()
    client = Client(HTTP_HOST="localhost")
    client.force_login(User.objects.get(username="technician"))
    longest = Job.objects.filter(closed_at=None).annotate(rows=Count("ledger")).latest("rows")
    with override_settings(ROOT_URLCONF="tests.benchmarks.floors"):
        measure(client, "home", "/")
        measure(client, "job", longest.get_absolute_url())
        measure(client, "ledger", f"{longest.get_absolute_url()}ledger/")


if __name__ == "__main__":
    # By its name, so that the addresses and the floors are of one module.
    from tests.benchmarks.floors import main as run

    run()
