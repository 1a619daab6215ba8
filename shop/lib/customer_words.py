"""Names of fields as a sentence about them says them to a customer, in the language in force."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import pgettext_lazy

# In English the names by which the API knows them: one sentence serves both.
_FIELDS: dict[str, str | Promise] = {
    "make": pgettext_lazy("field", "make"),
    "model": pgettext_lazy("field", "model"),
    "serial": pgettext_lazy("field", "serial"),
    "complaint": pgettext_lazy("field", "complaint"),
    "name": pgettext_lazy("field", "name"),
    "phone": pgettext_lazy("field", "phone"),
    "email": pgettext_lazy("field", "email"),
    "address": pgettext_lazy("field", "address"),
    "carrier": pgettext_lazy("field", "carrier"),
    "tracking": pgettext_lazy("field", "tracking"),
    "expected_on": pgettext_lazy("field", "expected_on"),
    "note": pgettext_lazy("field", "note"),
    "question": pgettext_lazy("field", "question"),
}


def field_name(field: str) -> str:
    """Return the name of a field for a sentence; one that no customer fills in stays as it is."""
    return str(_FIELDS.get(field, field))
