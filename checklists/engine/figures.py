"""Numbers as they are shown: so that what is read off a page can be typed back."""

from __future__ import annotations

import re
from decimal import Decimal

# Narrow, and does not break at the end of a line.
THIN_SPACE = "\u202f"
# A point before exactly three digits may be read as a group of thousands.
_READS_TWO_WAYS = re.compile(r"-?[1-9]\d{0,2}\.\d{3}")


def shown(value: float | Decimal, digits: int = 4) -> str:
    """Return a number with so many significant digits: '0.22', '1200', '1.2340', '1.2e+07'.

    It never has a point before exactly three digits after one to three others, so that it is the
    same number whichever sign a shop uses for decimals.
    """
    return one_reading(f"{value:.{digits}g}")


def grouped(number: float) -> str:
    """Return a whole number in groups of three, parted by a thin space: '1 234'.

    A comma or a point may be either sign to a reader.
    """
    return f"{number:,}".replace(",", THIN_SPACE)


def one_reading(figures: str) -> str:
    """Return figures with a nought more where they would read two ways: '1.234' is '1.2340'."""
    return f"{figures}0" if _READS_TWO_WAYS.fullmatch(figures) else figures
