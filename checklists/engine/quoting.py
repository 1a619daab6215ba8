"""Bad values quoted in sentences: short, on one line, whatever was sent."""

from __future__ import annotations

import math
import reprlib

from checklists.engine.figures import grouped

LONGEST = 60  # characters of one text or number; more is cut in the middle
_PRINTED_BITS = 4_000  # Python refuses to print whole numbers of more than 4,300 digits


class _Quotation(reprlib.Repr):
    def __init__(self) -> None:
        super().__init__()
        self.maxlevel = 2
        self.maxlist = self.maxtuple = self.maxset = self.maxfrozenset = self.maxdict = 3
        self.maxstring = self.maxlong = self.maxother = LONGEST

    def repr_int(self, x: int, level: int) -> str:
        """Quote a whole number; one too long to print by how many digits it has."""
        if x.bit_length() > _PRINTED_BITS:
            return f"a number of {grouped(math.ceil(x.bit_length() * math.log10(2)))} digits"
        return super().repr_int(x, level)


_QUOTATION = _Quotation()


def quoted(value: object) -> str:
    """Return a short quotation of a value, fit for one line of a sentence. Raises nothing."""
    return _QUOTATION.repr(value)
