"""Rows as they stand in a ledger, without a database."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from shop.jobs.ledger import Row

NOW = datetime(2026, 1, 2, tzinfo=UTC)


def row(event_type: str, sequence: int = 1, /, at: datetime = NOW, **data: Any) -> Row:
    return stored(event_type, sequence, json.dumps(data), at)


def stored(event_type: str, sequence: int, body: str, at: datetime = NOW) -> Row:
    """A row with this very text as its data."""
    return Row(sequence=sequence, event_type=event_type, at=at, by_name="bea", body=body, hash="")
