"""The words that stand in the templates of papers, each listed once for translation.

A template writes `#say("What for")`; a word that is not listed here stops the print. Sentences with
values come whole from the modules beside this one.
"""

from __future__ import annotations

from collections.abc import Iterable

from django.utils import translation
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

WORDS = (
    # Every sheet.
    # Translators: keep {page} and {pages} as they are.
    _("{page} of {pages}"),
    _("WARNING"),
    _("What you told us"),
    # Receipt.
    _("Whose it is"),
    _("Name, address, telephone"),
    _("Handed in"),
    _("How it looked"),
    _("Agreed"),
    _("Terms of the shop"),
    _("The code above opens your page: where the unit is, and a place for questions."),
    _("Handed in by, date"),
    _("Received by, date"),
    # Estimate.
    pgettext_lazy("whom an estimate is for", "For"),
    _("What for"),
    _("How many"),
    _("Price of one"),
    _("Tax"),
    _("Amount"),
    _("To pay"),
    _("Or answer on your page: the code above opens it."),
    _("We go no further than this without asking you again."),
    _("No, leave it as it is."),
    _("Date, signature"),
    # Hand-back note.
    _("Estimate"),
    _("Not tested, or not passed"),
    _("Handed over to, date"),
    # Packing list.
    pgettext_lazy("whom a parcel goes to", "To"),
    _("Carried by"),
    _("Carrier, number of the parcel"),
    _("In the parcel"),
    _("Before it is closed"),
    _(
        "Transport locks and screws are in, moving parts are held, valves and lamps are wrapped apart."
    ),
    _("No loose weight: nothing can travel through the parcel if it falls."),
    _("Five centimetres of padding on all sides; the heavy side is marked."),
    _("A picture of the unit in the open parcel is taken."),
    _("Common practice; the carrier's own terms come first."),
    _("Packed by, date"),
    # Release record.
    _("Before and after"),
    _("Measured"),
    pgettext_lazy("what was measured", "What"),
    _("At first"),
    _("At last"),
    pgettext_lazy("which values are allowed", "Allowed"),
    pgettext_lazy("a reading beyond its limit", "outside"),
    _("too close to tell"),
    _("± is what the instrument may be off by; it was counted against the reading."),
    _("The long test run"),
    pgettext_lazy("tests of whether a fault still shows", "Trials"),
    pgettext_lazy("steps that were signed off", "Signed"),
    _("Step"),
    _("Result"),
    _("Note"),
    pgettext_lazy("who signed", "By"),
    _("When"),
    _("Signature, date"),
    _("The head of this record is not signed."),
    _("Signed by the key of the shop (Ed25519); the code holds these three lines:"),
    # Translators: keep {command} as it is.
    _("To check it: {command}, as docs/papers.md shows."),
    # Traveller.
    _("What the customer says"),
    _("What is known"),
    _("Steps"),
    _("Step, and what is allowed"),
    _("Reading"),
    _("Said and done"),
    _("By hand"),
)


def said(words: Iterable[object]) -> dict[str, str]:
    """Return what each of these words is in the language in force, by its English."""
    listed = list(words)
    with translation.override(None):
        english = [str(word) for word in listed]
    return dict(zip(english, map(str, listed), strict=True))
