"""Small packs for tests, written as they would be in a folder."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

from checklists.engine import reading_packs
from checklists.engine.pack import Pack

HEAD = """
    [pack]
    name = "small"
    version = "1"
"""

STEP = """
    [[step]]
    key = "{key}"
    title = "Title of {key}"
    instruction = "Do {key}."
    phase = "work"
    source = "common practice"
    {more}
"""


def step(key: str, more: str = "") -> str:
    return STEP.format(key=key, more=more)


def rule(id_: str, when: str, *require: str, more: str = "") -> str:
    steps = ", ".join(f'"{key}"' for key in require)
    return f"""
    [[rule]]
    id = "{id_}"
    when = '{when}'
    require = [{steps}]
    because = "Because of {id_}."
    source = "common practice"
    {more}
"""


def write(folder: Path, *parts: str, name: str = "small") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    text = "\n".join(dedent(part) for part in (HEAD, *parts))
    (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def load(folder: Path, *parts: str) -> Pack:
    return reading_packs.load(write(folder, *parts))
