"""Typed readers for settings from the environment. A value that makes no sense stops the start."""

from __future__ import annotations

import os
import secrets
import shlex
from contextlib import suppress
from difflib import get_close_matches
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import unquote, urlsplit

from shop.preferences.definitions import BY_NAME, SETTINGS
from shop.preferences.kinds import BadText
from shop.site import places

PREFIX = "BENCHTAG_"
# What the project was called before; its variables are still read, and named at the start.
OLD_PREFIX = "BENCHWARDEN_"
WAIT_FOR_LOCK_SECONDS = 20
DATABASE_FILE, OLD_DATABASE_FILE = "benchtag.sqlite3", "benchwarden.sqlite3"


# Read by compose.yaml and by the tests alone.
_READ_ELSEWHERE = (
    "DATABASE_NAME",
    "EXAMPLES",
    "SCREENSHOTS",
    "SEED",
    "SEQUENCES",
    "SEQUENCE_STEPS",
)
_read: set[str] = set()


class BadSetting(ValueError):
    """A setting with a value that cannot be used."""


def text(name: str, default: str = "") -> str:
    """Return a setting as text; an empty one counts as not set."""
    _read.add(name)
    return os.environ.get(PREFIX + name) or os.environ.get(OLD_PREFIX + name) or default


def old_names() -> list[str]:
    """Return the variables that are set under the project's old name."""
    return sorted(name for name in os.environ if name.startswith(OLD_PREFIX))


def unknown_names() -> dict[str, str]:
    """Return the variables that are set and that nothing reads, each with the nearest that is read."""
    known = {*_read, *_READ_ELSEWHERE}
    set_here = [name.removeprefix(PREFIX) for name in os.environ if name.startswith(PREFIX)]
    return {
        PREFIX + name: PREFIX + (get_close_matches(name, known, 1) or [""])[0]
        for name in sorted(set_here)
        if name not in known
    }


def flag(name: str, *, default: bool = False) -> bool:
    """Return a yes/no setting; only `yes` and `no` (or 1 and 0) are taken."""
    raw = text(name)
    if raw in ("yes", "1"):
        return True
    if raw in ("no", "0"):
        return False
    if raw:
        raise BadSetting(f"{PREFIX}{name} is {raw!r}; write yes or no.")
    return default


def number(name: str, default: int, *, low: int = 0, high: int = 10**9) -> int:
    """Return a whole number within low..high."""
    raw = text(name)
    if not raw:
        return default
    # No helper of the shop: settings are read before any of it.
    plain = raw.isascii() and raw.isdigit() and len(raw) <= 18
    if not plain or not low <= int(raw) <= high:
        raise BadSetting(
            f"{PREFIX}{name} is {raw[:40]!r}; write a whole number from {low} to {high}."
        )
    return int(raw)


def choice(name: str, allowed: tuple[str, ...]) -> str:
    """Return a setting that is one of a few words; the first is the default."""
    given = text(name) or allowed[0]
    if given not in allowed:
        raise BadSetting(f"{PREFIX}{name} is {given!r}; write one of {', '.join(allowed)}.")
    return given


def words(name: str) -> list[str]:
    """Return a comma-separated setting as a list."""
    return [word.strip() for word in text(name).split(",") if word.strip()]


def program(name: str) -> list[str]:
    """Return a program with its words, parted as a shell would; one of them must hold {file}."""
    raw = text(name)
    try:
        given = shlex.split(raw)
    except ValueError as error:
        raise BadSetting(f"{PREFIX}{name} is {raw!r}; its quotes do not match: {error}.") from None
    if given and not any("{file}" in word for word in given[1:]):
        raise BadSetting(f"{PREFIX}{name} is {raw!r}; write {{file}} where the file is to stand.")
    return given


def shop_texts() -> dict[str, str]:
    """Return the settings of the shop that are set here, as text, by name."""
    single = [setting for setting in SETTINGS if not setting.variable_name]
    given = {setting.name: text(setting.variable) for setting in single}
    return {name: raw for name, raw in given.items() if raw}


def of_the_shop(texts: dict[str, str]) -> dict[str, object]:
    """Return the values of these settings by variable, as Django's settings have them."""
    values: dict[str, object] = {}
    for name, raw in texts.items():
        setting = BY_NAME[name]
        try:
            values[setting.attribute] = setting.read(raw)
        except BadText as error:
            raise BadSetting(f"{PREFIX}{setting.variable} is {raw!r}; write {error}.") from None
    return values


def secret(name: str) -> str:
    """Return a secret from the setting, or from the file that NAME_FILE points at."""
    path = text(name + "_FILE")
    if not path:
        return text(name)
    try:
        return Path(path).read_text(encoding="utf-8").strip()
    except OSError as error:
        raise BadSetting(f"{PREFIX}{name}_FILE is {path!r}; it cannot be read: {error}.") from None


def mail(name: str) -> dict[str, object]:
    """Return Django's mail settings for smtp://, smtps:// or smtp+tls:// with user and password, or file://.

    Without any, mail goes by what the page says (shop.lib.mail_server).
    """
    url = secret(name)
    if not url:
        return {"EMAIL_BACKEND": "shop.lib.mail_server.MailServer"}
    parts = urlsplit(url)
    if parts.scheme == "file":
        return _shown(url) | {
            "EMAIL_BACKEND": "django.core.mail.backends.filebased.EmailBackend",
            "EMAIL_FILE_PATH": parts.path,
        }
    if parts.scheme not in ("smtp", "smtps", "smtp+tls") or not parts.hostname:
        raise BadSetting(
            f"{PREFIX}{name} starts with {parts.scheme!r}; write smtp://, smtp+tls:// or"
            " smtps:// with a host, or file:///folder."
        )
    port = parts.port or {"smtps": 465, "smtp+tls": 587}.get(parts.scheme, 25)
    user = unquote(parts.username or "")
    security = {"smtps": "tls", "smtp+tls": "starttls"}.get(parts.scheme, "none")
    return _shown(parts.hostname, port, user, security) | {
        "EMAIL_BACKEND": "django.core.mail.backends.smtp.EmailBackend",
        "EMAIL_HOST": parts.hostname,
        "EMAIL_PORT": port,
        "EMAIL_HOST_USER": user,
        "EMAIL_HOST_PASSWORD": unquote(parts.password or ""),
        "EMAIL_USE_SSL": parts.scheme == "smtps",
        "EMAIL_USE_TLS": parts.scheme == "smtp+tls",
        "EMAIL_TIMEOUT": 20,
    }


def _shown(host: str, port: int = 0, user: str = "", security: str = "none") -> dict[str, object]:
    """Return the settings of mail as the page shows them, where the machine decides."""
    return {
        "MAIL_HOST": host,
        "MAIL_PORT": port or "",
        "MAIL_USER": user,
        "MAIL_SECURITY": security,
        "MAIL_PASSWORD": "",
    }


def require_extra(name: str, *modules: str) -> None:
    """Raise BadSetting when what this setting needs is not installed: it is an extra of the package."""
    missing = [module for module in modules if find_spec(module) is None]
    if missing:
        raise BadSetting(
            f"{PREFIX}{name} is set, and {' and '.join(missing)} {'is' if len(missing) == 1 else 'are'}"
            " not installed; install benchtag[services]."
        )


def data_folder() -> Path:
    """Return the folder that holds database, secret key and files of one shop."""
    given = text("DATA")
    try:
        return Path(given or places.default_data_folder()).resolve()
    except RuntimeError:
        raise BadSetting(
            "Nobody says where your home is; name the data folder with --data DIR."
        ) from None


def keep_private(folder: Path) -> None:
    """Let nobody else on the machine read what the shop keeps: 700 for the folder, 600 for files.

    Whatever this process makes from here on is private too: database, backups, bundles. What
    belongs to somebody else is left as it is.
    """
    os.umask(0o077)
    folder.mkdir(parents=True, exist_ok=True)
    for place in (folder, *folder.glob("*.sqlite3*"), *folder.glob("backups/**/*")):
        mode = 0o700 if place.is_dir() else 0o600
        with suppress(PermissionError):
            place.chmod(mode)


def set_data_folder(folder: str) -> None:
    """Let a folder named on the command line be the data folder, here and in what is started."""
    if not folder:
        raise BadSetting("--data names no folder; write --data DIR.")
    os.environ[PREFIX + "DATA"] = str(Path(folder).expanduser())


def secret_key(folder: Path) -> str:
    """Return the signing key: from the setting, else one made once and kept in the data folder."""
    given = secret("SECRET_KEY")
    if given:
        return given
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "secret-key"
    try:
        # O_EXCL: of two processes that start together, one makes the key and both use it.
        handle = os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except FileExistsError:
        return file.read_text(encoding="utf-8").strip()
    with os.fdopen(handle, "w", encoding="utf-8") as fresh:
        key = secrets.token_urlsafe(50)
        fresh.write(key)
    return key


def database(url: str, folder: Path) -> dict[str, object]:
    """Return Django's database setting for a postgres:// address, or for SQLite in the data folder."""
    if not url:
        return _sqlite(database_file(folder))
    parts = urlsplit(url)
    if parts.scheme not in ("postgres", "postgresql"):
        raise BadSetting(f"{PREFIX}DATABASE_URL starts with {parts.scheme!r}; use postgres://.")
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.lstrip("/")),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or "") or secret("DATABASE_PASSWORD"),
        "HOST": parts.hostname or "",
        "PORT": str(parts.port or ""),
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
        # As on SQLite: who waits for a lock is told so, and does not wait for ever.
        "OPTIONS": {
            "options": f"-c lock_timeout={WAIT_FOR_LOCK_SECONDS}s",
            "connect_timeout": 3,
        },
    }


def database_file(folder: Path) -> Path:
    """Return the shop's database; one that was made under the old name keeps its name."""
    old = folder / OLD_DATABASE_FILE
    fresh = folder / DATABASE_FILE
    return old if old.exists() and not fresh.exists() else fresh


def _sqlite(file: Path) -> dict[str, object]:
    file.parent.mkdir(parents=True, exist_ok=True)
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": file,
        "OPTIONS": {
            # IMMEDIATE makes "lock, re-read, decide, write" true: select_for_update is a
            # silent no-op here, and a deferred transaction fails at once when it upgrades.
            "transaction_mode": "IMMEDIATE",
            "timeout": WAIT_FOR_LOCK_SECONDS,
            # FULL: a sign-off must survive a power cut.
            "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;"
            "PRAGMA cache_size=-16000;PRAGMA temp_store=MEMORY;",
        },
    }
