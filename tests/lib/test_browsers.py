"""Browsers by name."""

from __future__ import annotations

import pytest

from shop.lib.browsers import browser_name

WEBKIT = "AppleWebKit/537.36 (KHTML, like Gecko)"
PHONE = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_1 like Mac OS X) AppleWebKit/605.1.15"


@pytest.mark.parametrize(
    ("said", "name"),
    [
        (f"Mozilla/5.0 (X11; Linux x86_64) {WEBKIT} Chrome/140.0 Safari/537.36", "Chrome, Linux"),
        (
            f"Mozilla/5.0 (Windows NT 10.0; Win64; x64) {WEBKIT} Chrome/140.0 Safari/537.36 Edg/140.0",
            "Edge, Windows",
        ),
        (
            "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0",
            "Firefox, Android",
        ),
        (f"{PHONE} Version/18.1 Mobile/15E148 Safari/604.1", "Safari, iPhone"),
        (f"{PHONE} CriOS/140.0 Mobile/15E148 Safari/604.1", "Chrome, iPhone"),
        ("Firefox/140.0", "Firefox"),
        ("Old Telephone", "Old Telephone"),
        ("", ""),
    ],
)
def test_a_browser_is_called_by_what_it_is_and_where_it_runs(said, name):
    assert browser_name(said) == name
