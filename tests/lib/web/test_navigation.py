"""Rooms lead upward only through what they registered, and the menu shows what somebody may."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import (
    get_resolver,
    get_script_prefix,
    path,
    reverse,
    set_script_prefix,
    set_urlconf,
)

from shop.lib.web.navigation import Registry, address, job_tabs, menu

# Addresses that a lower room gives out for a page above it, as `get_absolute_url` of its models
# does; those of home, of a job and of the settings are known to everybody.
PROMISED = {
    "settings": "lib",
    "home": "lib",
    "job": "lib",
    "parcel": "parts",
    "your-unit": "customers",
    "announcement": "customers",
    "announce": "customers",
}
# The frame around the pages belongs to the project: it stands above all rooms.
FRAME = "site"


def layers():
    """Return the place of each room, 0 the lowest, as the import contract has it."""
    with (settings.ROOT / "pyproject.toml").open("rb") as file:
        contracts = tomllib.load(file)["tool"]["importlinter"]["contracts"]
    rooms = next(c["layers"] for c in contracts if c["name"] == "Rooms stack in one direction")
    return {
        name: place
        for place, layer in enumerate(reversed(rooms))
        for name in re.split(r"\s*[|:]\s*", layer)
    }


def view_modules(patterns, found):
    for one in patterns:
        if hasattr(one, "url_patterns"):
            view_modules(one.url_patterns, found)
        elif one.name:
            view = one.callback
            while hasattr(view, "__wrapped__"):
                view = view.__wrapped__
            found.setdefault(one.name, view.__module__)
    return found


def room_of_view(module):
    words = module.split(".")
    return words[1] if words[0] == "shop" else "accounts" if words[0] == "allauth" else None


RANK = layers()
TEMPLATES = sorted(Path(settings.ROOT, "templates").rglob("*.html"))
MODULES = sorted(Path(settings.ROOT, "shop").rglob("*.py"))


def room_of_template(file):
    first, *rest = file.relative_to(Path(settings.ROOT, "templates")).parts
    return (
        first
        if rest and first in RANK
        else {"account": "accounts", "allauth": "accounts"}.get(first, FRAME)
    )


def upward(room, text, names, url_patterns, file_pattern):
    """Yield what leads from a room to one above it, or to another on its floor."""
    for name in {hit for pattern in url_patterns for hit in re.findall(pattern, text)}:
        target = PROMISED.get(name) or room_of_view(names[name])
        if target and target != room and RANK[target] >= RANK[room]:
            yield f"{name} of {target}"
    for first in set(re.findall(file_pattern, text)):
        if first in RANK and first != room and RANK[first] >= RANK[room]:
            yield f"a template of {first}"


def test_no_template_leads_to_a_room_above():
    names = view_modules(get_resolver().url_patterns, {})
    wrong = {
        str(file): found
        for file in TEMPLATES
        if room_of_template(file) != FRAME
        if (
            found := sorted(
                upward(
                    room_of_template(file),
                    file.read_text(),
                    names,
                    [r"{% (?:url|address) '([\w-]+)'"],
                    r"""{% (?:include|extends|kept) ["'](\w+)/""",
                )
            )
        )
    }
    assert wrong == {}


def test_no_module_leads_to_a_room_above():
    names = view_modules(get_resolver().url_patterns, {})
    wrong = {}
    for file in MODULES:
        room = file.relative_to(Path(settings.ROOT, "shop")).parts[0]
        if room not in RANK:
            continue
        calls = [r"(?:redirect|reverse)\(\s*\"([\w-]+)\"", r"linkify=\(\"([\w-]+)\""]
        found = sorted(upward(room, file.read_text(), names, calls, r"\"(\w+)/[\w/]+\.html\""))
        if found:
            wrong[str(file)] = found
    assert wrong == {}


def test_the_frame_names_no_room():
    templates = Path(settings.ROOT, "templates")
    frame = [
        "base.html",
        "frame/_links.html",
        "frame/_scripts.html",
        "frame/_who.html",
        "frame/_foot.html",
    ]
    text = "".join((templates / name).read_text() for name in frame)
    named = set(re.findall(r"{% (?:url|address) '([\w-]+)'", text))
    assert named == {"home", "account", "keys", "sign-out"}


def test_every_entry_is_an_address():
    names = view_modules(get_resolver().url_patterns, {})
    everything = dict.fromkeys(["read", "note", "receive", "record", "persons"], True)
    entries = menu.allowed(everything) + job_tabs.allowed(everything)
    assert len(entries) > 15
    assert {entry.url_name for entry in entries} <= names.keys()


def test_an_entry_is_shown_to_whom_it_is_for_in_order():
    registry = Registry()
    registry.add("Late", "late", order=2)
    registry.add("Early", "early", order=1)
    registry.add("Secret", "secret", order=0, ability="persons")
    assert [entry.title for entry in registry.allowed({"read": True})] == ["Early", "Late"]
    assert registry.allowed({}) == []


def test_one_address_under_two_names_is_a_mistake():
    registry = Registry()
    registry.add("Here", "here", order=1)
    registry.add("Here", "here", order=1)
    with pytest.raises(ValueError, match="registered already"):
        registry.add("There", "here", order=1)


def test_an_address_is_that_of_the_path_and_of_the_map_of_now():
    usual = get_script_prefix()
    assert address("job", 7) == reverse("job", args=[7]) == "/jobs/7/"
    try:
        set_script_prefix("/bench/")
        assert address("job", 7) == reverse("job", args=[7]) == "/bench/jobs/7/"
        set_script_prefix(usual)
        set_urlconf(type("Other", (), {"urlpatterns": [path("7/<int:n>", print, name="job")]}))
        assert address("job", 7) == "/7/7"
    finally:
        set_script_prefix(usual)
        set_urlconf(None)
