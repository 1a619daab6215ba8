"""The label of a unit in ZPL II, for printers that draw it themselves.

The commands are `^XA`..`^XZ` (a label), `^CI28` (UTF-8), `^PW` and `^LL` (its size in dots), `^FO`
(a place), `^A0` (the scalable font), `^FB` (a block of so many lines), `^BQ` (a QR code, model 2),
`^FH` and `^FD`..`^FS` (data, with a sign for bytes in hexadecimal). Source: the published
programming guide of the language; error level M and automatic input as `MA,`.
"""

from __future__ import annotations

import segno
from django.utils.translation import gettext as _

from shop.documents import common, pdf_documents, typesetting
from shop.jobs.queries import Traveller
from shop.lib import languages
from shop.lib.refusals import bad

CONTENT_TYPE = "application/octet-stream"
# Dots a millimetre, by what printers call it in dots an inch.
DENSITIES = {"203": 8, "300": 12, "600": 24}
_MARGIN_MM, _GAP_MM = 1.5, 2.0
_LARGEST_DOT = 10
# Letters that are commands, and the one that announces bytes.
_COMMANDS = "^~_\\"


def label(traveller: Traveller, size: str, density: str) -> str:
    """Return the label of a job; BadInput for a size or a density that is not known."""
    if size not in typesetting.LABELS:
        raise bad(
            "size",
            _("size is {size!r}; it must be one of {these}.").format(
                size=size[:40], these=", ".join(typesetting.LABELS)
            ),
        )
    if density not in DENSITIES:
        raise bad(
            "density",
            _("density is {density!r}; it must be one of {these}.").format(
                density=density[:40], these=", ".join(DENSITIES)
            ),
        )
    wide, high = typesetting.LABELS[size]
    dots = DENSITIES[density]
    code = _code(pdf_documents.address(traveller), high, dots)
    with languages.of_shop():
        lines = _lines(traveller, wide, high, dots)
    return "\n".join(
        ["^XA", "^CI28", f"^PW{wide * dots}", f"^LL{high * dots}", code, *lines, "^XZ", ""]
    )


def _code(address: str, high: int, dots: int) -> str:
    """Return the QR code as large as it fits beside the margins, its quiet zone included."""
    side = (high - 2 * _MARGIN_MM) * dots
    modules = segno.make(address, error="m", micro=False).symbol_size(border=2)[0]
    module = max(1, min(_LARGEST_DOT, int(side // modules)))
    at = round(_MARGIN_MM * dots) + 2 * module
    return f"^FO{at},{at}^BQN,2,{module}^FH_^FDMA,{escaped(address)}^FS"


def _lines(traveller: Traveller, wide: int, high: int, dots: int) -> list[str]:
    """Return the lines beside the code: number, unit, serial number, customer, day."""
    said = common.common_fields(traveller, "Label")
    left = round((high - _MARGIN_MM + _GAP_MM) * dots)
    width = wide * dots - left - round(_MARGIN_MM * dots)
    large, small = round(high * 0.24 * dots), round(high * 0.09 * dots)
    texts = [(said["number"], large, 1), (said["unit"], small, 2), (said["serial"], small, 1)]
    texts += [(said["customer"], small, 1), (said["received"], small, 1)]
    top, lines = round(_MARGIN_MM * dots), []
    for text, tall, most in texts:
        if text:
            lines.append(
                f"^FO{left},{top}^A0N,{tall},{tall}^FB{width},{most},0,L^FH_^FD{escaped(text)}^FS"
            )
            top += round(1.1 * tall * most)
    return lines


def escaped(text: str) -> str:
    """Return a text as data of a field: nothing in it is a command, and it is one line."""
    plain = " ".join(text.split())
    return "".join(
        f"_{ord(letter):02X}"
        if letter in _COMMANDS or (not letter.isprintable() and ord(letter) < 256)
        else letter
        for letter in plain
    )
