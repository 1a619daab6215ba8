"""What the docs name exists, and the commands they show run as they stand."""

from __future__ import annotations

import argparse
import functools
import os
import re
import shlex
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.core.management import get_commands, load_command_class

from checklists import published
from shop.bench import registry
from shop.site import env
from tests.published.every import CHECKS

ROOT = Path(django_settings.ROOT)
TOP = [ROOT / name for name in ("README.md", "DEVELOPERS.md", "SECURITY.md")]
PAGES = [*TOP, *sorted((ROOT / "docs").glob("*.md"))]
OURS = {name for name, app in get_commands().items() if str(app).startswith(("shop", "checklists"))}
# Blocks that are shown and not run here, by how they begin, and why.
NOT_RUN = {
    "make demo": "serves until Ctrl-C; the targets are looked up",
    "make shop": "serves until Ctrl-C; the targets are looked up",
    "curl ": "tests/api/test_examples.py runs them against a shop",
    "mkdir secrets": "needs a container engine",
    ".venv/bin/python manage.py quickstart": "serves until Ctrl-C; tests/site/test_quickstart.py",
    "useradd --system": "changes the machine; tests/site/test_serving.py looks at the unit",
    "uvx --from": "tests/site/test_wheel.py runs it from a wheel",
    "uv tool install": "tests/site/test_wheel.py runs it from a wheel",
    "uv tool uninstall": "tests/site/test_wheel.py runs it from a wheel",
    "benchtag backup ~/before.backup": "tests/site/test_wheel.py runs it from a wheel",
    "tar -C ~": "tests/site/test_wheel.py runs it from a wheel",
    "manage.py ledger key": "tests/jobs/test_head_signatures.py runs it with a signed head",
}


def texts():
    return {page: page.read_text(encoding="utf-8") for page in PAGES}


def blocks(text, kinds="sh|console"):
    return re.findall(rf"^```(?:{kinds})\n(.*?)^```", text, re.S | re.M)


def spans(text):
    """Return the pieces of code of a page: each `span`, each line of a shell block."""
    shell = "\n".join(blocks(text))
    prose = re.sub(r"^```.*?^```", "", text, flags=re.S | re.M)
    lines = [line.partition(" #")[0].strip() for line in shell.splitlines()]
    return [*re.findall(r"`([^`\n]+)`", prose), *filter(None, lines)]


def said_commands(text):
    """Yield the words after `manage.py` of each command that a page names."""
    for span in spans(text):
        mark = re.search(r"manage\.py |^benchtag ", span)
        words = (span[mark.end() :] if mark else span).split()
        if words and (mark or words[0] in OURS) and re.fullmatch(r"[a-z][a-z-]*", words[0]):
            yield span, words


@functools.cache
def parser_of(name):
    app = get_commands()[name]
    return load_command_class(str(app), name).create_parser("manage.py", name)


def options_of(parser, words):
    """Return every option of a command, of the sub-command named, and the sub-commands."""
    if hasattr(parser, "fill"):
        parser.fill()  # `calc` has the options of a calculation once it is named
    options, subs = {*parser._option_string_actions, "--data"}, {}  # manage.py takes --data itself
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            subs |= action.choices
    # `calc NAME` stands for any of them.
    chosen = [subs[word] for word in words[:1] if word in subs]
    for sub in chosen or (subs.values() if words and words[0].isupper() else []):
        options |= options_of(sub, words[1:])[0]
    return options, set(subs)


def untrue(text):
    """Return what a page says of commands that is not so."""
    found = []
    for span, (name, *words) in said_commands(text):
        if name not in get_commands():
            found.append(f"{span}: no command {name}")
            continue
        options, subs = options_of(parser_of(name), words)
        said = set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", " ".join(words)))
        found += [f"{span}: no option {option}" for option in sorted(said - options)]
        if subs and words and re.fullmatch(r"[a-z][a-z-]*", words[0]) and words[0] not in subs:
            found.append(f"{span}: no {name} {words[0]}")
    return found


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_command_and_option_exists(page):
    assert untrue(page.read_text(encoding="utf-8")) == []


def test_a_command_that_is_not_there_is_noticed():
    assert untrue("`manage.py polish`") == ["manage.py polish: no command polish"]
    assert untrue("`backup FILE --gently`") == ["backup FILE --gently: no option --gently"]
    assert untrue("`benchtag polish`") == ["benchtag polish: no command polish"]
    assert untrue("`rules bend`") == ["rules bend: no rules bend"]
    assert untrue("```sh\nmanage.py user lou owner --all\n```") == [
        "manage.py user lou owner --all: no option --all"
    ]


def test_no_page_has_the_marks_of_a_merge():
    marks = re.compile(r"^(<{7}|={7}|>{7})( |$)", re.M)
    assert [page.name for page, text in texts().items() if marks.search(text)] == []


def test_every_target_of_make_exists():
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^([a-z-]+):", makefile, re.M))
    said = {
        target
        for text in texts().values()
        for span in spans(text)
        for target in re.findall(r"(?:^| )make ([a-z][a-z-]*)", span)
    }
    assert {"demo", "test", "lint"} <= said
    assert said <= targets


def test_every_path_and_module_exists():
    where = re.compile(r"(?:shop|checklists|tests|docs|templates|\.ci)/[\w./*-]*")
    missing = []
    for page, text in texts().items():
        for span in spans(text):
            paths = [span] if where.fullmatch(span) else []
            modules = re.findall(r"python -m (tests[\w.]+)", span)
            paths += [module.replace(".", "/") + "*" for module in modules]
            missing += [f"{page.name}: {p}" for p in paths if not list(ROOT.glob(p.rstrip("/")))]
    assert missing == []


def test_every_setting_that_is_named_is_read(monkeypatch):
    said = {
        name.removesuffix("_FILE")
        for page, text in texts().items()
        if page.name != "decisions.md"
        for name in re.findall(r"\bBENCHTAG_[A-Z_]*[A-Z]\b", text)
    }
    assert len(said) > 40
    for name in said:
        monkeypatch.setenv(name, "1")
    # Of the composition, of the tests.
    others = [ROOT / "compose.yaml", ROOT / "Makefile", *(ROOT / "tests").rglob("*.py")]
    elsewhere = "".join(file.read_text(encoding="utf-8") for file in others)
    assert [name for name in env.unknown_names() if name in said and name not in elsewhere] == []


def test_every_link_within_a_page_leads_to_a_heading():
    wrong = []
    for page, text in texts().items():
        for target, anchor in re.findall(r"\]\(([^)#:\s]*)#([^)]+)\)", text):
            there = (page.parent / target if target else page).read_text(encoding="utf-8")
            heads = re.findall(r"^#+ (.+)$", there, re.M)
            known = {re.sub(r"[^\w\s-]", "", h.lower()).replace(" ", "-") for h in heads}
            wrong += [f"{page.name}: {target}#{anchor}"] if anchor not in known else []
    assert wrong == []


def test_every_page_is_on_the_map_of_the_readme():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    pages = {f"docs/{page.name}" for page in (ROOT / "docs").glob("*.md")}
    assert {page for page in pages if f"]({page})" not in readme} == set()


def test_the_counts_of_the_readme_are_reached():
    pack = published.pack()
    counts = {
        "rules": len(pack.rules),
        "steps": len(pack.steps),
        "calculators": len(registry.CALCULATIONS),
        "reference values": len(CHECKS),
        "safety properties": sum(
            len(tomllib.loads(file.read_text(encoding="utf-8"))["property"])
            for file in (ROOT / "checklists" / "packs").glob("*.properties.toml")
        ),
    }
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    found = re.findall(r"more than (\d+)\s(\w+(?:\s\w+)?)", readme)
    said = {" ".join(what.split()): int(n) for n, what in found}
    for what, count in counts.items():
        named = next(n for words, n in said.items() if words.startswith(what))
        assert named < count < named * 1.5, f"more than {named} {what}: there are {count}"


def shown():
    """Return the shell blocks of the pages that are to be run."""
    return [
        pytest.param(block, id=f"{page.name}-{number}")
        for page, text in texts().items()
        for number, block in enumerate(blocks(text))
        if not block.startswith(tuple(NOT_RUN))
    ]


def test_what_is_not_run_is_still_shown():
    every = [block for text in texts().values() for block in blocks(text)]
    assert [start for start in NOT_RUN if not any(b.startswith(start) for b in every)] == []


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """A home folder with an empty shop in `bench` and a file of jobs, as the pages assume."""
    folder = tmp_path_factory.mktemp("home")
    (folder / "jobs.csv").write_text("make,problem\nCorvenby,hums\n", encoding="utf-8")
    run("manage.py migrate --data ~/bench\nmanage.py migrate --data data", folder)
    return folder


def run(script, folder):
    """Run a block in bash, stopping at the first command that fails."""
    python = shlex.quote(sys.executable)
    script = script.replace(".venv/bin/python", python)
    script = re.sub(r"(?<!\S)manage\.py", f"{ROOT}/manage.py", script)
    script = re.sub(rf"^(?={re.escape(str(ROOT))}/manage)", f"{python} ", script, flags=re.M)
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("BENCHTAG_", "DJANGO_"))}
    given = kept | {"HOME": str(folder), "PYTHONPATH": str(ROOT)}
    command = ["bash", "-eu", "-c", script]
    done = subprocess.run(
        command, cwd=folder, env=given, capture_output=True, text=True, check=False, timeout=300
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.mark.process
@pytest.mark.parametrize("block", shown())
def test_the_commands_run_as_they_stand(block, home):
    run(block, home)
