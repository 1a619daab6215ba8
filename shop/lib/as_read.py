"""Makes instances of what was read, without what Django does only for new ones.

Django makes an instance through the descriptors of all its fields, whether it is new or was read:
for a job of thirty columns that takes longer than reading them. What was read needs no defaults
and is no assignment, so its columns are put where the descriptors keep them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from django.db.models import Model
from django.db.models.signals import post_init, pre_init

M = TypeVar("M", bound=Model)
Maker = Callable[[str, Sequence[str], Sequence[Any]], M]


def maker_of(model: type[M]) -> Maker[M]:
    """Return what takes alias, attributes and values, as `from_db`, and makes the same instance.

    `from_db` itself where the model or a receiver of signals does anything of its own.
    """
    if _does_more(model):
        return model.from_db
    state = type(model()._state)

    def make(alias: str, names: Sequence[str], values: Sequence[Any]) -> M:
        made = model.__new__(model)
        made.__dict__.update(zip(names, values, strict=True))
        made._state = state()
        made._state.db, made._state.adding = alias, False
        return made

    return make


def _does_more(model: type[Model]) -> bool:
    own = model.__init__ is not Model.__init__  # type: ignore[misc]
    own = own or model.from_db.__func__ is not Model.from_db.__func__  # type: ignore[attr-defined]
    return own or any(signal.has_listeners(model) for signal in (pre_init, post_init))
