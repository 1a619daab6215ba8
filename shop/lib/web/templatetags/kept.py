"""The tag of a part of a page that is made once for its values."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.safestring import SafeString

from shop.lib.web import kept

register = template.Library()


@register.simple_tag(name="kept", takes_context=True)
def kept_tag(context: dict[str, Any], template_name: str, **values: Any) -> SafeString:
    """Include a template that sees these values alone: {% kept "frame/_who.html" name="ada" %}."""
    return kept.part(template_name, values, token=context.get("csrf_token", ""))
