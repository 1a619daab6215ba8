"""So many of something in so long, and no more."""

from __future__ import annotations

from django.core.cache import cache


def allow(name: str, most: int, *, seconds: int) -> bool:
    """Count one more of `name` and tell whether it is within `most` in the running window."""
    key = f"limit/{name}"
    cache.add(key, 0, timeout=seconds)
    try:
        return cache.incr(key) <= most
    except ValueError:  # the window ended between the two calls
        cache.set(key, 1, timeout=seconds)
        return most >= 1
