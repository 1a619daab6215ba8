"""The fields of several steps on one card: each step finds its own under plain names."""

from __future__ import annotations

from django.http import QueryDict

# Before the names of the fields of a further step; the first one has its names plain.
_PARTS = ":"


def before(key: str) -> str:
    """Return what stands before the names of the fields of a further step."""
    return f"{key}{_PARTS}"


def own(posted: QueryDict, key: str) -> QueryDict:
    """Return what was typed for a further step under plain names, as its own card sends it."""
    mine = QueryDict(mutable=True)
    for name, values in posted.lists():
        first, parted, plain = name.partition(_PARTS)
        if parted and first == key:
            mine.setlist(plain, values)
        elif parted:
            mine.setlist(name, values)
    if any(name for name in mine if _PARTS not in name):
        mine["step"] = key
    mine["seen"] = posted.get("seen", "")
    return mine
