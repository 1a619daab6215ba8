"""System checks: a pack that cannot be used stops every command, not the technician."""

from __future__ import annotations

from typing import Any

from django.core import checks

from checklists import published
from checklists.engine.pack import PackError


@checks.register("checklists")
def pack_is_usable(**_: Any) -> list[checks.CheckMessage]:
    """Report each fault of the published pack as checklists.E001."""
    try:
        published.pack()
    except PackError as error:
        return [checks.Error(problem, id="checklists.E001") for problem in error.problems]
    return []
