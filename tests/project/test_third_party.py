"""Every package that the project needs is named with the licence that it names itself."""

from __future__ import annotations

import re
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from django.conf import settings as django_settings

ROOT = Path(django_settings.ROOT)
_FIELDS = ("License-Expression", "License", "Classifier")


def needed() -> set[str]:
    """Return the packages of pyproject.toml, those for contributors apart."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    wanted = [project["dependencies"], *(extras[name] for name in extras if name != "dev")]
    return {re.match(r"[\w.-]+", line)[0] for lines in wanted for line in lines}


def named() -> dict[str, str]:
    """Return the licence that the page names for each package."""
    page = (ROOT / "docs" / "third-party.md").read_text(encoding="utf-8")
    packages = page.partition("## Packages")[2]
    rows = re.findall(r"^\| (\w+) \| (`.+) \|$", packages, re.M)
    return {name: licence for licence, cell in rows for name in re.findall(r"`([^`]+)`", cell)}


def own_words(package: str) -> str:
    """Return what a package says of its licence."""
    said = metadata.metadata(package)
    lines = [line for field in _FIELDS for line in said.get_all(field, [])]
    return " ".join(line.replace("Lesser General Public", "LGPL") for line in lines)


def test_every_package_is_named():
    assert set(named()) == needed()


@pytest.mark.parametrize(("package", "licence"), sorted(named().items()))
def test_the_licence_is_the_one_that_the_package_names(package, licence):
    assert re.search(rf"\b{licence}", own_words(package)), own_words(package)[:200]


def test_a_licence_that_is_another_is_noticed():
    assert not re.search(r"\bMIT", own_words("typst"))
    assert not re.search(r"\bBSD", own_words("pywebpush"))
