"""The languages that a customer can be written to in, each by its own name."""

from __future__ import annotations

NAMES = {
    "en": "English",
    "de": "Deutsch",
    "fr": "Français",
    "es": "Español",
    "nl": "Nederlands",
    "it": "Italiano",
    "ja": "日本語",
}
CHOICES = tuple(NAMES.items())
