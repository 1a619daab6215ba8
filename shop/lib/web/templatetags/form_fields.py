"""What kind of field a form shows."""

from __future__ import annotations

from django import forms, template
from django.forms.boundfield import BoundField

register = template.Library()
# Each a button under the thumb, beside the empty choice.
_FEW = 8


@register.filter
def is_list(field: BoundField) -> bool:
    """Whether the field is a group of boxes or buttons."""
    return isinstance(field.field.widget, forms.CheckboxSelectMultiple | forms.RadioSelect)


@register.filter
def is_choice(field: BoundField) -> bool:
    """Whether the field is a choice from a list."""
    return isinstance(field.field, forms.ChoiceField)


@register.filter
def is_tick(field: BoundField) -> bool:
    """Whether the field is a single box."""
    return isinstance(field.field.widget, forms.CheckboxInput)


@register.filter
def is_short(field: BoundField) -> bool:
    """Whether it is one choice of so few that each can be a button."""
    if not isinstance(field.field, forms.ChoiceField) or is_list(field):
        return False
    return len(list(field)) <= _FEW
