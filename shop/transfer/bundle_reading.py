"""Reading a bundle that somebody else may have made or damaged: bounded, and typed."""

from __future__ import annotations

import json
import zipfile
from typing import Any

from shop.transfer import export, tables, upgrades

MEGABYTE = 1 << 20
LARGEST_BUNDLE = 2048 * MEGABYTE
LARGEST_FILE = 64 * MEGABYTE
# Rows of a shop pack ten or thirty to one; deflate, of nothing but zeros, a thousand to one.
MOST_PACKED, PACKED_AT_WILL = 200, 16 * MEGABYTE
_LONGEST_FAULT = 300


class BundleError(Exception):
    """A bundle that was not imported; nothing of it was kept. The message is a sentence."""


def tables_of(archive: zipfile.ZipFile) -> upgrades.Tables:
    """Return the tables of a bundle as those of this edition; BundleError when they are not there."""
    bundle = json.loads(member(archive, export.BUNDLE, LARGEST_BUNDLE), parse_constant=_no_number)
    formats = (export.FORMAT, export.OLD_FORMAT)
    if not isinstance(bundle, dict) or bundle.get("format") not in formats:
        raise BundleError("The file holds no bundle of a shop.")
    version: Any = bundle.get("version")
    if type(version) is not int or not 1 <= version <= upgrades.VERSION:
        raise BundleError(
            f"The bundle is of version {str(version)[:20]}; "
            f"this edition reads 1 to {upgrades.VERSION}."
        )
    upgraded = upgrades.upgrade(_shaped(bundle.get("tables")), version)
    known = {tables.label(model) for model in tables.tables()}
    if upgraded.keys() != known:
        differing = ", ".join(sorted(upgraded.keys() ^ known))[:_LONGEST_FAULT]
        raise BundleError(f"Tables differ from this edition: {differing}.")
    return upgraded


def member(archive: zipfile.ZipFile, name: str, largest: int) -> bytes:
    """Return one file of the zip; BundleError when it would unpack to more than a shop can hold."""
    info = archive.getinfo(name)
    swollen = info.file_size > max(PACKED_AT_WILL, MOST_PACKED * info.compress_size)
    if info.file_size > largest or swollen:
        raise BundleError(
            f"{name} of the bundle would unpack to {info.file_size // MEGABYTE} MB; "
            "that is not from a shop."
        )
    # The library reads no more than the size it was told, and fails on a sum that differs.
    return archive.read(info)


def told(error: BaseException) -> str:
    """Return what an error says as a part of a sentence, in one line."""
    said = getattr(error, "messages", None) or [str(error) or type(error).__name__]
    return " ".join(" ".join(map(str, said)).split())[:_LONGEST_FAULT].rstrip(".")


def _shaped(found: object) -> upgrades.Tables:
    if not isinstance(found, dict):
        raise BundleError("The bundle has no tables.")
    for label, rows in found.items():
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise BundleError(f"Table {label[:60]} of the bundle is no list of rows.")
    return found


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")
