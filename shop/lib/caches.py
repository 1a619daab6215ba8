"""A cache on Redis without which the shop goes on: what cannot be asked is as if it were not there."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from django.core.cache.backends.redis import RedisCache
from redis.exceptions import RedisError

log = logging.getLogger(__name__)


class ForgetfulCache(RedisCache):
    """Answers like an empty cache while Redis is away, and leaves a line in the log.

    What is counted in it is not counted meanwhile: a shop whose broker is down must still let
    people sign in and take mains off.
    """

    def get(self, key: Any, default: Any = None, version: Any = None) -> Any:
        """Return what is kept, or the default."""
        return _or(default, super().get, key, default, version)

    def add(self, key: Any, *args: Any, **kwargs: Any) -> bool:
        """Keep it unless it is there; tells whether it was kept."""
        return bool(_or(True, super().add, key, *args, **kwargs))

    def set(self, key: Any, *args: Any, **kwargs: Any) -> None:
        """Keep it."""
        _or(None, super().set, key, *args, **kwargs)

    def delete(self, key: Any, version: Any = None) -> bool:
        """Forget it."""
        return bool(_or(False, super().delete, key, version))

    def incr(self, key: Any, delta: int = 1, version: Any = None) -> int:
        """Count on; ValueError for what is not there, also while Redis is away."""
        found = _or(None, super().incr, key, delta, version)
        if found is None:
            raise ValueError(f"{key} is not there to be counted")
        return int(found)


def _or(instead: Any, act: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    try:
        return act(*args, **kwargs)
    except RedisError as error:
        log.warning("the cache is away: %s", error)
        return instead
