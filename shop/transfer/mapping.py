"""Which column of somebody's spreadsheet is which of ours: guessed, chosen, and remembered by the head."""

from __future__ import annotations

import csv
import gzip
import hashlib
import io
import json
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.lib.refusals import bad
from shop.lib.text import quoted
from shop.transfer import chosen_file, spreadsheet
from shop.transfer.models import ColumnMapping, ImportDraft

LEFT_OUT = ""
_KEPT = timedelta(days=1)


def start(name: str, content: bytes, *, by: User, at: datetime) -> ImportDraft:
    """Keep a file until its columns are chosen, a day at most; BadInput when it cannot be read."""
    roles.require(by, "import")
    head, rows = chosen_file.read(name, content)
    packed = gzip.compress(json.dumps(rows).encode())
    return ImportDraft.objects.create(
        by=by, made_at=at, name=name[:255], head=head, mapping=_guess(head), content=packed
    )


def forget(*, now: datetime) -> int:
    """Take files away that nobody imported within a day: customers stand in them."""
    return ImportDraft.objects.filter(made_at__lt=now - _KEPT).delete()[0]


def rows_of(draft: ImportDraft) -> list[list[str]]:
    """Return the rows of a file that is kept."""
    rows: list[list[str]] = json.loads(gzip.decompress(bytes(draft.content)))
    return rows


def choose(draft: ImportDraft, chosen: Sequence[str]) -> None:
    """Keep what was chosen for each column; BadInput for what is not ours or is chosen twice."""
    if len(chosen) != len(draft.head):
        raise bad("columns", _("Choose for every column what it is, or leave it out."))
    taken = [name for name in chosen if name != LEFT_OUT]
    for name in taken:
        if name not in spreadsheet.COLUMNS:
            raise bad(
                "columns",
                _("column {name} is not known; choose one of the list.").format(name=quoted(name)),
            )
        if taken.count(name) > 1:
            raise bad(
                "columns",
                _("{name} is chosen for two columns; leave one of them out.").format(name=name),
            )
    if not taken:
        raise bad("columns", _("All columns are left out; choose what at least one of them is."))
    draft.mapping = list(chosen)
    draft.save(update_fields=["mapping"])


def remember(draft: ImportDraft) -> None:
    """Keep the choice for the next file with the same head."""
    ColumnMapping.objects.update_or_create(
        head=_key(draft.head), defaults={"mapping": draft.mapping}
    )


def content_of(draft: ImportDraft) -> bytes:
    """Return the file with our names for its columns, as an import takes it."""
    places = [at for at, name in enumerate(draft.mapping) if name != LEFT_OUT]
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([draft.mapping[at] for at in places])
    writer.writerows([row[at] for at in places] for row in rows_of(draft))
    return gzip.compress(text.getvalue().encode())


def _guess(head: list[str]) -> list[str]:
    known = ColumnMapping.objects.filter(head=_key(head)).first()
    if known is not None and len(known.mapping) == len(head):
        return [name if name in spreadsheet.COLUMNS else LEFT_OUT for name in known.mapping]
    return list(_by_name(head))


def _by_name(head: list[str]) -> Iterator[str]:
    """Yield our column of each name that is ours, the first time that it comes."""
    taken = set[str]()
    for name in head:
        ours = spreadsheet.our_name(name)
        known = ours in spreadsheet.COLUMNS and ours not in taken
        taken.add(ours)
        yield ours if known else LEFT_OUT


def _key(head: list[str]) -> str:
    named = json.dumps([name.strip().casefold() for name in head])
    return hashlib.sha256(named.encode()).hexdigest()
