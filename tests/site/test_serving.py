"""The examples of docs/serving.md, run as far as this machine has what they are for."""

from __future__ import annotations

import os
import re
import shutil
import signal
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.conf import settings

from shop.lib.own_certificate import in_folder
from tests.composed import free_port

EXAMPLES = Path(settings.ROOT) / "docs" / "examples"
pytestmark = pytest.mark.process


def has(program: str):
    return pytest.mark.skipif(not shutil.which(program), reason=f"no {program}")


@has("systemd-analyze")
def test_the_unit_is_one_that_systemd_takes(tmp_path):
    text = (EXAMPLES / "benchtag.service").read_text(encoding="utf-8")
    unit = tmp_path / "benchtag.service"
    # The program and the account are those of the machine that it is for.
    unit.write_text(
        text.replace("/opt/benchtag/.venv/bin/python", sys.executable).replace(
            "User=benchtag", "User=root"
        )
    )
    done = subprocess.run(
        ["systemd-analyze", "verify", str(unit)], capture_output=True, text=True, check=False
    )
    about_it = [line for line in done.stderr.splitlines() if "benchtag" in line]
    assert (done.returncode, about_it) == (0, [])


def test_every_setting_of_the_unit_is_one_that_is_read():
    text = (EXAMPLES / "benchtag.service").read_text(encoding="utf-8")
    known = (Path(settings.ROOT) / "docs" / "running.md").read_text(encoding="utf-8")
    names = re.findall(r"^Environment=(\w+)=", text, re.M)
    assert len(names) == 5
    assert [name for name in names if f"`{name}`" not in known] == []


class Behind:
    """A shop on one machine with a proxy in front."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.inner, self.outer = folder, free_port(), free_port()
        self.files = in_folder(folder)
        self.files.provide(["localhost"], ["127.0.0.1"], datetime.now(UTC))
        self.running: list[subprocess.Popen] = []

    def example(self, name: str) -> str:
        text = (EXAMPLES / name).read_text(encoding="utf-8")
        for there, here in (
            ("/etc/ssl/bench.example.org.pem", self.files.certificate),
            ("/etc/ssl/bench.example.org.key", self.files.key),
            ("127.0.0.1:8000", f"127.0.0.1:{self.inner}"),
            ("listen 443", f"listen 127.0.0.1:{self.outer}"),
            ("server_name bench.example.org", "server_name localhost"),
            ("bench.example.org {", f"https://localhost:{self.outer} {{"),
        ):
            text = text.replace(there, str(here))
        return text

    def start_shop(self) -> None:
        clean = {k: v for k, v in os.environ.items() if not k.startswith(("BENCHTAG", "DJANGO"))}
        environment = clean | {
            "BENCHTAG_DATA": str(self.folder / "shop"),
            "BENCHTAG_HTTPS": "yes",
            "BENCHTAG_ADDRESS": f"https://localhost:{self.outer}",
            "BENCHTAG_TRUSTED_PROXIES": "127.0.0.1",
        }
        command = [sys.executable, "-m", "shop.site", "quickstart", "--empty"]
        child = subprocess.Popen(
            [*command, "--port", str(self.inner)],
            env=environment, cwd=settings.ROOT, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        self.running.append(child)
        told = []
        for line in child.stdout:
            told.append(line)
            if "Ctrl-C ends it" in line:
                break
        assert f"Benchtag is at https://localhost:{self.outer}/" in "".join(told)

    def start(self, *command: str) -> None:
        self.running.append(subprocess.Popen(command, env={**os.environ, "HOME": str(self.folder)}))

    def get(self, path: str, seconds: float = 15):
        trusting = ssl.create_default_context(cafile=str(self.files.authority))
        until = time.monotonic() + seconds
        while True:
            try:
                return urllib.request.urlopen(
                    f"https://localhost:{self.outer}{path}", context=trusting, timeout=10
                )
            except urllib.error.HTTPError:
                raise
            except OSError:
                if time.monotonic() > until:
                    raise
                time.sleep(0.2)

    def stop(self) -> None:
        for child in reversed(self.running):
            child.send_signal(signal.SIGTERM)
        for child in self.running:
            child.wait(40)


@pytest.fixture
def behind(tmp_path):
    behind = Behind(tmp_path)
    yield behind
    behind.stop()


def nginx(behind: Behind) -> list[str]:
    file = behind.folder / "nginx.conf"
    file.write_text(
        f"daemon off; pid {behind.folder}/pid; error_log {behind.folder}/error.log;\n"
        f"events {{}} http {{ access_log off; client_body_temp_path {behind.folder}/body;"
        f" proxy_temp_path {behind.folder}/proxy; fastcgi_temp_path {behind.folder}/f;"
        f" uwsgi_temp_path {behind.folder}/u; scgi_temp_path {behind.folder}/s;\n"
        + behind.example("nginx.conf") + "}\n"
    )  # fmt: skip
    return ["nginx", "-c", str(file), "-e", f"{behind.folder}/error.log"]


def caddy(behind: Behind) -> list[str]:
    file = behind.folder / "Caddyfile"
    file.write_text(
        "{\n\tadmin off\n\tauto_https disable_redirects\n}\n" + behind.example("Caddyfile")
    )
    return ["caddy", "run", "--adapter", "caddyfile", "--config", str(file)]


@pytest.mark.slow
@pytest.mark.parametrize(
    "proxy", [pytest.param(nginx, marks=has("nginx")), pytest.param(caddy, marks=has("caddy"))]
)
def test_a_shop_behind_a_proxy_is_served_by_https(behind, proxy):
    behind.start_shop()
    behind.start(*proxy(behind))
    with behind.get("/sign-in/") as page:
        assert page.status == 200
        assert "Secure" in page.headers["Set-Cookie"]
        assert "max-age=31536000" in page.headers["Strict-Transport-Security"]
        assert page.url.startswith("https://")
    with pytest.raises(urllib.error.HTTPError) as caught:
        behind.get("/trust/")
    assert caught.value.code == 404
    with pytest.raises(urllib.error.HTTPError) as caught:  # straight to the pages, by plain http
        urllib.request.build_opener(Stays).open(f"http://127.0.0.1:{behind.inner}/sign-in/")
    assert caught.value.code == 301


class Stays(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_):
        return None
