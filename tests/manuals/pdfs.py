"""PDFs for tests, good ones and hostile ones, made here and now by libraries that the shop does not read with."""

from __future__ import annotations

import hashlib
import zlib
from io import BytesIO
from pathlib import Path

import pypdf
import typst
from django.conf import settings
from django.utils import timezone

from shop.manuals import services
from shop.manuals.reading import ReadPdf
from tests.photos.pictures import picture

FONTS = [str(Path(settings.ROOT, "shop", "documents", "fonts"))]
FACES = '#set text(font: ("Atkinson Hyperlegible Next", "DejaVu Sans"))\n'

# Latin, Greek, Cyrillic, Hebrew, Arabic, Japanese: a line each, and a word to look for.
SCRIPTS = {
    "Ruhestrom am Emitterwiderstand einstellen": "ruhestrom",
    "Ρύθμιση ρεύματος ηρεμίας": "ρευμα",
    "Регулировка тока покоя": "тока",
    "כוונון זרם המנוחה": "המנוחה",
    "ضبط تيار السكون": "السكون",
    "無信号電流の調整": "電流",
}


def pdf(*pages: str, size: str = "width: 100mm, height: 140mm") -> bytes:
    """A PDF with these texts, a page each."""
    source = f"#set page({size})\n" + FACES + "\n#pagebreak()\n".join(pages)
    return typst.compile(source.encode(), font_paths=FONTS)


def file_of_model(by, make="Test Works", model="Sheet 1", page="Bias"):
    """A manual of a model, without the reader, with a page beside the look at intake."""
    raw = b"%PDF-" + page.encode()
    read = ReadPdf(raw, picture(size=(3, 4)), [page], hashlib.sha256(raw).hexdigest())
    owner, now = services.of_model(make, model), timezone.now()
    made = services.add_manual(owner, "Service.pdf", read, kind="manual", title="", by=by, at=now)
    services.link_page(made, 1, "step-visual-intake", "", by=by, at=now)
    return made


def rewritten(raw: bytes, change) -> bytes:
    """The same through the hands of another library."""
    writer = pypdf.PdfWriter(clone_from=BytesIO(raw))
    change(writer)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def locked(*, needs_password: bool) -> bytes:
    """Encrypted: with a password to open it, or only one to change it."""
    user = "secret" if needs_password else ""
    return rewritten(pdf("Bias"), lambda w: w.encrypt(user, "owner", algorithm="AES-256"))


def assembled(*objects: bytes) -> bytes:
    """A file out of objects 1, 2, 3 ...; the first is the catalogue."""
    out, places = BytesIO(), []
    out.write(b"%PDF-1.7\n")
    for number, body in enumerate(objects, start=1):
        places.append(out.tell())
        out.write(b"%d 0 obj\n%s\nendobj\n" % (number, body))
    start = out.tell()
    out.write(b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1))
    out.writelines(b"%010d 00000 n \n" % place for place in places)
    out.write(b"trailer\n<< /Size %d /Root 1 0 R >>\n" % (len(objects) + 1))
    out.write(b"startxref\n%d\n%%%%EOF\n" % start)
    return out.getvalue()


def stream(body: bytes, entries: bytes = b"", *, packed: bool = True) -> bytes:
    kept = zlib.compress(body, 9) if packed else body
    how = b"/Filter /FlateDecode " if packed else b""
    return b"<< /Length %d %s%s >>\nstream\n%s\nendstream" % (len(kept), how, entries, kept)


def one_page(entries: bytes, *more: bytes, box: bytes = b"0 0 300 400") -> bytes:
    """A file of one page with these entries; further objects count from 4."""
    return assembled(
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Count 1 /Kids [3 0 R] >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [%s] %s >>" % (box, entries),
        *more,
    )


def with_script() -> bytes:
    """One that would run a script when it is opened, and when its page is, and holds a file."""
    script = b"<< /S /JavaScript /JS (app.alert\\(1\\)) >>"
    names = b"<< /JavaScript << /Names [(a) %s] >> >>" % script
    return assembled(
        b"<< /Type /Catalog /Pages 2 0 R /OpenAction %s /Names %s >>" % (script, names),
        b"<< /Type /Pages /Count 1 /Kids [3 0 R] >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 300 400] /AA << /O %s >> /Contents 4 0 R"
        b" /Resources << /Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> >> >>"
        % script,
        stream(b"BT /F 20 Tf 20 300 Td (Bias adjustment) Tj ET"),
    )


def of_a_million_pages() -> bytes:
    """A small file whose tree of pages has a million leaves, all the same page."""
    return assembled(
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Count 1000000 /Kids [%s] >>" % (b"3 0 R " * 1000),
        b"<< /Type /Pages /Parent 2 0 R /Count 1000 /Kids [%s] >>" % (b"4 0 R " * 1000),
        b"<< /Type /Page /Parent 3 0 R /MediaBox [0 0 100 100] >>",
    )


def bomb_of_text(megabytes: int = 3000) -> bytes:
    """A content stream that unpacks to gigabytes."""
    packer = zlib.compressobj(9)
    body = b"".join(packer.compress(b" " * 2**20) for _ in range(megabytes)) + packer.flush()
    content = b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(body), body)
    return one_page(b"/Contents 4 0 R", content)


def bomb_of_points(side: int = 60_000) -> bytes:
    """An image of thousands of millions of points."""
    packer = zlib.compressobj(9)
    row = b"\0" * side
    body = b"".join(packer.compress(row) for _ in range(side)) + packer.flush()
    image = (
        b"<< /Type /XObject /Subtype /Image /Width %d /Height %d /BitsPerComponent 8"
        b" /ColorSpace /DeviceGray /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream"
        % (side, side, len(body), body)
    )
    return one_page(
        b"/Contents 4 0 R /Resources << /XObject << /I 5 0 R >> >>",
        stream(b"300 0 0 400 0 0 cm /I Do"),
        image,
    )


def nested_forms(depth: int = 12, times: int = 20) -> bytes:
    """A drawing that draws another twenty times, which draws another: twenty to the twelfth."""
    objects = [stream(b"/F Do")]
    for level in range(depth):
        last = level == depth - 1
        body = b"0 0 m 300 400 l S" if last else b"/F Do " * times
        inner = b"" if last else b"/Resources << /XObject << /F %d 0 R >> >>" % (level + 6)
        objects.append(stream(body, b"/Type /XObject /Subtype /Form /BBox [0 0 300 400] " + inner))
    entries = b"/Contents 4 0 R /Resources << /XObject << /F 5 0 R >> >>"
    return one_page(entries, *objects)
