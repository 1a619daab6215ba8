"""The button beside a reading, with and without scripts; the value comes into the field."""

from __future__ import annotations

import json
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from checklists.engine.listed import ListedReading
from shop.instruments import answering, connecting
from shop.instruments.models import Request
from shop.jobs.models import LedgerRow
from shop.lib import typed_numbers
from shop.lib.refusals import BadInput
from shop.pages.job.meter_views import shown
from shop.preferences import current
from tests.instruments.simulated import meter

pytestmark = pytest.mark.django_db
HTMX = {"HX-Request": "true"}
KEY, QUANTITY = "dc-offset", "offset_millivolts"
BUTTON = "Read meter: Bench meter"


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def page(hands, job, key=KEY):
    return hands.get(reverse("step", args=[job, key])).content.decode()


def press(hands, job, key=KEY, headers=None, **typed):
    given = {"step": key} | typed
    return hands.post(reverse("read-meter", args=[job, key]), given, headers=headers or {})


def read(meter):
    return {"read": f"{QUANTITY}:{meter.pk}"}


def poll(hands, job, request, **typed):
    where = reverse("meter-asked", args=[job, KEY, QUANTITY, request.pk])
    return hands.get(where, {"step": KEY} | typed, headers=HTMX)


def field(html, name=f"reading-{QUANTITY}"):
    return re.search(rf'<input name="{name}" value="([^"]*)"', html)[1]


class TestTheButton:
    def test_a_shop_without_a_connected_instrument_sees_nothing(self, hands, live, add_instrument):
        before = page(hands, live)
        assert "Read meter" not in before
        assert "metered" not in before
        add_instrument("Plain", ("dc-voltage", 60.0, {"reading_percent": 1}))
        assert "Read meter" not in page(hands, live)

    def test_it_stands_beside_each_reading_of_that_quantity(self, hands, live, connected):
        connected()
        assert page(hands, live).count(BUTTON) == 2

    @pytest.mark.parametrize("key", ["verify-dead", "discharge-reservoirs", "earth-continuity",
                                     "insulation-resistance", "shorts-before-power", "touch-current"])  # fmt: skip
    def test_it_never_stands_where_a_person_proves_it(self, hands, job, connected, key):
        connected()
        assert "Read meter" not in page(hands, job, key)

    def test_nor_for_somebody_who_looks_only(self, client, people, live, connected):
        connected()
        client.force_login(people.viewer)
        assert "Read meter" not in page(client, live)

    def test_enter_still_presses_done(self, hands, live, connected):
        connected()
        form = page(hands, live).split('id="sign-form"')[1]
        assert 'name="result" value="pass"' in re.search(r"<button[^>]*>", form)[0]


class TestWithScripts:
    def test_the_value_comes_into_the_field_and_is_signed_by_a_person(
        self, hands, live, bench, connected
    ):  # fmt: skip
        with meter(**{"MEAS:VOLT:DC?": ["-0.0123456"]}) as device:
            instrument = connected("Bench meter", device.resource)
            first = press(hands, live, headers=HTMX, **read(instrument)).content.decode()
            assert "Reading Bench meter" in first
            [asked] = Request.objects.all()
            assert "Reading Bench meter" in poll(hands, live, asked).content.decode()
            answering.answer_waiting(now=timezone.now())
        rows = LedgerRow.objects.count()
        answer = poll(hands, live, asked)
        html = answer.content.decode()
        assert field(html) == "-12.3456"
        assert answer["HX-Retarget"] == f"#field-{KEY}-{QUANTITY}"
        assert f'<option value="{instrument.pk}" selected' in html
        assert 'hx-swap-oob="true"' in html
        assert "Look at it before you sign" in html
        assert LedgerRow.objects.count() == rows

        given = {"step": KEY, "result": "pass", f"reading-{QUANTITY}": field(html)}
        given |= {"reading-before_relay_millivolts": "0"}
        given |= {"instrument-dc-voltage": instrument.pk}
        assert hands.post(reverse("sign", args=[live, KEY]), given).status_code == 302
        signed = LedgerRow.objects.filter(event_type="step_signed").last()
        assert signed.data["readings"][0]["value"] == -12.3456
        assert signed.data["readings"][0]["instrument"]["name"] == "Bench meter"

    def test_a_second_value_comes_behind_the_first(self, hands, live, connected, answer):
        press(hands, live, headers=HTMX, **read(connected()))
        answer(0.005)
        [asked] = Request.objects.all()
        html = poll(hands, live, asked, **{f"reading-{QUANTITY}": "-3"}).content.decode()
        assert field(html) == "-3 5"

    def test_why_there_is_none_stands_beside_the_field(self, hands, live, connected, answer):
        press(hands, live, headers=HTMX, **read(connected()))
        answer(said="It shows overload.")
        [asked] = Request.objects.all()
        html = poll(hands, live, asked, **{f"reading-{QUANTITY}": "4"}).content.decode()
        assert "It shows overload." in html
        assert field(html) == "4"
        assert BUTTON in html

    def test_a_refusal_stands_there_too(self, hands, live, job, bench, connected):
        instrument = connected()
        bench.power(live, "isolated")
        refused = press(hands, live, headers=HTMX, **read(instrument))
        assert refused.status_code == 409
        assert "power is isolated" in refused.content.decode()


class TestWithoutScripts:
    def test_it_goes_by_pressing_again_and_nothing_typed_is_lost(
        self, hands, live, connected, answer
    ):  # fmt: skip
        instrument = connected()
        typed = {"reading-before_relay_millivolts": "7", "note": "warm"}
        first = press(hands, live, **read(instrument), **typed)
        html = first.content.decode()
        assert first.status_code == 200
        assert field(html, "reading-before_relay_millivolts") == "7"
        again = re.search(r'name="look" value="([^"]+)"', html)[1]
        waits = press(hands, live, look=again, **typed).content.decode()
        assert "Look again" in waits
        answer(0.002)
        html = press(hands, live, look=again, **typed).content.decode()
        assert field(html) == "2"
        assert field(html, "reading-before_relay_millivolts") == "7"
        assert f'<option value="{instrument.pk}" selected' in html
        assert ">warm<" in html or 'value="warm"' in html

    def test_a_refusal_leaves_what_was_typed(self, hands, live, bench, connected):
        instrument = connected()
        bench.power(live, "isolated")
        refused = press(hands, live, **read(instrument), **{f"reading-{QUANTITY}": "9"})
        assert refused.status_code == 409
        assert "power is isolated" in refused.content.decode()

    def test_released_it_is_free(self, hands, live, connected):
        instrument = connected()
        press(hands, live, **read(instrument))
        html = press(hands, live, release=f"{QUANTITY}:{instrument.pk}").content.decode()
        assert "It is free for another job." in html

    @pytest.mark.parametrize("given", [{}, {"read": ""}, {"read": "x"}, {"read": f"{QUANTITY}:x"},
                                       {"read": "nothing:1"}, {"read": f"{QUANTITY}:4711"},
                                       {"read": f"{QUANTITY}:{10**30}"}])  # fmt: skip
    def test_what_is_no_button_of_the_page_is_told(self, hands, live, given):
        assert press(hands, live, **given).status_code == 422

    def test_a_request_of_another_field_shows_nothing(self, hands, live, connected, answer):
        press(hands, live, **read(connected()))
        [asked] = Request.objects.all()
        answer(0.002)
        other = press(hands, live, look=f"before_relay_millivolts:{asked.pk}").content.decode()
        assert field(other, "reading-before_relay_millivolts") == ""


@pytest.mark.parametrize(
    ("value", "unit", "sign", "text"),
    [
        (0.0123456789, "mV", ".", "12.3457"),
        (1.234, "V", ".", "1.2340"),
        (1.234, "V", ",", "1,2340"),
        (0.123, "V", ".", "0.123"),
        (-0.05, "mV", ",", "-50"),
        (1e-9, "mV", ".", "1e-06"),
        (0.0, "mV", ".", "0"),
        (2.5e6, "Mohm", ".", "2.5"),
    ],
)
def test_a_value_is_typed_so_that_it_reads_one_way(monkeypatch, value, unit, sign, text):
    reading = ListedReading(quantity="q", title="q", unit=unit, low=None, high=None, source="",
                            required=True)  # fmt: skip
    monkeypatch.setattr(current, "value", lambda name: sign)
    typed = shown(value, reading)
    assert typed == text
    read_back = typed_numbers.number(typed, unit=unit, decimal=sign)
    assert read_back * typed_numbers.factor_of(unit) == pytest.approx(value, rel=1e-5)


class TestAtTheBrowser:
    """What the browser has from a meter on its own serial line is judged here by the same rule."""

    @pytest.fixture
    def here(self, connected, people):
        made = connected()
        connecting.save(made, "browser", 9600, {"dc-voltage": ""}, by=people.owner)
        connecting.identify(made, "ORRERY,BM 3", by=people.owner, at=timezone.now())
        return made

    def post(self, hands, job, meter, answers, key=KEY, quantity=QUANTITY):
        given = {"step": key, "read": f"{quantity}:{meter.pk}", "answers": answers}
        return hands.post(reverse("meter-here", args=[job, key]), given, headers=HTMX)

    def still(self, text="0.0072 V", apart=0.5, many=5):
        return json.dumps([[n * apart, text] for n in range(many)])

    def test_a_value_that_stands_still_comes_into_the_field(self, hands, live, here):
        answer = self.post(hands, live, here, self.still())
        assert field(answer.content.decode()) == "7.2"
        assert answer["HX-Retarget"] == f"#field-{KEY}-{QUANTITY}"

    def test_while_it_does_not_the_browser_goes_on(self, hands, live, here):
        assert self.post(hands, live, here, self.still(many=4)).status_code == 204

    @pytest.mark.parametrize(
        ("text", "apart", "said"),
        [
            ("9.9E37", 0.5, "overload"),
            ("1 A", 0.5, "a number of V was asked for"),
            ("hello", 0.5, "no number"),
            ("1", 30, "stood still at"),
        ],
    )
    def test_what_is_none_is_told(self, hands, live, here, text, apart, said):
        assert said in self.post(hands, live, here, self.still(text, apart)).content.decode()

    def test_one_that_never_settles_is_given_up(self, hands, live, here):
        restless = json.dumps([[n, str(n)] for n in range(21)])
        assert "did not stand still" in self.post(hands, live, here, restless).content.decode()

    @pytest.mark.parametrize("sent", ["", "x", "{}", "[1]", '[["a","1"]]', "[[2,\"1\"],[1,\"1\"]]",
                                      "[[NaN,\"1\"]]", json.dumps([[1, "1"]] * 501)])  # fmt: skip
    def test_what_is_no_list_of_answers_is_refused(self, hands, live, here, sent):
        assert self.post(hands, live, here, sent).status_code == 422

    @pytest.mark.parametrize(("key", "quantity"), [("verify-dead", "highest_volts"),
                                                   ("discharge-reservoirs", "residual_volts")])  # fmt: skip
    def test_a_dead_test_is_refused_here_too(self, hands, job, here, key, quantity):
        answer = self.post(hands, job, here, self.still("0"), key, quantity)
        assert answer.status_code == 409
        assert "reads a still 0" in answer.content.decode()
        assert not Request.objects.exists()

    def test_an_instrument_of_the_worker_is_not_read_here(self, hands, live, connected):
        assert self.post(hands, live, connected(), self.still()).status_code == 422

    def test_nor_the_other_way_round(self, hands, live, here):
        assert press(hands, live, headers=HTMX, **read(here)).status_code == 409

    def test_an_identity_is_kept_for_one_at_the_browser_alone(self, connected, people):
        with pytest.raises(BadInput, match="is not on a serial line"):
            connecting.identify(connected(), "X", by=people.owner, at=timezone.now())
