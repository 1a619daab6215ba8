"""What is on the label of an outlet: a code that holds the address of its page."""

from __future__ import annotations

import io
import re

import segno

from shop.outlets.models import Outlet
from shop.preferences import current as preferences

_LABEL = re.compile(r"(?:^|/)outlets/(\d{1,18})/?$")


def address(outlet: Outlet) -> str:
    """Return the address that the code holds."""
    return f"{preferences.value('address')}{outlet.get_absolute_url()}"


def drawing(outlet: Outlet) -> str:
    """Return the code as a drawing."""
    drawn = io.BytesIO()
    segno.make(address(outlet), error="m", micro=False).save(
        drawn, kind="svg", border=4, svgclass="label-code", lineclass=None, omitsize=True
    )
    return drawn.getvalue().decode().partition("?>")[2] or drawn.getvalue().decode()


def number_of(code: str) -> int | None:
    """Return the outlet that a scanned label names; None for another code."""
    found = _LABEL.search(code.strip()) if len(code) <= 400 else None
    return int(found[1]) if found else None
