"""A hand that counts: what it taps, what it fills in, how many pages it has to wait for.

A tap is a button, a link, a box or a fold that is touched. A field is a value that is typed or
chosen from a list; one that the page filled in already costs nothing. A load is a whole page that
the browser fetched; an answer that comes into the page is none.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from playwright.sync_api import Locator, Page, Request

_QUIET_MILLISECONDS = 40
_MOST_LOOKS = 500


@dataclass(frozen=True, order=True)
class Count:
    """Taps, fields and page loads of a journey."""

    taps: int
    fields: int
    loads: int

    def within(self, most: Count) -> bool:
        return self.taps <= most.taps and self.fields <= most.fields and self.loads <= most.loads

    def __str__(self) -> str:
        return f"{self.taps} taps, {self.fields} fields, {self.loads} page loads"


@dataclass
class Hand:
    """One thumb on a page."""

    page: Page
    taps: int = 0
    fields: int = 0
    loads: int = 0
    # What was done, a line for each page or card, and how tall the page was then.
    story: list[str] = field(default_factory=list)
    heights: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._asked: set[Request] = set()
        self.page.on("load", lambda _: self._loaded())
        self.page.on("request", self._sent)
        self.page.on("requestfinished", self._answered)
        self.page.on("requestfailed", self._answered)

    def _loaded(self) -> None:
        self.loads += 1
        # What a page had asked for goes with it.
        self._asked.clear()

    def _sent(self, request: Request) -> None:
        if request.resource_type in ("document", "xhr", "fetch"):
            self._asked.add(request)

    def _answered(self, request: Request) -> None:
        self._asked.discard(request)

    @property
    def count(self) -> Count:
        return Count(self.taps, self.fields, self.loads)

    def tap(self, what: Locator) -> None:
        """Touch it, and wait until the page rests."""
        self.taps += 1
        what.click()
        self.rest()

    def fill(self, what: Locator, value: object) -> None:
        """Type a value into a field, or choose it from a list."""
        self.fields += 1
        if what.evaluate("found => found.tagName") == "SELECT":
            what.select_option(str(value))
        else:
            what.fill(str(value))

    def tick(self, what: Locator) -> None:
        """Touch a box that is not ticked yet."""
        if not what.is_checked():
            self.taps += 1
            what.check()

    def reload(self) -> None:
        """Come back to the page later."""
        self.page.reload()
        self.rest()

    def tell(self, words: str) -> None:
        """Keep what has been done so far under these words, and how tall the page is that follows."""
        self.story.append(f"{self.count!s:40} {words}")
        tall = self.page.evaluate("document.documentElement.scrollHeight")
        self.heights[words] = max(tall, self.heights.get(words, 0))

    def rest(self) -> None:
        """Wait until nothing is on its way and nothing is being put in place."""
        for _ in range(_MOST_LOOKS):
            self.page.wait_for_timeout(_QUIET_MILLISECONDS)
            if not self._asked and self.page.evaluate(
                "document.readyState === 'complete' && "
                "!document.querySelector('.htmx-request, .htmx-swapping, .htmx-settling')"
            ):
                return
        raise AssertionError(f"{self.page.url} does not come to rest.")
