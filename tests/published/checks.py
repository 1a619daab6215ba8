"""Values from outside the project, and the table of them that docs/checks.md shows.

Marks: P, input and output were read in the source. C, computed from the formula named, outside
the code under test. M, quoted from memory; that the code meets it to many figures is what makes
it believable. Run `python -m tests.published.checks > docs/checks.md` after adding one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

P, C, M = "P", "C", "M"


@dataclass(frozen=True)
class Check:
    """One value: where it stands, what it says, and how ours is worked out."""

    id: str
    what: str
    source: str
    mark: str
    want: Any
    got: Callable[[], Any]
    rel: float = 1e-3
    at_most: float | None = None  # absolute margin, for values near nothing

    @property
    def is_number(self) -> bool:
        return isinstance(self.want, int | float) and not isinstance(self.want, bool)

    def agrees(self) -> bool:
        ours = self.got()
        if not self.is_number:
            return ours == self.want
        margin = self.at_most if self.at_most is not None else 0.0
        return math.isclose(ours, self.want, rel_tol=self.rel, abs_tol=margin)

    @property
    def agreement(self) -> str:
        ours = self.got()
        if not self.is_number:
            return "the same" if ours == self.want else "differs"
        off = abs(ours - self.want) / abs(self.want) if self.want else abs(ours)
        # Finer than this the last digits are those of the processor, and the table would differ.
        if off < 1e-12:
            return "to 12 digits"
        return f"within {max(1e-6, 10 ** math.ceil(math.log10(off))):.0e}"


def shown(value: Any) -> str:
    return f"{value:.10g}" if isinstance(value, float) else str(value)


HEAD = """# Values from outside

What the bench calculations are held against; made from the tests by
`python -m tests.published.checks > docs/checks.md`, and a test keeps it so. W-numbers count the worked
examples: W2.1 is the first of the second subject. A docstring that ends with one rests on it.

Marks: **P** input and output were read in the source. **C** computed from the formula named, apart from our code.
**M** quoted from memory: that ours meets it to many figures is what makes it believable.
"Agreement" is the relative difference, rounded up; printed sources are often rounded themselves.

{count} values: {p} P, {c} C, {m} M.

| id | what | value | ours | mark | agreement | source |
| --- | --- | --- | --- | --- | --- | --- |
"""


def table(checks: list[Check]) -> str:
    marks = [check.mark for check in checks]
    head = HEAD.format(count=len(checks), p=marks.count(P), c=marks.count(C), m=marks.count(M))
    rows = [
        f"| {c.id} | {c.what} | {shown(c.want)} | {_ours(c)} | {c.mark} | {c.agreement} | {c.source} |"
        for c in checks
    ]
    return head + "\n".join(rows) + "\n"


def _ours(check: Check) -> str:
    ours = check.got()
    return f"{ours:.6g}" if isinstance(ours, float) else str(ours)


if __name__ == "__main__":
    from tests.published.every import CHECKS

    print(table(CHECKS), end="")
