"""Every dependency has a wheel for each machine that the project runs on, also for their extras."""

from __future__ import annotations

import pytest

from tests.site.wheels import ROOT, ask_uv

# glibc of Debian 12, and a macOS of each machine with an ARM processor.
MACHINES = ("x86_64-manylinux_2_36", "aarch64-manylinux_2_36", "aarch64-apple-darwin")
PYTHONS = ("3.11", "3.12", "3.13", "3.14")

pytestmark = [pytest.mark.process, pytest.mark.slow]


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("python", PYTHONS)
def test_all_that_is_pinned_is_there_as_a_wheel(machine, python, tmp_path):
    """A dry run by uv: it resolves for another machine, and builds nothing from source."""
    done = ask_uv(
        *("pip", "install", "--dry-run", "--target", str(tmp_path), "--only-binary", ":all:"),
        *("--python-platform", machine, "--python-version", python),
        *("--require-hashes", "-r", str(ROOT / "requirements.txt")),
    )
    assert done.returncode == 0, done.stderr
    assert " + django==" in done.stderr


def test_a_wheel_that_is_not_there_is_noticed(tmp_path):
    """z3 after 4.15.4 has none for ARM with the glibc of Debian 12."""
    (tmp_path / "one.txt").write_text("z3-solver==5.4.1.0\n")
    done = ask_uv(
        *("pip", "install", "--dry-run", "--target", str(tmp_path), "--only-binary", ":all:"),
        *("--python-platform", "aarch64-manylinux_2_36", "-r", str(tmp_path / "one.txt")),
    )
    assert done.returncode != 0
    assert "no wheels" in done.stderr or "no usable wheels" in done.stderr
