"""What is read of PDFs, and of things that are none or mean harm."""

from __future__ import annotations

from io import BytesIO

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops

from shop.lib.refusals import BadInput
from shop.manuals import pdf_reader, reading
from tests.helpers_plain import examples
from tests.manuals import pdfs


def test_each_page_has_its_text_in_every_script():
    raw = pdfs.pdf(*pdfs.SCRIPTS)
    read = reading.read_pdf("a.pdf", raw)
    outside = [page.extract_text() for page in pypdf.PdfReader(BytesIO(raw)).pages]
    assert len(read.texts) == len(pdfs.SCRIPTS)
    for text, other, line in zip(read.texts, outside, pdfs.SCRIPTS, strict=True):
        # The order of words from right to left is the reader's own; the letters are not.
        assert sorted("".join(text.split())) == sorted("".join(line.split()))
        assert sorted("".join(other.split())) == sorted("".join(text.split()))


@pytest.mark.parametrize("size", reading.SIZES)
def test_a_page_is_drawn_as_large_as_asked(size):
    raw = pdfs.pdf("Eins", "#rect(width: 100%, height: 50%, fill: red)")
    drawn = Image.open(BytesIO(reading.page_picture("a.pdf", raw, 2, size)))
    assert drawn.format == "JPEG"
    assert max(drawn.size) == reading.SIZES[size]
    across, down = drawn.size
    red, green, blue = drawn.getpixel((across // 2, down // 4))
    assert red > 200 > 100 > max(green, blue)
    assert drawn.getpixel((across // 2, down * 9 // 10)) == (255, 255, 255)


def test_the_cover_is_the_first_page():
    raw = pdfs.pdf("Eins", "Zwei")
    read = reading.read_pdf("a.pdf", raw)
    first = reading.page_picture("a.pdf", raw, 1, "small")
    second = reading.page_picture("a.pdf", raw, 2, "small")
    assert read.cover == first != second


def test_a_password_to_change_it_is_no_password_to_read_it():
    assert reading.read_pdf("a.pdf", pdfs.locked(needs_password=False)).texts == ["Bias"]


GOOD = pdfs.pdf("Bias", "Rail")


@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        (b"", "is empty"),
        (b"<html><script>", "is no PDF"),
        (b"PK\3\4" + b"\0" * 500, "is no PDF"),
        (b"\xff\xd8\xff" + b"\0" * 2000 + GOOD, "is no PDF"),
        (b"%PDF-1.7", "breaks off"),
        (GOOD[: len(GOOD) // 2], "breaks off"),
        (GOOD[:-300], "breaks off"),
        (pdfs.assembled(b"<< /Type /Catalog >>"), "breaks off"),
        (pdfs.locked(needs_password=True), "locked with a password"),
        (pdfs.of_a_million_pages(), "has 1000000 pages; 1 to 3000"),
    ],
)
def test_what_is_not_taken_is_refused_with_a_sentence_that_names_the_file(raw, sentence):
    with pytest.raises(BadInput, match=sentence) as refused:
        reading.read_pdf("service.pdf", raw)
    assert "service.pdf" in str(refused.value)


def test_a_page_that_is_not_there():
    with pytest.raises(BadInput, match="no page 3; the last is 2"):
        reading.page_picture("a.pdf", GOOD, 3, "small")


@pytest.mark.long
@pytest.mark.parametrize("hostile", [pdfs.bomb_of_text, pdfs.nested_forms])
def test_what_swells_without_end_is_a_sentence(hostile):
    with pytest.raises(BadInput, match="cannot be read as a PDF"):
        reading.read_pdf("bomb.pdf", hostile())


@pytest.mark.long
def test_a_picture_of_thousands_of_millions_of_points_is_drawn_small_or_not_at_all():
    read = reading.read_pdf("bomb.pdf", pdfs.bomb_of_points())
    assert max(Image.open(BytesIO(read.cover)).size) == pdf_reader.SMALL


@pytest.mark.parametrize("box", [b"0 0 1e30 1e30", b"0 0 0 0", b"0 0 1 14400", b"9 9 -9 -9"])
def test_a_page_without_a_sensible_size_is_drawn_no_larger_than_asked(box):
    drawn = reading.page_picture("a.pdf", pdfs.one_page(b"", box=box), 1, "large")
    assert max(Image.open(BytesIO(drawn)).size) <= reading.SIZES["large"]


def test_a_script_is_not_run_and_what_it_would_do_is_not_drawn():
    raw = pdfs.with_script()
    assert b"/JavaScript" in raw
    read = reading.read_pdf("a.pdf", raw)
    assert read.texts == ["Bias adjustment"]
    assert b"alert" not in read.cover


def test_too_large_a_file_is_not_even_opened(monkeypatch):
    monkeypatch.setattr(reading, "LARGEST_FILE", 100)
    monkeypatch.setattr(reading.own_process, "run", None)
    with pytest.raises(BadInput, match="larger than"):
        reading.read_pdf("a.pdf", GOOD)


def test_a_reader_that_dies_is_a_sentence(monkeypatch, tmp_path):
    died = tmp_path / "died.py"
    died.write_text("import os; os.abort()")
    monkeypatch.setattr(reading, "READER", died)
    with pytest.raises(BadInput, match="cannot be read as a PDF"):
        reading.read_pdf("a.pdf", GOOD)


def test_a_reader_that_hangs_is_a_sentence(monkeypatch, tmp_path):
    slow = tmp_path / "slow.py"
    slow.write_text("import time; time.sleep(60)")
    monkeypatch.setattr(reading, "READER", slow)
    monkeypatch.setattr(reading, "TIMEOUT_SECONDS", 0.5)
    with pytest.raises(BadInput, match="too long to read"):
        reading.read_pdf("a.pdf", GOOD)


def test_what_no_database_takes_is_left_out(monkeypatch):
    class Page:
        def get_textpage(self):
            return self

        def get_text_bounded(self):
            return "a\0b\tc\ud800\r\nd \u200f e\n"

        def close(self):
            pass

    assert pdf_reader._text([Page()], 0) == "a b c\nd e"


@settings(max_examples=examples(60), deadline=None)
@given(st.data())
def test_a_damaged_file_is_read_or_a_sentence(data):
    raw = bytearray(GOOD)
    for _ in range(data.draw(st.integers(1, 12))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    try:
        document = pdf_reader.opened(bytes(raw))
        texts = pdf_reader.texts(document)
        drawn = pdf_reader.picture(document, 1, 100)
    except pdf_reader.UnreadablePdf:
        return
    assert len(texts) == len(document)
    assert ImageChops.invert(Image.open(BytesIO(drawn))).mode == "RGB"


def test_the_reader_and_who_runs_it_use_the_same_words():
    for name in ("LOOK", "PAGE", "SMALL", "REFUSED"):
        assert getattr(reading, name) == getattr(pdf_reader, name)
