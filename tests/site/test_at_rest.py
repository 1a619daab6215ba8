"""What a process of the shop does not hold in memory until somebody asks for it."""

from __future__ import annotations

import subprocess
import sys

import pytest
from django.conf import settings

pytestmark = pytest.mark.process
# Some megabytes each.
ASKED_FOR = ("openpyxl", "tablib", "facturx", "pypdf", "icalendar", "PIL", "pypdfium2", "zxingcpp")
LOADED = """
import os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "shop.site.settings"
import django
django.setup()
from django.core.management import call_command
call_command("check", verbosity=0)
print(*(name for name in sys.argv[1:] if name in sys.modules))
"""


def test_libraries_for_one_kind_of_file_are_loaded_by_who_needs_them(tmp_path):
    found = subprocess.run(
        [sys.executable, "-c", LOADED, *ASKED_FOR],
        cwd=settings.ROOT,
        env={"BENCHTAG_DATA": str(tmp_path), "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert found.stdout.splitlines()[-1] == ""


def test_what_stays_of_quickstart_knows_nothing_of_django():
    asked = "import shop.site.running, sys; print('django' in sys.modules)"
    found = subprocess.run(
        [sys.executable, "-c", asked], cwd=settings.ROOT, capture_output=True, text=True, check=True
    )
    assert found.stdout == "False\n"
