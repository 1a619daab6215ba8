"""The wheel: installed as the page says, in homes of their own, without the repository and the extras."""

from __future__ import annotations

import http.cookiejar
import re
import signal
import subprocess
import urllib.parse
import urllib.request
import zipfile

import pytest

from shop.site import places
from tests.composed import free_port
from tests.site.wheels import ROOT, Person, ask_uv, build

pytestmark = [pytest.mark.process, pytest.mark.slow]

PAGE = (ROOT / "docs" / "installing.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```sh\n(.*?)^```", PAGE, re.S | re.M)
NOW, NEXT = places.version(), "0.2.0"


def block(start: str) -> str:
    """Return the block of the page that begins like this."""
    [found] = [each for each in BLOCKS if each.startswith(start)]
    return found


@pytest.fixture(scope="module")
def wheels(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheels")
    return [build(folder, NOW), build(folder, NEXT)]


@pytest.fixture(scope="module")
def person(tmp_path_factory, wheels):
    """Somebody who has installed it as the page says, with a shop in `bench`."""
    somebody = Person(tmp_path_factory.mktemp("home"))
    for wheel in wheels:
        (somebody.home / wheel.name).hardlink_to(wheel)
    ask_uv("tool", "list")
    done = somebody.run(
        block("uv tool install ./benchtag-0.1.0-py3-none-any.whl\nbenchtag migrate")
    )
    if done.returncode:
        ask_uv("pip", "install", "--dry-run", "--target", str(somebody.home / "x"), "segno")
    assert done.returncode == 0, done.stderr
    return somebody


@pytest.fixture(scope="module")
def opened(person, tmp_path_factory):
    """The log of what is opened in the repository from here on."""
    log = tmp_path_factory.mktemp("log") / "opened"
    person.watch_files(log)
    return log


def test_the_page_names_this_version():
    assert f"benchtag-{NOW}-py3-none-any.whl" in PAGE


def test_all_that_is_read_is_in_the_wheel(wheels):
    with zipfile.ZipFile(wheels[0]) as wheel:
        inside = set(wheel.namelist())
    listed = subprocess.run(
        ["git", "ls-files", "shop", "checklists", "templates"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if listed.returncode:
        pytest.skip("not a git checkout")
    wanted = {re.sub("^templates/", "shop/templates/", name) for name in listed.stdout.split()}
    here = {
        name for name in wanted if (ROOT / name.replace("shop/templates", "templates")).exists()
    }
    assert here - inside == set()
    assert {name.split("/")[0] for name in inside} == {
        "shop",
        "checklists",
        f"benchtag-{NOW}.dist-info",
    }


def test_the_extras_are_not_there_and_are_asked_for_with_a_sentence(person):
    for setting, value, missing in (
        ("REDIS_URL", "redis://127.0.0.1:1/0", "celery and redis are"),
        ("DATABASE_URL", "postgres://a@127.0.0.1:1/b", "psycopg is"),
    ):
        done = person.run(f"BENCHTAG_{setting}={value} benchtag check --data ~/bench")
        assert done.returncode == 2
        sentence = (
            f"BENCHTAG_{setting} is set, and {missing} not installed; install benchtag[services]."
        )
        assert done.stderr.strip().splitlines()[-1] == sentence
    done = person.run("benchtag rules prove --data ~/bench")
    assert done.returncode == 2
    assert "The solver z3 is not installed; install benchtag[proof]" in done.stderr


def test_commands_say_where_they_act_and_read_no_file_of_the_repository(person, opened):
    done = person.run(
        "benchtag calc stored-energy --volts 50 --microfarads 10000 --json; benchtag --version"
    )
    assert done.returncode == 0, done.stderr
    folder = person.home / ".local" / "share" / "benchtag"
    assert f"Data folder: {folder}" in done.stderr
    assert f"Benchtag {NOW}, Django " in done.stdout
    assert '"energy_j": 12.5' in done.stdout  # C U^2 / 2
    assert opened.read_text() == ""
    # The log would show it.
    tool = person.home / ".local/share/uv/tools/benchtag/bin/python"
    subprocess.run([tool, "-c", f"open({str(ROOT / 'README.md')!r})"], check=True)
    assert opened.read_text() == f"{ROOT / 'README.md'}\n"
    opened.write_text("")


def test_alone_it_starts_the_demo(person, opened):
    port = free_port()
    command = ["benchtag", "--port", str(port)]
    child = subprocess.Popen(
        command,
        cwd=person.home, env=person.environment, executable=person.home / ".local/bin/benchtag",
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    try:
        told = ""
        for line in child.stdout:
            told += line
            if "Ctrl-C ends it" in line:
                break
        [password] = re.findall(r"password: (\S+)", told)
        _look_around(f"http://127.0.0.1:{port}", password)
        child.send_signal(signal.SIGTERM)
        assert child.wait(30) == 0
    finally:
        child.kill()
        child.wait()
    assert opened.read_text() == ""
    again = person.run("benchtag quickstart --empty")
    assert again.returncode == 2
    assert "name another folder for yours with --data DIR" in again.stderr


def _look_around(address: str, password: str) -> None:
    """Sign in, look at the home page with its style sheet, and print a paper with our fonts."""
    jar = http.cookiejar.CookieJar()
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))

    def read(path: str, data: bytes | None = None) -> bytes:
        with browser.open(address + path, data, timeout=60) as answer:
            return answer.read()

    with browser.open(f"{address}/", timeout=60) as answer:
        where, page = answer.url.removeprefix(address), answer.read().decode()
    token = re.findall(r'name="csrfmiddlewaretoken" value="(\w+)"', page)[0]
    typed = {"csrfmiddlewaretoken": token, "username": "owner", "password": password}
    home = read(where, urllib.parse.urlencode(typed).encode()).decode()
    assert ">The bench now</h1>" in home
    [sheet, *_] = re.findall(r'href="(/static/[^"]+\.css)"', home)
    assert b"{" in read(sheet)
    assert read("/jobs/1/papers/traveller/a4/").startswith(b"%PDF-")


def test_it_is_upgraded_taken_back_moved_and_removed_as_the_page_says(person, tmp_path):
    made = person.run("benchtag user lou owner --data ~/bench")
    assert made.returncode == 0, made.stderr
    for start in (
        "benchtag backup ~/before.backup",
        "uv tool install ./benchtag-0.1.0-py3-none-any.whl\nbenchtag restore",
    ):
        done = person.run(block(start))
        assert done.returncode == 0, done.stderr
        assert "every chain" in done.stdout
        wanted = NEXT if start.startswith("benchtag") else NOW
        assert f"Benchtag {wanted}," in person.run("benchtag --version").stdout
    assert person.run(block("tar -C ~ -cz")).returncode == 0

    other = Person(tmp_path / "other")
    other.home.mkdir()
    for name in ("bench.tar.gz", f"benchtag-{NOW}-py3-none-any.whl"):
        (other.home / name).hardlink_to(person.home / name)
    assert other.run(f"uv tool install ./benchtag-{NOW}-py3-none-any.whl").returncode == 0
    done = other.run(block("tar -C ~ -xz"))
    assert done.returncode == 0, done.stderr
    again = other.run("benchtag user lou owner --data ~/bench")
    assert "lou" in again.stdout + again.stderr

    assert other.run(block("uv tool uninstall")).returncode == 0
    assert other.run("command -v benchtag").returncode != 0
    left = {str(file.relative_to(other.home)) for file in other.home.rglob("*") if file.is_file()}
    strays = {name for name in left if not name.startswith(("bench/", ".local/share/uv/"))}
    assert strays == {"bench.tar.gz", f"benchtag-{NOW}-py3-none-any.whl"}


def test_it_runs_without_being_installed(person):
    done = person.run(block("uvx").replace("whl benchtag", "whl benchtag --help"))
    assert done.returncode == 0, done.stderr
    assert "quickstart" in done.stdout
