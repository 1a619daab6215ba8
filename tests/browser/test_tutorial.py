"""The tutorial is walked on a phone as it is written: what it names is there, and leads on."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings as django_settings

from shop.pages.first_run import door
from tests.browser import tutorial
from tests.browser.conftest import PHONE
from tests.browser.counting import Hand
from tests.browser.tutorial import Lost, Reader, Word

DOCS = Path(django_settings.ROOT) / "docs"
WORDS = list(tutorial.read((DOCS / "tutorial.md").read_text(encoding="utf-8")))
MOST_BYTES = 40_000

pytestmark = pytest.mark.browser_context_args(viewport=PHONE, is_mobile=True, has_touch=True)


@pytest.fixture
def reader(
    page, live_server, django_db_reset_sequences, quiet, settings, tmp_path, later, shoot
) -> Reader:
    """Somebody at the first page of an empty shop."""
    settings.DATA = tmp_path
    page.goto(f"{live_server.url}/first-run/{door.token()}/")
    return Reader(Hand(page), later, shoot)


def test_the_tutorial_leads_where_it_says(reader):
    for word in WORDS:
        reader.follow(word)
    print("\n".join(["", *reader.hand.story, str(reader.hand.count)]))


@pytest.mark.parametrize(
    ("word", "why"),
    [
        (Word(7, "press", "Open the shops"), "Nothing to press is called 'Open the shops'."),
        (Word(7, "field", "Name of the ship", "x"), "No field is called 'Name of the ship'."),
        (Word(7, "field", "Country of the shop", "Lilliput"), "'Lilliput' is not on the list"),
        (Word(7, "see", "Your ship"), "expected to contain text 'Your ship'"),
    ],
    ids=["press", "field", "choice", "see"],
)
def test_words_that_the_page_has_not_are_named_with_their_line(reader, word, why):
    with pytest.raises(Lost) as lost:
        reader.follow(word)
    assert str(lost.value).startswith("line 7: ")
    assert why in str(lost.value)


def test_what_is_on_the_page_is_found(reader):
    for word in (
        Word(7, "field", "Name of the shop", "Tin Lane"),
        Word(7, "field", "Country of the shop", "Germany"),
        Word(7, "see", "your SHOP"),
        Word(7, "press", "Take what is usual there"),
    ):
        reader.follow(word)
    assert reader.page.input_value("[name=shop_name]") == "Tin Lane"
    assert reader.page.input_value("[name=country]") == "DE"
    assert not reader.page.is_checked("[name=usual]")


PAGE = """\
How to read: **bold** is pressed.

## 1. A part

```sh
echo "not a word" **nor this**
```

> **DANGER** is for the reader.

* *Town* `Tinford`, *Line 2: Price* `18` **Keep it** and "Kept." follow
<img src="screenshots/a.png" width="240" alt="not a **word**">
<!-- later: 61 -->
"""


def test_a_page_is_read_in_its_order():
    assert list(tutorial.read(PAGE)) == [
        Word(3, "part", "1. A part"),
        Word(11, "field", "Town", "Tinford"),
        Word(11, "field", "Line 2: Price", "18"),
        Word(11, "press", "Keep it"),
        Word(11, "see", "Kept."),
        Word(12, "picture", "screenshots/a.png"),
        Word(13, "later", "61"),
    ]


def test_every_picture_of_the_tutorial_is_there_and_small():
    pictures = [DOCS / word.text for word in WORDS if word.kind == "picture"]
    assert 8 <= len(pictures) <= 10
    assert [file.name for file in pictures if not 0 < file.stat().st_size < MOST_BYTES] == []
