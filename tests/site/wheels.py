"""The wheel of the project, built from a copy that is then deleted, and where it is installed."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
import uv
from django.conf import settings

ROOT = Path(settings.ROOT)
NEEDED = ("shop", "checklists", "templates", "pyproject.toml", "README.md", "LICENSE")
# What uv says when nobody answers, which is no fault of the project.
AWAY = re.compile(
    r"error sending request|failed to lookup|[Cc]ould not connect|not? network|offline"
)
_OPENED = """import os, sys
def look(event, given):
    if event == "open" and str(given[0]).startswith({root!r}):
        os.write(log, f"{{given[0]}}\\n".encode())
log = os.open({log!r}, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
sys.addaudithook(look)
"""


def build(folder: Path, version: str) -> Path:
    """Build the wheel of a version out of a copy of the sources, and delete the copy."""
    source = folder / f"source-{version}"
    source.mkdir()
    away = shutil.ignore_patterns("__pycache__")
    for name in NEEDED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, source / name, ignore=away)
        else:
            shutil.copy(ROOT / name, source)
    project = source / "pyproject.toml"
    text = project.read_text(encoding="utf-8")
    project.write_text(
        re.sub(r'^version = ".*"', f'version = "{version}"', text, count=1, flags=re.M),
        encoding="utf-8",
    )
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(command, cwd=source, check=True, capture_output=True)
    shutil.rmtree(source)
    return folder / f"benchtag-{version}-py3-none-any.whl"


def ask_uv(*words: str, **more: object) -> subprocess.CompletedProcess[str]:
    """Run uv; the test is skipped where no index answers."""
    command = [uv.find_uv_bin(), *words]
    done = subprocess.run(command, capture_output=True, text=True, check=False, **more)  # type: ignore[call-overload]
    if done.returncode and AWAY.search(done.stderr):
        pytest.skip(f"No package index answers: {done.stderr.strip().splitlines()[-1]}")
    return done


@dataclass(frozen=True)
class Person:
    """Somebody with a home of their own, in which shell commands run."""

    home: Path

    @property
    def environment(self) -> dict[str, str]:
        """No variable of the project; uv answers from what it has fetched before."""
        kept = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("BENCHTAG", "DJANGO", "PYTHON", "VIRTUAL_ENV", "XDG", "UV_"))
        }
        own = self.home / ".local" / "bin"
        cache = ask_uv("cache", "dir").stdout.strip()
        return kept | {
            "HOME": str(self.home),
            "PATH": f"{own}:{self.tools}:/usr/bin:/bin",
            "UV_CACHE_DIR": cache,
            "UV_PYTHON": sys.executable,
            "UV_CONSTRAINT": str(ROOT / "requirements.txt"),
        }

    @property
    def tools(self) -> Path:
        """A folder with uv and uvx alone: what else lies beside them is of the project."""
        folder = self.home.parent / f"{self.home.name}-tools"
        folder.mkdir(exist_ok=True)
        for name in ("uv", "uvx"):
            if not (folder / name).exists():
                (folder / name).symlink_to(Path(uv.find_uv_bin()).with_name(name))
        return folder

    def run(self, script: str) -> subprocess.CompletedProcess[str]:
        """Run a block of shell, stopping at the first command that fails."""
        command = ["bash", "-eu", "-c", script]
        return subprocess.run(
            command,
            cwd=self.home,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
        )

    def watch_files(self, log: Path) -> None:
        """Let every process of the installed copy log which files of the repository it opens."""
        log.touch()
        [place] = self.home.glob(".local/share/uv/tools/benchtag/lib/python*/site-packages")
        script = _OPENED.format(root=f"{ROOT}/", log=str(log))
        (place / "sitecustomize.py").write_text(script, encoding="utf-8")
