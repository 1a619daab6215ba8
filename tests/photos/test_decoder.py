"""What the decoder makes of pictures, and of things that are none."""

from __future__ import annotations

from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from shop.lib.refusals import BadInput
from shop.photos import decoder, processing
from tests.helpers_plain import examples
from tests.photos.pictures import bomb, from_a_telephone, picture


def opened(made, which="whole"):
    return Image.open(BytesIO(getattr(made, which)))


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_every_kind_that_is_taken_becomes_a_jpeg(form):
    made = processing.decode_photo("a", picture(form))
    assert opened(made).format == "JPEG"
    assert (made.width, made.height) == opened(made).size == (640, 480)
    assert max(opened(made, "small").size) == 480


def test_it_is_upright_and_small_and_holds_only_pixels():
    made = processing.decode_photo("a.jpg", from_a_telephone((3000, 2000)))
    image = opened(made)
    assert image.size == (1333, 2000)
    # Orientation 6: what lies left in the file stands on top; red was above and is right.
    assert image.getpixel((1300, 1000))[0] > 200
    assert image.getpixel((30, 1000))[2] > 200
    assert not image.getexif()
    for secret in (b"Exif", b"Nobody", b"secret words"):
        assert secret not in made.whole + made.small


def test_bytes_after_the_end_do_not_get_through():
    made = processing.decode_photo("a.jpg", picture() + b"<script>alert(1)</script>")
    assert b"script" not in made.whole


def test_what_shines_through_stands_on_white():
    out = BytesIO()
    Image.new("RGBA", (20, 20), (255, 0, 0, 0)).save(out, "PNG")
    assert opened(processing.decode_photo("a.png", out.getvalue())).getpixel((10, 10)) == (
        255,
        255,
        255,
    )


@pytest.mark.parametrize(
    ("raw", "sentence"),
    [
        (b"", "is empty"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture of a kind"),
        (b"<html><script>", "no picture of a kind"),
        (b"%PDF-1.7", "no picture of a kind"),
        (b"MZ" + b"\0" * 500, "no picture of a kind"),
        (picture("GIF"), "no picture of a kind"),
        (picture("TIFF"), "no picture of a kind"),
        (picture()[:-900], "breaks off"),
        (picture("PNG", (900, 900))[:-200], "breaks off"),
        (bomb(), "more than 64 million points"),
        (bomb(9000, 9000), "more than 64 million points"),
    ],
)
def test_what_is_not_taken_is_refused_with_a_sentence_that_names_the_file(raw, sentence):
    with pytest.raises(BadInput, match=sentence) as refused:
        processing.decode_photo("board.jpg", raw)
    assert "board.jpg" in str(refused.value)


def test_too_large_a_file_is_not_even_opened(monkeypatch):
    monkeypatch.setattr(processing, "LARGEST_FILE", 100)
    monkeypatch.setattr(processing, "_run_decoder", None)
    with pytest.raises(BadInput, match="larger than"):
        processing.decode_photo("a.jpg", picture())


def test_a_decoder_that_dies_is_a_sentence(monkeypatch, tmp_path):
    died = tmp_path / "died.py"
    died.write_text("import os; os.abort()")
    monkeypatch.setattr(processing, "DECODER", died)
    with pytest.raises(BadInput, match="cannot be read as a picture"):
        processing.decode_photo("a.jpg", picture())


def test_a_decoder_that_hangs_is_a_sentence(monkeypatch, tmp_path):
    slow = tmp_path / "slow.py"
    slow.write_text("import time; time.sleep(60)")
    monkeypatch.setattr(processing, "DECODER", slow)
    monkeypatch.setattr(processing, "TIMEOUT_SECONDS", 0.5)
    with pytest.raises(BadInput, match="too long to read"):
        processing.decode_photo("a.jpg", picture())


@settings(max_examples=examples(60))
@given(st.data())
def test_a_damaged_picture_is_a_picture_or_a_sentence(data):
    raw = bytearray(picture(data.draw(st.sampled_from(["JPEG", "PNG", "WEBP", "HEIF"])), (64, 48)))
    for _ in range(data.draw(st.integers(1, 12))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    try:
        whole, _ = decoder.decode(bytes(raw))
    except decoder.UnreadableImage:
        return
    assert whole.mode == "RGB"


def test_the_decoder_and_who_runs_it_use_the_same_words():
    for name in ("CODES", "LOGO", "REFUSED"):
        assert getattr(processing, name) == getattr(decoder, name)
