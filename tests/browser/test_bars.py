"""What is sticky at the foot of a phone's page hides no field that somebody goes to."""

from __future__ import annotations

import pytest

from tests.browser.conftest import PHONE
from tests.helpers import Bench, amplifier

pytestmark = pytest.mark.browser_context_args(viewport=PHONE, is_mobile=True, has_touch=True)

# The lowest pixel of the field that has the focus, and the highest one of the bar with Done.
CLEAR = """() => [
  document.activeElement.getBoundingClientRect().bottom,
  document.querySelector(".hands").getBoundingClientRect().top,
]"""


@pytest.mark.parametrize("step", ["limited-idle-current", "mains-voltage-match"])
def test_a_field_that_is_gone_to_lies_above_the_bar_with_done(signed_in, live_server, crew, step):
    number = Bench(crew.technician).receive(facts=amplifier())
    signed_in.goto(f"{live_server.url}/jobs/{number}/step/{step}/")
    fields = signed_in.locator("label.reading input")
    assert fields.count()
    for field in fields.all():
        signed_in.evaluate("window.scrollTo(0, 0)")
        field.focus()
        foot, bar = signed_in.evaluate(CLEAR)
        assert foot <= bar, field.get_attribute("name")


def test_an_empty_home_offers_to_receive_a_unit(signed_in, live_server):
    signed_in.goto(live_server.url)
    signed_in.get_by_role("link", name="Receive a unit", exact=True).click()
    signed_in.wait_for_url(f"{live_server.url}/receive/")
