"""Small packs for tests, written as they would be in a folder."""

from __future__ import annotations

from pathlib import Path
from textwrap import dedent

from django.conf import settings

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


def hold(key: str, gate: str = "limited-power", more: str = "") -> str:
    return step(key, f'hold = true\ngate = "{gate}"\n{more}')


def hazard(key: str, cleared_by: str, meets: str, *, possible: str = "true", more: str = "") -> str:
    """A hazard that is up on arrival, unless `more` says what raises it; lists are one word or TOML."""
    lists = {"cleared_by": cleared_by, "meets": meets}
    given = [f"{name} = {v if '[' in v else [v]}" for name, v in lists.items()]
    return f"""
    [[hazard]]
    key = "{key}"
    title = "Title of {key}"
    because = "Because of {key}."
    source = "common practice"
    possible = '{possible}'
    {given[0]}
    {given[1]}
    {more or "on_arrival = true"}
"""


# Every pack has the roles; here their steps are required of no unit, so that nothing else sees them.
ROLES = """
    [[rule]]
    id = "roles"
    when = 'false'
    require = ["soak", "clean-trials", "offset", "unusable"]
    because = "The shop asks for these steps."
    source = "common practice"

    [[step]]
    key = "soak"
    role = "soak"
    title = "The soak"
    instruction = "Run it."
    phase = "soak"
    gate = "release"
    hold = true
    source = "common practice"
    readings = [
      { quantity = "hours", role = "hours", unit = "h", min = 4, source = "common practice" },
      { quantity = "sink", role = "highest-sink", unit = "C", max = 80, source = "common practice" },
    ]

    [[step]]
    key = "clean-trials"
    role = "clean-trials"
    title = "Trials"
    instruction = "Try it."
    phase = "soak"
    gate = "release"
    hold = true
    source = "common practice"
    readings = [{ quantity = "trials", role = "count", unit = "trials", min = 29, source = "x" }]

    [[step]]
    key = "offset"
    role = "output-offset"
    title = "Offset"
    instruction = "Read it."
    phase = "full-power"
    gate = "full-power"
    hold = true
    source = "common practice"
    readings = [{ quantity = "mv", role = "offset", unit = "mV", min = -50, max = 50, source = "x" }]

    [[step]]
    key = "unusable"
    role = "made-unusable"
    title = "Made unusable"
    instruction = "Cut the plug off."
    phase = "hand-back"
    gate = "hand-back"
    source = "common practice"
"""


def write(folder: Path, *parts: str, name: str = "small") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    text = "\n".join(dedent(part) for part in (HEAD, *parts))
    (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def write_whole(folder: Path, *parts: str) -> Path:
    """Write a pack that loads by itself: the parts, and the steps of the roles."""
    write(folder, *parts)
    (folder / "the-roles.toml").write_text(dedent(ROLES), encoding="utf-8")
    return folder


def load(folder: Path, *parts: str) -> Pack:
    return reading_packs.load(write_whole(folder, *parts))


def copy_of_shipped(folder: Path) -> Path:
    """Copy the shipped pack, cases and all, to `folder`."""
    for file in settings.PACK_FOLDER.glob("*.toml"):
        (folder / file.name).write_bytes(file.read_bytes())
    return folder


def replaced(folder: Path, old: str, new: str) -> None:
    """Replace a text in the rule files of a copied pack; a text that is not there is an error."""
    count = 0
    for file in folder.glob("*.toml"):
        text = file.read_text(encoding="utf-8")
        count += text.count(old)
        file.write_text(text.replace(old, new), encoding="utf-8")
    assert count, f"{old!r} is not in the pack"
