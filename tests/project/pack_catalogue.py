"""Words of the rule pack for the catalogues, and which of its translations a technician has read.

Whoever has read the translation of a safety text writes the comment `Read by NAME, DAY` over it
in the .po file. `python -m tests.project.catalogues` seals it with a sum over both texts, so that
it falls when one of them changes.
"""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from babel.messages.catalog import Catalog, Message

from checklists.engine import reading_packs, wording
from checklists.engine.wording import READ, SAFETY, WORDS, Wording
from shop.lib.calculator_words import CONTEXT

PACK = Path("checklists/packs")
_CLOSED_WORDS = Path("checklists/engine/wording.py")
# A source such as "common practice" stands beside hundreds of steps.
_MOST_NAMED = 3
_ROOT = Path(__file__).resolve().parents[2]
_NAME = {"rule": "id", "step": "key", "card": "name", "suspect": "key", "hazard": "key"}
_MARK = re.compile(r"Read by (?P<name>[^,]+), (?P<day>\d{4}-\d\d-\d\d)(?:: (?P<sum>[0-9a-f]{8}))?")


def wordings(root: Path = _ROOT) -> list[Wording]:
    """Return every word of the pack in `root` that pages show."""
    pack = reading_packs.load(root / PACK)
    return [*wording.of_pack(pack), *wording.of_vocabulary()]


def added(catalog: Catalog, root: Path = _ROOT) -> Catalog:
    """Add the words of the pack to a template; what is a safety text anywhere is one."""
    by_text: dict[str, list[Wording]] = defaultdict(list)
    for one in sorted(wordings(root), key=lambda one: (one.kind, one.name, one.part)):
        by_text[one.text].append(one)
    files = _files(root)
    for text, uses in by_text.items():
        named = [
            (files.get((one.kind, one.name), _CLOSED_WORDS), one) for one in uses[:_MOST_NAMED]
        ]
        catalog.add(
            text,
            # No line: it would change with every other line of the file.
            locations=[(file.as_posix(), None) for file in dict.fromkeys(f for f, _ in named)],
            auto_comments=[f"{one.kind} {one.name}: {one.part}" for _, one in named],
            context=SAFETY if any(one.safety for one in uses) else WORDS,
            flags=["python-brace-format"] if "{" in text else [],
        )
    return catalog


def kept(catalog: Catalog, before: Catalog, template: Catalog) -> Catalog:
    """Add to a catalogue what somebody translated of the pack, or of calculations, as it still is."""
    for message in template:
        known = before.get(message.id, message.context) if _was_added(message) else None
        if known is not None and known.string:
            copy = catalog.add(
                message.id,
                known.string,
                message.locations,
                auto_comments=message.auto_comments,
                user_comments=known.user_comments,
                context=message.context,
            )
            copy.user_comments = list(_sealed(copy))
    return catalog


def is_of_pack(message: Message) -> bool:
    """Whether it is a word of the pack."""
    return message.context in (WORDS, SAFETY)


def _was_added(message: Message) -> bool:
    """Whether gettext does not find it, so that it would drop what was translated of it."""
    return is_of_pack(message) or message.context == CONTEXT


def is_read(message: Message) -> bool:
    """Whether a technician has read this translation of this text."""
    mark = _mark(message)
    return mark is not None and mark["sum"] == sum_of(message)


def as_compiled(catalog: Catalog) -> Catalog:
    """Return a catalogue as pages may see it: safety texts that were read, under their own context."""
    seen = Catalog(locale=catalog.locale, fuzzy=False)
    seen.mime_headers = catalog.mime_headers
    for message in catalog:
        if message.context != SAFETY:
            seen[message.id] = message
        elif is_read(message):
            seen.add(message.id, message.string, context=READ)
    return seen


def sum_of(message: Message) -> str:
    """Return the sum that ties a mark to the text and its translation."""
    both = f"{message.id}\0{message.string}"
    return hashlib.sha256(both.encode()).hexdigest()[:8]


def _mark(message: Message) -> re.Match[str] | None:
    return _MARK.search(" ".join(message.user_comments))


def _sealed(message: Message) -> Iterator[str]:
    """Yield the comments: a mark without a sum gets one, a mark of other words is dropped."""
    mark = _mark(message)
    if mark is None:
        yield from message.user_comments
    elif mark["sum"] in (None, sum_of(message)):
        yield f"Read by {mark['name']}, {mark['day']}: {sum_of(message)}"


@cache
def _files(root: Path) -> dict[tuple[str, str], Path]:
    """Return where each rule, step, card, hazard and suspect stands."""
    return {
        (kind, table[key]): file.relative_to(root)
        for file in sorted((root / PACK).glob("*.toml"))
        if reading_packs.holds_rules(file)
        for kind, key in _NAME.items()
        for table in tomllib.loads(file.read_text(encoding="utf-8")).get(kind, [])
    }
