"""The drawing of the house is that of the code."""

from __future__ import annotations

from tests.project import architecture


def test_the_page_shows_the_rooms_as_they_are():
    text = architecture.PAGE.read_text(encoding="utf-8")
    assert architecture.page(text) == text, "run python -m tests.project.architecture"


def test_every_room_says_what_it_is():
    rooms = [room for layer in architecture.layers() for room in layer]
    assert [room for room in rooms if not architecture.purpose(room)] == []


def test_no_arrow_runs_upward_and_there_is_no_circle():
    place = {room: n for n, layer in enumerate(architecture.layers()) for room in layer}
    wrong = [
        f"{room} -> {other}"
        for room, others in architecture.arrows().items()
        for other in others
        if place[other] <= place[room]
    ]
    assert wrong == []
