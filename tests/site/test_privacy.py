"""What lies in the data folder is nobody else's to read."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from shop.site import env


@pytest.fixture
def _umask():
    before = os.umask(0o022)
    os.umask(before)
    yield
    os.umask(before)


@pytest.mark.usefixtures("_umask")
def test_an_open_folder_is_closed_with_what_is_in_it(tmp_path):
    folder = tmp_path / "bench"
    (folder / "backups").mkdir(parents=True)
    database, backup = folder / "benchtag.sqlite3", folder / "backups" / "one.sqlite3"
    for file in (database, backup):
        file.write_text("x")
        file.chmod(0o644)
    folder.chmod(0o755)
    env.keep_private(folder)
    assert _mode(folder) == _mode(folder / "backups") == 0o700
    assert _mode(database) == _mode(backup) == 0o600


@pytest.mark.process
def test_what_a_fresh_shop_makes_is_private(tmp_path):
    folder = tmp_path / "bench"
    environment = {"BENCHTAG_DATA": str(folder), "PATH": os.environ["PATH"]}
    root = Path(env.__file__).parents[2]
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "--verbosity", "0"],
        cwd=root,
        env=environment,
        check=True,
    )
    assert _mode(folder) == 0o700
    modes = {file.name: _mode(file) for file in folder.iterdir() if file.is_file()}
    assert modes
    assert set(modes.values()) == {0o600}, modes


def _mode(place: Path) -> int:
    return place.stat().st_mode & 0o777
