"""Versions: the changelog names each with its day, and the newest is the one that is built."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from django.conf import settings as django_settings

from shop.site import places

CHANGES = Path(django_settings.ROOT) / "CHANGELOG.md"


def versions(text: str) -> list[tuple[tuple[int, ...], date]]:
    """Return number and day of each version, as they stand; ValueError for another heading."""
    found = []
    for heading in re.findall(r"^## (.+)$", text, re.M):
        if heading == "Unreleased" and not found:
            continue
        named = re.fullmatch(r"(\d+)\.(\d+)\.(\d+) \((\d{4}-\d\d-\d\d)\)", heading)
        if named is None:
            raise ValueError(f"{heading!r} is no version with its day: 0.1.0 (2026-11-26).")
        *numbers, day = named.groups()
        found.append((tuple(map(int, numbers)), date.fromisoformat(day)))
    return found


def faults(text: str, built: str) -> list[str]:
    """Return what the changelog has wrong about its versions."""
    try:
        found = versions(text)
    except ValueError as error:
        return [str(error)]
    said = [] if found == sorted(found, reverse=True) else ["The newest version is not on top."]
    newest = ".".join(map(str, found[0][0])) if found else "none"
    return said if newest == built else [*said, f"The newest is {newest}, {built} is built."]


def test_the_newest_version_of_the_changelog_is_built():
    assert faults(CHANGES.read_text(encoding="utf-8"), places.version()) == []


def test_what_a_changelog_can_have_wrong_is_named():
    good = "## Unreleased\n\n## 0.2.0 (2027-01-02)\n\n## 0.1.0 (2026-11-26)\n"
    assert faults(good, "0.2.0") == []
    assert faults(good, "0.3.0") == ["The newest is 0.2.0, 0.3.0 is built."]
    assert faults("## Unreleased\n", "0.1.0") == ["The newest is none, 0.1.0 is built."]
    turned = "## 0.1.0 (2026-11-26)\n\n## 0.2.0 (2027-01-02)\n"
    assert "The newest version is not on top." in faults(turned, "0.1.0")
    for heading in ("0.1.0", "0.1 (2026-11-26)", "0.1.0 (2026-13-26)"):
        assert faults(f"## {heading}\n", "0.1.0") != []
    assert faults("## 0.1.0 (2026-11-26)\n\n## Unreleased\n", "0.1.0") != []
