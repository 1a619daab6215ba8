"""A picture and marks in, the marked picture out: run as a process of its own, like the decoder.

Reads the picture from standard input and what to draw from its one argument, as JSON: `marks`, each
with shape, two points in thousandths of width and height, and words; `fonts`, files to try in turn.
Writes a line of JSON and the marked picture, whole and small, as JPEG. Words that no font can write
are drawn as a number; the line of JSON says which (`numbered`). Knows nothing of Django.
"""

from __future__ import annotations

import json
import math
import resource
import sys
from io import BytesIO
from typing import Any

from PIL import Image, ImageDraw, ImageFont

ARROW, RING, WORDS = "arrow", "ring", "words"
SMALL = (480, 480)
MEMORY_BYTES = 1_500_000_000
SECONDS = 20
INK, PAPER = (200, 16, 30), (255, 255, 255)
# A sign that no font has: what is drawn for it stands for "missing".
_NOWHERE = "\U000f1234"

Point = tuple[float, float]
Font = ImageFont.FreeTypeFont


def drawn(image: Image.Image, marks: list[dict[str, Any]], fonts: list[str]) -> list[int]:
    """Draw the marks on the picture; returns the numbers, from 1, of those that only a number marks."""
    pen = ImageDraw.Draw(image)
    width = max(4, max(image.size) // 220)
    numbered = []
    for number, mark in enumerate(marks, start=1):
        start, end = (_point(image, mark[name]) for name in ("start", "end"))
        if mark["shape"] == ARROW:
            _arrow(pen, start, end, width)
        elif mark["shape"] == RING:
            _ring(pen, start, end, width)
        if mark["words"]:
            font = _font_for(mark["words"], fonts, max(image.size) // 32)
            if font is None:
                numbered.append(number)
                font = _font_for(str(number), fonts, max(image.size) // 32)
            words = str(number) if number in numbered else mark["words"]
            _words(pen, image, start, words, font, width)
    return numbered


def _point(image: Image.Image, thousandths: list[int]) -> Point:
    return (
        thousandths[0] * (image.width - 1) / 1000,
        thousandths[1] * (image.height - 1) / 1000,
    )


def _arrow(pen: ImageDraw.ImageDraw, start: Point, end: Point, width: int) -> None:
    """Draw a line with its head at the end, on a white edge that shows on any ground."""
    angle, head = math.atan2(end[1] - start[1], end[0] - start[0]), 7 * width
    sides = [
        (end[0] - head * math.cos(angle + turn), end[1] - head * math.sin(angle + turn))
        for turn in (0.45, -0.45)
    ]
    neck = ((sides[0][0] + sides[1][0]) / 2, (sides[0][1] + sides[1][1]) / 2)
    for ink, wide in ((PAPER, width + 4), (INK, width)):
        pen.line([start, neck], fill=ink, width=wide)
        pen.polygon([end, *sides], fill=ink, outline=ink, width=wide - width + 1)


def _ring(pen: ImageDraw.ImageDraw, start: Point, end: Point, width: int) -> None:
    left, right = sorted((start[0], end[0]))
    top, bottom = sorted((start[1], end[1]))
    for ink, wide in ((PAPER, width + 4), (INK, width)):
        around = (wide - width) / 2
        box = (left - around, top - around, right + around, bottom + around)
        pen.ellipse(box, outline=ink, width=wide)


def _font_for(words: str, files: list[str], size: int) -> Font | None:
    """Return the first font that has every sign of the words."""
    for file in files:
        try:
            font = ImageFont.truetype(file, max(size, 12))
        except OSError:
            continue
        missing = bytes(font.getmask(_NOWHERE))
        if all(letter.isspace() or bytes(font.getmask(letter)) != missing for letter in words):
            return font
    return None


def _words(
    pen: ImageDraw.ImageDraw,
    image: Image.Image,
    at: Point,
    words: str,
    font: Font | None,
    width: int,
) -> None:
    """Write words on a white slip that begins at a point and stays in the picture."""
    text = _wrapped(pen, words, font, image.width * 0.6)
    left, top, right, bottom = pen.multiline_textbbox((0, 0), text, font=font)
    wide, high = right - left + 4 * width, bottom - top + 4 * width
    x = min(at[0], max(0, image.width - wide - width))
    y = min(at[1], max(0, image.height - high - width))
    pen.rectangle((x, y, x + wide, y + high), fill=PAPER, outline=INK, width=max(2, width // 2))
    pen.multiline_text((x + 2 * width - left, y + 2 * width - top), text, fill=INK, font=font)


def _wrapped(pen: ImageDraw.ImageDraw, words: str, font: Font | None, most: float) -> str:
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and pen.textlength(longer, font=font) > most:
            lines.append(word)
        else:
            lines[-1] = longer
    return "\n".join(lines)


def _jpeg(image: Image.Image) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=82, optimize=True, progressive=True)
    return out.getvalue()


def main() -> int:
    """Mark the picture on standard input."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    asked = json.loads(sys.argv[1])
    image = Image.open(BytesIO(sys.stdin.buffer.read()), formats=("JPEG",)).convert("RGB")
    numbered = drawn(image, asked["marks"], asked["fonts"])
    whole = _jpeg(image)
    image.thumbnail(SMALL)
    header = {"numbered": numbered, "whole": len(whole)}
    sys.stdout.buffer.write(json.dumps(header).encode() + b"\n" + whole + _jpeg(image))
    return 0


if __name__ == "__main__":
    sys.exit(main())
