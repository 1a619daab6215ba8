"""The tests on every Python and Django that can be had here: `python -m tests.project.versions`.

Each pair gets an environment of its own in `.venv-versions`, with the versions of the lock files
but for Django's. Of each pair it prints one line: what passed, or why it could not be tried. It runs what
needs no database, browser or other process, and the database tests of the moves of a job.
Names of pairs (`3.13-6.1`) choose some of them. Exit 1 when a pair that was tried failed.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import uv

ROOT = Path(__file__).resolve().parents[2]
PYTHONS = ("3.11", "3.12", "3.13", "3.14")
# The long-term release, and the newest; the newest needs Python 3.12.
DJANGOS = {"5.2": PYTHONS, "6.1": PYTHONS[1:]}
PLAIN = "not database and not browser and not process and not long and not slow and not twin"
# What a version can change: annotations that are read, the library, settings and commands; then
# queries, forms and the record. The rest asks nothing of Python or Django that these do not.
ROOMS = (
    "tests/bench/test_calculations.py",
    "tests/bench/test_registry.py",
    "tests/lib",
    "tests/site",
)
MOVES = ("tests/jobs/commands/test_signing.py", "tests/jobs/commands/test_recording.py")
RUNS = (
    ("plain", ["-m", PLAIN, *ROOMS]),
    ("database", [*MOVES, "tests/lib/test_prepared.py", "tests/accounts"]),
)


def pairs() -> list[str]:
    """Return every pair there could be, as Python-Django."""
    return [f"{python}-{django}" for django in DJANGOS for python in DJANGOS[django]]


def interpreter(python: str) -> str | None:
    """Return where a Python is on this machine, or can be had by uv; None when it cannot."""
    for found in _installed(python):
        return found
    brought = _run([uv.find_uv_bin(), "python", "install", python])
    if brought.returncode:
        return None
    return _run([uv.find_uv_bin(), "python", "find", python]).stdout.strip() or None


def _installed(python: str) -> Iterator[str]:
    folders = [Path(place) for place in os.environ.get("PATH", "").split(os.pathsep) if place]
    pyenv = Path(os.environ.get("PYENV_ROOT") or Path.home() / ".pyenv") / "versions"
    for folder in (*folders, *(each / "bin" for each in sorted(pyenv.glob(f"{python}.*")))):
        file = folder / f"python{python}"
        if file.exists() and not _run([str(file), "-c", "import venv, ssl, sqlite3"]).returncode:
            yield str(file)


def environment(pair: str, python: str) -> tuple[Path, str]:
    """Make the environment of a pair; returns its folder, and what went wrong."""
    folder = ROOT / ".venv-versions" / pair
    folder.parent.mkdir(exist_ok=True)
    django = pair.split("-")[1]
    kept = folder.parent / f"{pair}.txt"
    lock = (ROOT / "requirements-dev.txt").read_text(encoding="utf-8")
    pins = re.findall(r"^((?!django==)[\w.\[\]-]+==[^\\\n]+?)\s*\\?$", lock, re.M)
    kept.write_text("\n".join([*pins, f"django=={django}.*", ""]), encoding="utf-8")
    made = _run(
        [uv.find_uv_bin(), "venv", "--quiet", "--allow-existing", "--python", python, str(folder)]
    )
    if made.returncode:
        return folder, made.stderr
    add = ["pip", "install", "--quiet", "--python", str(folder)]
    put = _run([uv.find_uv_bin(), *add, "-r", "pyproject.toml", "--extra", "dev", "-c", str(kept)])
    return folder, put.stderr if put.returncode else ""


def try_one(pair: str) -> bool:
    """Try one pair and print its line; False when a test failed."""
    began = time.monotonic()
    python = interpreter(pair.split("-")[0])
    if python is None:
        print(f"{pair}: not tried, this Python cannot be had here", flush=True)
        return True
    folder, wrong = environment(pair, python)
    if wrong:
        print(f"{pair}: not tried, {wrong.strip().splitlines()[-1].strip()}", flush=True)
        return True
    told, sound = [_versions(folder)], True
    for name, words in RUNS:
        done = _run(
            [
                str(folder / "bin" / "python"),
                "-m",
                "pytest",
                "-n",
                "2",
                "-p",
                "no:cacheprovider",
                *words,
            ]
        )
        last = done.stdout.strip().splitlines()[-1] if done.stdout.strip() else done.stderr[-300:]
        told.append(f"{name}: {last.strip('= ')}")
        if done.returncode:
            sound = False
            print(done.stdout[-6000:], done.stderr[-2000:])
    print(f"{pair}: {'; '.join(told)} ({time.monotonic() - began:.0f} s)", flush=True)
    return sound


def _versions(folder: Path) -> str:
    ask = "import django, platform as p; print('Python', p.python_version() + ', Django', django.__version__)"
    return _run([str(folder / "bin" / "python"), "-c", ask]).stdout.strip()


def _run(command: list[str]) -> subprocess.CompletedProcess[str]:
    clean = {k: v for k, v in os.environ.items() if not k.startswith(("VIRTUAL_ENV", "BENCHTAG_"))}
    return subprocess.run(command, cwd=ROOT, env=clean, capture_output=True, text=True, check=False)


def main() -> None:
    """Try what was named, or all."""
    chosen = sys.argv[1:] or pairs()
    unknown = set(chosen) - set(pairs())
    if unknown:
        sys.exit(f"No such pair: {', '.join(sorted(unknown))}; there are {', '.join(pairs())}.")
    sys.exit(not min([try_one(pair) for pair in chosen]))


if __name__ == "__main__":
    main()
