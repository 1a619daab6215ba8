"""Rows as they stand in a ledger, without a database."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from shop.jobs.ledger import Row

NOW = datetime(2026, 1, 2, tzinfo=UTC)


def row(event_type: str, sequence: int = 1, /, at: datetime = NOW, **data: Any) -> Row:
    return Row(sequence, event_type, at, "bea", json.dumps(data), "")
