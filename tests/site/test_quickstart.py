from __future__ import annotations

import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from django.conf import settings

from shop.lib.own_certificate import in_folder
from tests.composed import free_port

pytestmark = pytest.mark.process


@pytest.fixture
def start(tmp_path):
    running = []

    def start(*options: str) -> tuple[subprocess.Popen, int, list[str]]:
        port = free_port()
        environment = {
            k: v for k, v in os.environ.items() if not k.startswith(("BENCHTAG_", "DJANGO_"))
        }
        command = [sys.executable, "manage.py", "quickstart", "--port", str(port), *options]
        child = subprocess.Popen(
            command,
            cwd=settings.ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        running.append(child)
        lines = []
        for line in child.stdout:
            lines.append(line)
            if "Ctrl-C ends it" in line:
                break
        return child, port, lines

    yield start
    for child in running:
        if child.poll() is None:
            child.kill()
            child.wait()


def answers(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz/ready", timeout=2) as got:
            return got.status == 200
    except OSError:
        return False


def children_of(pid: int) -> list[int]:
    stats = [file.read_text() for file in Path("/proc").glob("[0-9]*/stat")]
    # pid (name) state parent ...: the name may hold blanks, so count from its bracket.
    return [int(s.split()[0]) for s in stats if s.rpartition(")")[2].split()[1] == str(pid)]


def gone(pids: list[int], seconds: float = 20) -> bool:
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        if not any(Path(f"/proc/{pid}").exists() for pid in pids):
            return True
        time.sleep(0.1)
    return False


@pytest.mark.skipif(sys.platform != "linux", reason="looks for children in /proc")
@pytest.mark.parametrize(
    "how", [signal.SIGTERM, pytest.param(signal.SIGINT, marks=pytest.mark.slow)]
)
def test_quickstart_serves_prints_the_sign_in_and_ends_all_of_it(start, tmp_path, how):
    child, port, lines = start("--data", str(tmp_path / "shop"), "--empty")
    told = "".join(lines)
    assert "the first start takes a minute" in told
    assert f"http://127.0.0.1:{port}/" in told
    [address] = re.findall(r"Set up your shop at (\S+)", told)
    assert address.startswith(f"http://127.0.0.1:{port}/first-run/")
    with urllib.request.urlopen(address, timeout=10) as page:
        assert "Open the shop" in page.read().decode()
    assert answers(port)
    assert (tmp_path / "shop" / "benchtag.sqlite3").exists()
    below = children_of(child.pid)
    assert len(below) == 2

    child.send_signal(how)
    assert child.wait(30) == 0
    assert gone(below)
    assert not answers(port)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="children die with the parent on Linux")
def test_when_quickstart_is_killed_its_children_end_too(start, tmp_path):
    child, port, _ = start("--data", str(tmp_path / "shop"), "--empty")
    below = children_of(child.pid)
    child.kill()
    child.wait()
    assert gone(below)
    assert not answers(port)


@pytest.mark.slow
def test_a_second_start_keeps_the_shop_and_its_sign_in(start, tmp_path):
    first, _, before = start("--data", str(tmp_path / "shop"))
    assert "Writing the demo shop ..." in "".join(before)
    first.terminate()
    first.wait(30)
    _, port, after = start("--data", str(tmp_path / "shop"))
    assert "Writing the demo shop" not in "".join(after)
    assert "the first start" not in "".join(after)
    sign_in = [line for line in before if line.startswith("Sign in as")]
    assert sign_in == [line for line in after if line.startswith("Sign in as")]
    assert answers(port)


def test_a_port_in_use_is_a_sentence(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = subprocess.run(
            [sys.executable, "manage.py", "quickstart", "--port", str(port)],
            cwd=settings.ROOT,
            env={"PATH": os.environ["PATH"], "BENCHTAG_DATA": str(tmp_path)},
            capture_output=True,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert f"Port {port} on 127.0.0.1 cannot be used" in done.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="one kind of machine is enough")
def test_with_https_it_serves_by_its_own_certificate_and_says_how_to_trust_it(start, tmp_path):
    shop = tmp_path / "shop"
    _, port, lines = start("--data", str(shop), "--empty", "--https", "--bind", "127.0.0.1")
    assert f"https://127.0.0.1:{port}/" in "".join(lines)
    trusting = ssl.create_default_context(cafile=str(shop / "tls" / "authority.pem"))
    with urllib.request.urlopen(f"https://127.0.0.1:{port}/trust/", context=trusting) as answer:
        page = answer.read().decode()
    assert in_folder(shop).fingerprint() in page
    assert "Strict-Transport-Security" not in answer.headers
    assert (
        "Secure"
        in urllib.request.urlopen(f"https://127.0.0.1:{port}/sign-in/", context=trusting).headers[
            "Set-Cookie"
        ]
    )
    # By HTTP/2 cookies come one by one and would be joined by commas: nobody stayed signed in.
    trusting.set_alpn_protocols(["h2", "http/1.1"])
    with (
        socket.create_connection(("127.0.0.1", port), timeout=10) as plain,
        trusting.wrap_socket(plain, server_hostname="127.0.0.1") as talking,
    ):
        assert talking.selected_alpn_protocol() != "h2"
