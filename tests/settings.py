"""Settings of the test run: a data folder of its own, cheap passwords, a database file."""

import os
import tempfile

_DATA = tempfile.mkdtemp(prefix="benchtag-tests-")
os.environ["BENCHTAG_DATA"] = _DATA
# A round of the worker in a test starts no process of its own.
os.environ["BENCHTAG_NIGHTLY_BACKUP"] = "no"
# Playwright's sync face runs an event loop in the thread of the test.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

from shop.site.settings import *  # noqa: E402, F403
from shop.site.settings import DATABASES  # noqa: E402

# Emptied before each test, which would take a broker on the same server with it.
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, so that threads and the live server share it as they do in the shop.
    DATABASES["default"]["TEST"] = {"NAME": f"{_DATA}/test.sqlite3"}
    DATABASES["default"]["OPTIONS"]["init_command"] += "PRAGMA synchronous=OFF;"
else:
    # No test pulls the plug of the server.
    DATABASES["default"]["OPTIONS"]["options"] += " -c synchronous_commit=off"

# The browser of the tests comes without TLS, where passkeys are for https alone.
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = True
