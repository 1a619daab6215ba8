"""The desk's part of the demo: an estimate under way, a question, and pictures that are drawn."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO

from PIL import Image, ImageDraw

from shop.customers.links import keys
from shop.demo.story import Story
from shop.estimates import services as estimate_services
from shop.estimates.models import EstimateLine
from shop.jobs import commands, queries
from shop.photos import processing
from shop.photos import services as photos
from shop.photos.models import Photo
from shop.photos.services import PhotoSubject

_WORDS = (
    "It clicks off when it is warm: the paste between the output transistors and their heat sink has "
    "dried out. We would take the old paste off, renew it on both channels, set the idle current anew "
    "and prove it over a day. If nothing is done it will go on clicking off, and one day take its "
    "output stage with it."
)


def asked(story: Story) -> None:
    """An estimate is sent, and the customer has a question to it."""
    estimate_services.get_or_create_draft(story.number, by=story.by, at=story.at)
    labour = _line(EstimateLine.LABOUR, "Renew the paste, set and prove", "2", "64")
    paste = _line(EstimateLine.PART, "Heat-sink paste and insulators", "1", "9.80")
    estimate_services.save_draft(story.number, _WORDS, [labour, paste], by=story.by)
    sent = estimate_services.send_draft(story.number, by=story.by, at=story.at)
    keys.link_for(queries.job(story.number, story.at), now=story.at)
    question = "Will it keep its old knobs?"
    commands.record_estimate_answer(
        story.number, "question", version=sent.version, note=question, at=story.at
    )
    story.wrote("question_replied", text="Yes. Nothing on the outside is changed.")
    commands.record_estimate_answer(
        story.number, "yes", version=sent.version, note="", at=story.later(hours=5).at
    )


def _line(sort: str, words: str, quantity: str, price: str) -> dict[str, object]:
    return {
        "sort": sort,
        "words": words,
        "quantity": Decimal(quantity),
        "price": Decimal(price),
        "tax_rate": Decimal(0),
        "need": None,
        "work": "",
    }


def pictured(story: Story) -> None:
    """The board before and after, as a drawing: the demo has no camera."""
    before = _add(story, _board("#5a3a1a", bulged=True), "First reservoir, 31 of 50 uF")
    _add(story, _board("#2a4a7a", bulged=False), "First reservoir, renewed", before)


def _add(story: Story, drawn: Image.Image, caption: str, before: Photo | None = None) -> Photo:
    out = BytesIO()
    drawn.save(out, "PNG")
    made = processing.decode_photo("drawing.png", out.getvalue())
    about = PhotoSubject(caption=caption, before=before)
    return photos.add_photo(story.number, made, about, by=story.by, at=story.at)


def _board(sleeve: str, *, bulged: bool) -> Image.Image:
    """Draw a board with two capacitors, one of them well or ill."""
    board = Image.new("RGB", (1200, 800), "#2f5d3a")
    pen = ImageDraw.Draw(board)
    for track in range(80, 800, 90):
        pen.line((0, track, 1200, track + 40), fill="#8a7a3a", width=14)
    for left, colour, ill in ((180, sleeve, bulged), (700, "#2a4a7a", False)):
        pen.rounded_rectangle((left, 200, left + 320, 680), 30, fill=colour)
        top = (left, 140, left + 320, 300) if ill else (left, 180, left + 320, 260)
        pen.ellipse(top, fill="#b9b9b9")
        if ill:
            pen.ellipse((left + 90, 640, left + 300, 760), fill="#6b5a2a")
    return board
