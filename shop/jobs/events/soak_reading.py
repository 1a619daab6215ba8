"""A reading while the soak runs."""

from __future__ import annotations

from typing import Annotated, Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shop.bench.units import unit_of
from shop.jobs import guards, soaking
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Transaction
from shop.jobs.events.forms import EventForm
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record, RecordedReading
from shop.lib.refusals import Refusal, bad
from shop.lib.web.number_fields import TypedFloatField


class SoakReadingForm(EventForm):
    """A reading during the soak."""

    title = _("A soak reading")
    quantity = forms.ChoiceField(
        label=_("Quantity"),
        choices=(
            ("sink_celsius", _("heat sink temperature (C)")),
            ("offset_millivolts", _("offset, the larger channel (mV)")),
            ("bias_millivolts", _("bias across the emitter resistor (mV)")),
            ("trips", _("trips since the last reading")),
        ),
    )
    value = TypedFloatField(label=_("Value"))

    def data_for_row(self) -> dict[str, Any]:
        """Return the data of the event with the unit that belongs to the quantity."""
        data = super().data_for_row()
        return data | {"unit": unit_of(data["quantity"])}


class SoakReading(Event):
    """A reading while the soak runs."""

    event_type = "soak_reading"
    form = SoakReadingForm

    quantity: fields.Name
    value: fields.Value
    unit: fields.Unit = ""
    source: Annotated[str, fields.Text(300)] = ""
    note: fields.Note = ""

    def check(self, tx: Transaction) -> list[Refusal]:
        """That a soak runs; BadInput for a unit that is not the quantity's: 0.2 V is not 0.2 mV."""
        refusals = guards.against_no_soak(tx.record)
        quantity = soaking.known_quantity(self.quantity)
        wanted, typed = unit_of(quantity), self.unit.lstrip("\u00b0")
        if not refusals and wanted and typed and typed != wanted:
            raise bad(
                "unit",
                gettext("unit is {unit}; {quantity} is read in {wanted}.").format(
                    unit=self.unit, quantity=quantity, wanted=wanted
                ),
            )
        return refusals

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Add it to the run."""
        run = record.soak_run
        if run is not None and run.ended_at is None:
            quantity = stored.needed_text(row.data, "quantity")
            run.readings.append(RecordedReading(row.at, quantity, stored.number(row.data, "value")))
