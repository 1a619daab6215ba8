"""A curve that was measured: a frequency response, distortion over level."""

from __future__ import annotations

from typing import Annotated

from django.utils.translation import gettext as _
from pydantic import Field, Strict

from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Transaction
from shop.lib.refusals import Refusal, bad

# What a curve shows, in words.
CURVES = {"response": "frequency response", "distortion": "distortion over level"}
FEWEST, MOST = 3, 400
Points = Annotated[
    list[Annotated[float, Field(ge=-1e12, le=1e12, allow_inf_nan=False, strict=True)]],
    Field(min_length=FEWEST, max_length=MOST),
    fields.Wanted(f"it must be a list of {FEWEST} to {MOST} numbers"),
]


class CurveMeasured(Event):
    """A curve that was measured: one y for each x."""

    event_type = "curve_measured"

    curve: Annotated[str, fields.OneOf(tuple(CURVES))]
    x: Points
    y: Points
    x_unit: fields.Unit = ""
    y_unit: fields.Unit = ""
    channel: Annotated[int, Strict(), Field(ge=1, le=8), fields.Wanted("it must be a channel from 1 to 8")] = 1  # fmt: skip
    source: Annotated[str, fields.Text(300)] = ""
    note: fields.Note = ""

    def check(self, tx: Transaction) -> list[Refusal]:
        """Return nothing against it; BadInput when the two lists do not belong together."""
        if len(self.x) != len(self.y):
            raise bad(
                "y",
                _("y has {count} numbers and x has {count2}; they belong together.").format(
                    count=len(self.y), count2=len(self.x)
                ),
            )
        return []

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say which curve, from where to where, where it is from, and the note."""
        x, unit = data["x"], stored.text(data, "x_unit")
        said = CURVES.get(data["curve"], data["curve"])
        span = f"{said}, {min(x):g} to {max(x):g} {unit}".rstrip()
        return [span, *filter(None, [stored.text(data, "source"), stored.text(data, "note")])]
