"""The words that stand in the templates of bills and reminders, beside those of every paper."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from shop.documents import paper_words

WORDS = (*paper_words.WORDS, _("Scan with your bank's app"))
