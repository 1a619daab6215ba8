"""A reader of `docs/tutorial.md` who does what it says, in its order, and looks for what it names.

How the page is written:

* **bold** is pressed: a button, a link, a box or a fold of exactly these words.
* *italics* with `a value` behind it is a field whose label begins like this, and what goes into
  it; before a colon stands the group that it is in.
* Words in "straight quotes" stand on the page by then.
* `<img src="...">` is a picture of the page as it stands.
* `<!-- later: 61 -->` puts the clock forward by minutes.

Code blocks and quoted lines (`>`) are for the reader alone.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import PurePosixPath

from playwright.sync_api import Locator, Page, expect

from tests.browser.counting import Hand

_FOR_THE_READER = re.compile(r"^```.*?^```|^>.*?$|`<[^`]*>`", re.S | re.M)
_WORD = re.compile(
    r"^## (?P<part>.+)$"
    r"|<!-- later: (?P<later>\d+) -->"
    r'|<img src="(?P<picture>[^"]+)"[^>]*>'
    r"|\*\*(?P<press>[^*]+)\*\*"
    r"|\*(?P<field>[^*\n]+)\* `(?P<value>[^`]+)`"
    r'|"(?P<see>[^"]+)"',
    re.M,
)


@dataclass(frozen=True)
class Word:
    """One thing to do or to see, and the line of the page where it stands."""

    line: int
    kind: str
    text: str
    value: str = ""

    def __str__(self) -> str:
        return f"line {self.line}: {self.kind} {self.text!r} {self.value}".rstrip()


def read(text: str) -> Iterator[Word]:
    """Yield what the parts of the page say to do and to see, in their order."""
    # As long as it was, so that lines keep their numbers.
    bare = _FOR_THE_READER.sub(lambda found: re.sub(r"[^\n]", " ", found.group()), text)
    for found in _WORD.finditer(bare, bare.index("\n## ")):
        said = {kind: words for kind, words in found.groupdict().items() if words is not None}
        value = said.pop("value", "")
        [(kind, words)] = said.items()
        line = bare.count("\n", 0, found.start()) + 1
        yield Word(line, kind, " ".join(words.split()), value)


class Lost(AssertionError):
    """The page has not what the tutorial names."""


class Reader:
    """Follows the words of the tutorial on a page."""

    def __init__(
        self,
        hand: Hand,
        later: Callable[[timedelta], None],
        picture: Callable[[Page, str], None],
    ) -> None:
        self.hand, self.page = hand, hand.page
        self._later, self._picture = later, picture

    def follow(self, word: Word) -> None:
        """Do or see this one; `Lost` says where one stands when it cannot be."""
        try:
            getattr(self, word.kind)(word)
        except AssertionError as error:
            there = self.page.locator("main").inner_text()
            raise Lost(f"{word}\n{error}\n\nThe page {self.page.url} has:\n{there}") from error

    def part(self, word: Word) -> None:
        """Begin a part: what the parts before it cost is kept."""
        self.hand.tell(f"before: {word.text}")

    def press(self, word: Word) -> None:
        """Press what is called so."""
        self.hand.tap(self._pressable(word.text))

    def field(self, word: Word) -> None:
        """Fill in the field with this label; of a list take the entry with these words."""
        place = _first_visible(self._fields(word.text))
        if place is None:
            raise AssertionError(f"No field is called {word.text!r}.")
        self.hand.fill(place, _value(place, word.value))

    def see(self, word: Word) -> None:
        """See these words, in whatever letters the page shows them."""
        expect(self.page.locator("main")).to_contain_text(
            word.text, ignore_case=True, use_inner_text=True
        )

    def later(self, word: Word) -> None:
        """Come back when so many minutes have gone by."""
        self._later(timedelta(minutes=int(word.text)))
        self.hand.reload()

    def picture(self, word: Word) -> None:
        """Take the picture that stands here, from the top of the page."""
        self.page.evaluate("window.scrollTo(0, 0)")
        self._picture(self.page, PurePosixPath(word.text).stem)

    def _fields(self, words: str) -> Iterator[Locator]:
        """Yield what may be meant: `Town`, or `Line 2: Price of one` within that group."""
        group, _, label = words.rpartition(": ")
        begins = re.compile(rf"^\s*{re.escape(label)}")
        scopes = (
            [self.page.get_by_role("group", name=group, exact=True)] if group else self._scopes()
        )
        return (scope.get_by_label(begins) for scope in scopes)

    def _scopes(self) -> list[Locator]:
        """Return where to look: the card first, then the page, then its menus."""
        return [self.page.locator(where) for where in ("section.act", "main", "body")]

    def _pressable(self, words: str) -> Locator:
        found = _first_visible(
            places
            for scope in self._scopes()
            for places in (
                *(scope.get_by_role(r, name=words, exact=True) for r in ("button", "link")),
                scope.get_by_label(words, exact=True).and_(
                    scope.locator("[type=checkbox], [type=radio]")
                ),
                scope.locator("summary").filter(has_text=_exactly(words)),
            )
        )
        if found is None:
            raise AssertionError(f"Nothing to press is called {words!r}.")
        return found


def _value(place: Locator, words: str) -> str:
    """Return what a field is given: the words themselves, of a list the value behind them."""
    if place.evaluate("found => found.tagName") != "SELECT":
        return words
    entries = place.locator("option").filter(has_text=_exactly(words))
    if not entries.count():
        raise AssertionError(f"{words!r} is not on the list.")
    return entries.first.get_attribute("value") or ""


def _exactly(words: str) -> re.Pattern[str]:
    return re.compile(rf"^\s*{re.escape(words)}\s*$")


def _first_visible(places: Iterator[Locator]) -> Locator | None:
    return next((one for found in places for one in found.all() if one.is_visible()), None)
