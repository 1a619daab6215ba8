"""Where files lie: beside the code in a clone, inside the packages of an installed copy."""

from __future__ import annotations

import os
import sys
import tomllib
from collections.abc import Mapping
from importlib import metadata
from pathlib import Path

# The folder of the packages: of the clone, or of all packages that are installed.
ROOT = Path(__file__).resolve().parents[2]
# A wheel alone has its templates here; the build puts them there (pyproject.toml).
_PACKED_TEMPLATES = ROOT / "shop" / "templates"
INSTALLED = _PACKED_TEMPLATES.is_dir()
TEMPLATES = _PACKED_TEMPLATES if INSTALLED else ROOT / "templates"
# Where child processes run: a clone is on nobody's path, and an installed copy must not be put
# before Python's own modules.
WORKING_FOLDER = None if INSTALLED else ROOT
COMMAND = "benchtag" if INSTALLED else "manage.py"


def default_data_folder() -> Path:
    """Return `data` here for a clone; for an installed copy a folder of whoever runs it.

    RuntimeError when nobody says where that person's home is.
    """
    return of_this_person(sys.platform, os.environ) if INSTALLED else Path("data")


def of_this_person(platform: str, environment: Mapping[str, str]) -> Path:
    """Return where a person's data of this program goes.

    Source: XDG Base Directory Specification 0.8 (a path that is not absolute is ignored), and
    Apple's File System Programming Guide for macOS.
    """
    if platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "benchtag"
    given = Path(environment.get("XDG_DATA_HOME", ""))
    return (given if given.is_absolute() else Path.home() / ".local" / "share") / "benchtag"


def version() -> str:
    """Return the version of this copy."""
    if INSTALLED:
        return metadata.version("benchtag")
    with (ROOT / "pyproject.toml").open("rb") as file:
        return str(tomllib.load(file)["project"]["version"])
