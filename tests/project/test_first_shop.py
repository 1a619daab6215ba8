"""What the page about the first shop says of settings and roles is so."""

from __future__ import annotations

import re
from pathlib import Path

from django.conf import settings as django_settings

from shop.accounts.roles import ABILITIES, ROLES
from shop.preferences.definitions import BY_NAME

PAGE = (Path(django_settings.ROOT) / "docs" / "first-shop.md").read_text(encoding="utf-8")
# Which abilities a row of the table stands for.
ROWS = {
    "reads everything": {"read", "isolate"},
    "receives units": {"receive", "note", "order"},
    "records findings": {"record", "sign", "move"},
    "writes bills": {"bill", "import"},
    "decides rules": {"rules", "settings", "persons"},
}


def part(title: str) -> str:
    return PAGE.partition(f"## {title}\n")[2].partition("\n## ")[0]


def test_every_field_it_names_is_on_the_page_of_settings():
    rows = [line for line in part("What to have ready").splitlines() if line.startswith("| *")]
    said = {name for row in rows for name in re.findall(r"\*([^*]+)\*", row)}
    assert len(said) > 20
    assert said <= {setting.title for setting in BY_NAME.values()}


def test_the_table_of_roles_is_what_each_role_may():
    rows = re.findall(r"^\| (\w.*?) \|((?: (?:yes|no) \|)+)$", part("Who has which role"), re.M)
    assert [words for words, _ in rows if not words.startswith(tuple(ROWS))] == []
    assert len(rows) == len(ROWS)
    for words, cells in rows:
        [wanted] = [abilities for begins, abilities in ROWS.items() if words.startswith(begins)]
        may = dict(zip(ROLES, re.findall("yes|no", cells), strict=True))
        for role, said in may.items():
            assert (wanted <= ABILITIES[role]) == (said == "yes"), (role, words)
            assert said == "yes" or not wanted & ABILITIES[role], (role, words)


def test_the_table_of_roles_tells_of_every_ability():
    assert set().union(*ROWS.values()) == ABILITIES["owner"]
