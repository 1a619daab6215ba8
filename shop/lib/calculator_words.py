"""Words of calculations in the language of the page.

Sums are plain Python and know no catalogue: `tests/project/bench_catalogue.py` puts their words
into the template, and pages say them through this.
"""

from __future__ import annotations

from django.utils.functional import lazy
from django.utils.translation import pgettext

CONTEXT = "calculator"


def calculated(words: object) -> str:
    """Return words of a calculation as the page says them; what nobody translated as it is."""
    return pgettext(CONTEXT, str(words)) if words else ""


calculated_lazy = lazy(calculated, str)
