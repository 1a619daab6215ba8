"""The database's own full-text index: FTS5 in SQLite, tsvector and GIN in PostgreSQL.

A job has three fields of words: `unit` weighs most, then `complaint`, then `other`. Words are those of
`tokens.words_of`, and neither database cuts them up anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import connection

# The attributes of JobWords, and the columns under which the index was made.
COLUMNS = {"unit": "unit", "complaint": "said", "other": "rest"}
WEIGHTS = {"unit": 8, "complaint": 3, "other": 1}
# PostgreSQL keeps positions up to this one.
_LAST_POSITION = 16_383


@dataclass(frozen=True)
class JobWords:
    """The words of a job by field, as of so many rows of its ledger."""

    job: int
    head: int
    unit: Sequence[str]
    complaint: Sequence[str]
    other: Sequence[str]

    def matches(self, groups: Sequence[Group], *, any_group: bool = False) -> bool:
        """Tell whether the index would find these groups in these words."""
        found = (any(self._has(choice) for choice in group) for group in groups)
        return any(found) if any_group else all(found)

    def weight(self, groups: Sequence[Group]) -> int:
        """Return how much these groups weigh here: most in the unit, then in the complaint."""
        return sum(
            max((WEIGHTS[name] for name in COLUMNS if self._has(choice, name)), default=0)
            for group in groups
            for choice in group
        )

    @property
    def words(self) -> set[str]:
        """Every word."""
        return {word for name in COLUMNS for word in getattr(self, name)}

    def _has(self, run: Sequence[str], *names: str) -> bool:
        return any(_runs_in(run, getattr(self, name)) for name in names or COLUMNS)


def _runs_in(run: Sequence[str], words: Sequence[str]) -> bool:
    """Whether the words hold this run; its last word may be the beginning of one."""
    *whole, last = run
    for start in range(len(words) - len(whole)):
        place = start + len(whole)
        if list(words[start:place]) == whole and words[place].startswith(last):
            return True
    return False


# What is looked for: every group must be there, by any one of its choices; a choice is a run of
# words, the last of which may go on.
Group = Sequence[Sequence[str]]


def replace_entries(entries: Iterable[JobWords]) -> None:
    """Write the words of jobs in place of what was there."""
    rows = list(entries)
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.executemany(
                "DELETE FROM search_fts WHERE rowid = %s", [(entry.job,) for entry in rows]
            )
            cursor.executemany(
                "INSERT INTO search_fts (rowid, unit, said, rest) VALUES (%s, %s, %s, %s)",
                [
                    (entry.job, *(" ".join(getattr(entry, name)) for name in COLUMNS))
                    for entry in rows
                ],
            )
        else:
            cursor.executemany(
                "INSERT INTO search_vector (job_id, words) VALUES (%s, %s::tsvector)"
                " ON CONFLICT (job_id) DO UPDATE SET words = EXCLUDED.words",
                [(entry.job, _vector(entry)) for entry in rows],
            )


def find_jobs(groups: Sequence[Group], limit: int, *, any_group: bool = False) -> list[int]:
    """Return the numbers of the best jobs, best first; with `any_group` one group is enough."""
    if not groups:
        return []
    query = (
        _sqlite(groups, any_group) if connection.vendor == "sqlite" else _tsquery(groups, any_group)
    )
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(
                "SELECT rowid FROM search_fts WHERE search_fts MATCH %s"
                " ORDER BY bm25(search_fts, 8, 3, 1), rowid DESC LIMIT %s",
                [query, limit],
            )
        else:
            # Ranked are the newest thousands: a word of every job tells nothing of any.
            cursor.execute(
                "SELECT job_id FROM (SELECT job_id, words FROM search_vector"
                " WHERE words @@ %s::tsquery ORDER BY job_id DESC LIMIT 5000) AS found"
                " ORDER BY ts_rank('{0.05, 0.1, 0.3, 1.0}', words, %s::tsquery) DESC, job_id DESC"
                " LIMIT %s",
                [query, query, limit],
            )
        return [row[0] for row in cursor.fetchall()]


def _vector(entry: JobWords) -> str:
    """Return the literal of a tsvector: words with places and weights, no parser between."""
    parts, place = [], 0
    for weight, name in zip("ABC", COLUMNS, strict=True):
        for word in getattr(entry, name):
            place = min(place + 1, _LAST_POSITION)
            parts.append(f"'{word}':{place}{weight}")
        place = min(place + 10, _LAST_POSITION)  # no run goes on from one field into the next
    return " ".join(parts)


def _tsquery(groups: Sequence[Group], any_group: bool) -> str:
    """Return the literal of a tsquery; no parser between."""
    return (" | " if any_group else " & ").join(
        "(" + " | ".join(f"({_phrase(choice)})" for choice in group) + ")" for group in groups
    )


def _phrase(words: Sequence[str]) -> str:
    return " <-> ".join(f"'{word}'" for word in words) + ":*"


def _sqlite(groups: Sequence[Group], any_group: bool) -> str:
    return (" OR " if any_group else " AND ").join(
        "(" + " OR ".join(f'"{" ".join(choice)}"*' for choice in group) + ")" for group in groups
    )
