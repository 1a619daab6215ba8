"""What a browser is called: its header names half a dozen others besides itself."""

from __future__ import annotations

# The first that is found counts: most of them also call themselves one of those below.
_BROWSERS = (
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser/", "Samsung Internet"),
    ("Firefox/", "Firefox"),
    ("FxiOS/", "Firefox"),
    ("CriOS/", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)
_MACHINES = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "Mac"),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
)


def browser_name(user_agent: str) -> str:
    """Return 'Firefox, Android' for what a browser says of itself; else what it says."""
    browser = _first(_BROWSERS, user_agent)
    if not browser:
        return user_agent
    return ", ".join(word for word in (browser, _first(_MACHINES, user_agent)) if word)


def _first(names: tuple[tuple[str, str], ...], user_agent: str) -> str:
    return next((name for mark, name in names if mark in user_agent), "")
