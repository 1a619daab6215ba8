"""Files that somebody damaged or forged: each drawn from a seed, so that it can be drawn again."""

from __future__ import annotations

import copy
import io
import json
import random
import sqlite3
import zipfile
from pathlib import Path
from typing import Any

from shop.transfer import export

BOMB = 40 * 1024 * 1024
ODD: list[Any] = [
    None, True, False, 0, -1, 1, 10**30, 1.5, 1e308, "", "x", "full", "isolated", "released",
    "\ud800", "\x00", "2026-99-99", "2026-01-01T00:00:00", "9999-12-31T23:59:59.999999+00:00",
    "0001-01-01T00:00:00+14:00", "1e400", "-0", [], [[]], {}, {"a": {"b": []}}, "x" * 5000, "Ω",
]  # fmt: skip


def _odd(chance: random.Random) -> Any:
    """A value of its own each time: what is changed later changes no other, and holds not itself."""
    return copy.deepcopy(chance.choice(ODD))


def bytes_of(raw: bytes, chance: random.Random) -> bytes:
    """Flip, cut, repeat, blank or swap pieces of a file."""
    changed = bytearray(raw)
    way = chance.randrange(6)
    at, length = chance.randrange(len(raw)), chance.choice([1, 4, 64, 512, 4096])
    if way == 0:
        for _ in range(chance.choice([1, 2, 8, 64])):
            changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(8)
    elif way == 1:
        del changed[at:]
    elif way == 2:
        del changed[at : at + length]
    elif way == 3:
        changed[at:at] = changed[at : at + length]
    elif way == 4:
        changed[at : at + length] = bytes(len(changed[at : at + length]))
    else:
        other = chance.randrange(len(raw))
        changed[at : at + length] = raw[other : other + length]
    return bytes(changed)


def bundle(raw: bytes, seed: int) -> bytes:
    """Return a bundle with something wrong in its bytes, its members, or what they say."""
    chance = random.Random(seed)
    way = chance.choice(["bytes", "members", "says", "says", "says"])
    if way == "bytes":
        return bytes_of(raw, chance)
    with zipfile.ZipFile(io.BytesIO(raw)) as source:
        files = {name: source.read(name) for name in source.namelist()}
    if way == "members":
        return _members(files, chance)
    tables = json.loads(files[export.BUNDLE])
    for _ in range(chance.choice([1, 1, 1, 2, 5])):
        _say_otherwise(tables, chance)
    return _zip(files | {export.BUNDLE: json.dumps(tables).encode()})


def _members(files: dict[str, bytes], chance: random.Random) -> bytes:
    name, other = chance.choice(list(files)), chance.choice(list(files))
    way = chance.randrange(6)
    if way == 0:
        files[name], files[other] = files[other], files[name]
    elif way == 1:
        del files[name]
    elif way == 2:
        files[name] = bytes_of(files[name] or b"x", chance)
    elif way == 3:
        files[export.BUNDLE] = b" " * BOMB
    elif way == 4:
        files[export.BUNDLE] = b'{"format":' + b"[" * 200_000
    else:
        return _with_a_wrong_size(_zip(files), chance)
    return _zip(files)


def _with_a_wrong_size(raw: bytes, chance: random.Random) -> bytes:
    """Let the directory of the zip lie about how large a member is."""
    changed = bytearray(raw)
    entry = changed.find(b"PK\x01\x02")
    size = chance.choice([0, 1, 2**31, 2**32 - 1])
    changed[entry + 24 : entry + 28] = size.to_bytes(4, "little")
    return bytes(changed)


def _zip(files: dict[str, bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, body in files.items():
            archive.writestr(name, body)
    return target.getvalue()


def _say_otherwise(bundle: dict[str, Any], chance: random.Random) -> None:
    """Change one thing in the JSON, most often in a row of a job, a permit or a ledger."""
    tables = bundle.get("tables")
    if not isinstance(tables, dict):
        return
    filled = [label for label, rows in tables.items() if rows]
    grave = [label for label in ("jobs.job", "jobs.permit", "jobs.ledgerrow") if tables.get(label)]
    if not filled or chance.random() < 0.05:
        bundle[chance.choice(list(bundle))] = _odd(chance)
        return
    label = chance.choice(grave) if grave and chance.random() < 0.5 else chance.choice(filled)
    rows = tables[label]
    place = chance.randrange(len(rows)) if isinstance(rows, list) else 0
    _change_row(tables, label, place, chance)


def _change_row(tables: dict[str, Any], label: str, place: int, chance: random.Random) -> None:
    rows, way = tables[label], chance.randrange(10)
    if not isinstance(rows, list) or not isinstance(rows[place], dict) or not rows[place]:
        return
    column = chance.choice(list(rows[place]))
    if way == 0:
        tables[label] = _odd(chance)
    elif way == 1:
        rows[place] = _odd(chance)
    elif way == 2:
        rows.append(rows[place])
    elif way == 3:
        del rows[place]
    elif way == 4:
        del rows[place][column]
    elif way == 5:
        other = chance.choice(rows)
        if isinstance(other, dict):
            rows[place][column] = other.get(column)
    else:
        rows[place][column] = _odd(chance)


def backup(file: Path, target: Path, seed: int) -> None:
    """Write a backup with something wrong in its bytes, its pages or its rows."""
    chance = random.Random(seed)
    raw = file.read_bytes()
    way = chance.choice(["bytes", "pages", "rows", "rows"])
    if way == "bytes":
        raw = bytes_of(raw, chance)
    elif way == "pages":
        page, pages = 4096, len(raw) // 4096
        one, other = (chance.randrange(pages) * page for _ in range(2))
        raw = raw[:one] + raw[other : other + page] + raw[one + page :]
    target.write_bytes(raw)
    if way == "rows":
        _change_rows(target, chance)


def _change_rows(file: Path, chance: random.Random) -> None:
    link = sqlite3.connect(file)
    for (name,) in link.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        link.execute(f"DROP TRIGGER {name}")
    link.execute("PRAGMA ignore_check_constraints = ON")
    tables = ("jobs_job", "jobs_ledgerrow", "jobs_permit", "jobs_unit", "auth_user")
    table = chance.choice(tables)
    columns = [row[1] for row in link.execute(f"PRAGMA table_info({table})")]
    column = chance.choice(columns)
    value = chance.choice([*ODD[:22], b"\xff\xfe", b"", 2**63 - 1])
    value = value if isinstance(value, str | bytes | float | None) or abs(value) < 2**63 else "big"
    if isinstance(value, str):
        value = value.encode("utf-8", "surrogatepass").decode("utf-8", "replace")
    which = "rowid = (SELECT rowid FROM {0} ORDER BY rowid LIMIT 1 OFFSET {1})"
    where = which.format(table, chance.randrange(2))
    try:
        if chance.random() < 0.1:
            link.execute(f"DELETE FROM {table} WHERE {where}")
        elif chance.random() < 0.1:
            link.execute(f"UPDATE {table} SET {column} = CAST(x'ff00fe' AS TEXT) WHERE {where}")
        else:
            link.execute(f"UPDATE {table} SET {column} = ? WHERE {where}", [value])
    except sqlite3.IntegrityError:
        pass  # the file itself does not take it
    link.commit()
    link.close()
