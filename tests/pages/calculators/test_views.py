from __future__ import annotations

import pytest
from django.db import OperationalError
from django.urls import reverse

from shop.bench import registry
from shop.jobs.models import LedgerRow
from shop.pages.calculators import catalogue
from shop.pages.models import CalculationUse
from tests.bench.test_every_calculation import EXAMPLES

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def typed(example):
    return {
        name: " ".join(map(str, value)) if isinstance(value, list) else str(value)
        for name, value in example.items()
    }


def path(name):
    return reverse("calculator", args=[name])


def test_every_calculator_is_listed_and_those_of_the_shell_are_not(hands):
    page = hands.get("/calculators/").content.decode()
    for name, one in registry.CALCULATIONS.items():
        assert (path(name) in page) is not one.shell_only


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_calculator_works_and_tells_formula_and_source(hands, name):
    empty = hands.get(path(name))
    assert empty.status_code == 200
    answer = hands.get(path(name), typed(EXAMPLES[name]) or {"strap_megohms": "1"})
    text = answer.content.decode()
    assert answer.status_code == 200, text
    assert "Result" in text
    assert "Source:" in text
    assert registry.CALCULATIONS[name].caution.split(".")[0] in text


@pytest.mark.parametrize(
    ("name", "given", "sentence"),
    [
        ("discharge", {"volts": "", "microfarads": "10"}, "discharge also needs volts"),
        ("discharge", {"volts": "0", "microfarads": "10"}, "volts is 0 V; it must be from 0.1"),
        ("discharge", {"volts": "-75", "microfarads": "10"}, "volts is -75 V"),
        ("discharge", {"volts": "nan", "microfarads": "10"}, "is no number"),
        ("discharge", {"volts": "75 A", "microfarads": "10"}, "it must be a number of V"),
        ("heating-curve", {"minutes": "0 10 x", "celsius": "1"}, "it must be a number of min"),
        ("substitute-fuse", {"needed_amps": "2", "offered_amps": "-2"}, "offered amps is -2 A"),
        ("impulse-level", {"safety_class": "Z9", "microfarads": "1"}, "Safety class: 'Z9' must be one of X1, X2, Y1"),
    ],
)  # fmt: skip
def test_bad_input_gets_a_sentence_and_keeps_what_was_typed(hands, name, given, sentence):
    answer = hands.get(path(name), given)
    text = answer.content.decode().replace("&#x27;", "'")
    assert answer.status_code == 422
    assert sentence in text
    for value in given.values():
        assert not value or value == "Z9" or f'value="{value}"' in text


def test_five_farads_at_400_volts_ask_whether_they_are_meant(hands):
    given = {"volts": "400", "microfarads": "5000000"}
    asked = hands.get(path("discharge"), given)
    assert "Is it meant?" in asked.content.decode()
    assert 'name="meant"' in asked.content.decode()
    answered = hands.get(path("discharge"), given | {"meant": "on"})
    assert answered.status_code == 200
    assert "400\u202f000 J" in answered.content.decode()


def test_a_comma_is_a_decimal_point(hands):
    answer = hands.get(path("touch-current"), {"volts": "0,75", "hertz": "60"})
    assert "0.502 mA" in answer.content.decode()


def test_a_file_of_the_machine_is_not_read_by_a_page(hands):
    assert hands.get("/calculators/tone/", {"path": "/etc/passwd"}).status_code == 404


class TestIntoAJob:
    given = {"millivolts": "26", "emitter_ohms": "0.22"}

    def last(self, number):
        return LedgerRow.objects.filter(job_id=number).latest("sequence")

    def test_all_of_it_as_a_note(self, hands, bench):
        number = bench.receive()
        answer = hands.post(path("emitter-bias"), self.given | {"job": number, "as": ""})
        assert answer.status_code == 302
        row = self.last(number)
        assert row.event_type == "note_added"
        assert row.data["text"] == (
            "Emitter bias: current 118 mA; idle power not known."
            " From voltage 26 mV; emitter resistance 0.22 ohm."
        )

    def test_one_figure_as_a_reading(self, hands, bench):
        number = bench.receive()
        hands.post(path("emitter-bias"), self.given | {"job": number, "as": "milliamps"})
        row = self.last(number)
        assert (row.event_type, row.data["quantity"], row.data["unit"]) == (
            "reading_taken",
            "milliamps",
            "mA",
        )
        assert row.data["value"] == pytest.approx(118.18, abs=0.01)
        assert row.data["source"] == "worked out by emitter-bias"

    @pytest.mark.parametrize("job", ["", "0", "999999", "many", "9" * 30])
    def test_a_job_that_is_not_there_gets_a_sentence(self, hands, job):
        answer = hands.post(path("emitter-bias"), self.given | {"job": job, "as": ""})
        assert answer.status_code == 422
        said = answer.content.decode()
        assert "must be a job&#x27;s number" in said or "There is no job 999999" in said
        assert not LedgerRow.objects.exists()

    def test_the_desk_writes_notes_but_no_readings(self, client, people, bench):
        number = bench.receive()
        client.force_login(people.desk)
        sent = self.given | {"job": number}
        assert client.post(path("emitter-bias"), sent | {"as": "milliamps"}).status_code == 403
        assert client.post(path("emitter-bias"), sent | {"as": ""}).status_code == 302

    def test_what_cannot_be_worked_out_is_not_written(self, hands, bench):
        number = bench.receive()
        before = bench.job(number).head
        answer = hands.post(
            path("emitter-bias"), {"millivolts": "-1", "emitter_ohms": "0.22", "job": number}
        )
        assert answer.status_code == 422
        assert bench.job(number).head == before


class TestIndex:
    def page(self, hands, query="", **headers):
        return hands.get("/calculators/" + query, headers=headers).content.decode()

    def test_words_find_a_calculator_by_title_sum_and_other_names(self, hands):
        for typed, name in (
            ("series lamp", "lamp-limiter"),
            ("tube", "valve-idle"),
            ("thd square", "thd-of-shape"),
            ("emitter-bias", "emitter-bias"),
        ):
            page = self.page(hands, f"?q={typed}")
            assert path(name) in page
            assert path("cheapest-order") not in page

    def test_nothing_found_says_so(self, hands):
        assert "No calculator for “zzz”" in self.page(hands, "?q=zzz")

    def test_typing_asks_for_the_list_alone(self, hands):
        part = self.page(hands, "?q=fuse", **{"HX-Request": "true"})
        assert "<html" not in part
        assert path("fuse-times") in part

    def test_what_the_shop_uses_comes_first(self, hands):
        assert catalogue.most_used()[0].name == catalogue.USUAL[0]
        for _ in range(2):
            hands.get(path("decibels"), {"value": "10", "reference": "1"})
        hands.get(path("damping"), {"unloaded_volts": "20", "loaded_volts": "19"})
        hands.get(path("damping"), {"unloaded_volts": "nonsense", "loaded_volts": "19"})
        assert [one.name for one in catalogue.most_used()][:2] == ["decibels", "damping"]
        assert CalculationUse.objects.get(name="damping").times == 1
        assert len(catalogue.most_used()) == catalogue.MOST_SHOWN

    def test_a_result_comes_although_its_use_cannot_be_counted(self, hands, monkeypatch):
        def full(*args, **kwargs):
            raise OperationalError("disk is full")

        monkeypatch.setattr(CalculationUse.objects, "filter", full)
        answer = hands.get(path("decibels"), {"value": "10", "reference": "1"})
        assert answer.status_code == 200
        assert "20" in answer.content.decode()


def test_a_lethal_charge_is_said_beside_the_result(hands):
    page = hands.get(path("discharge"), {"volts": "420", "microfarads": "100"}).content.decode()
    assert "ES3: this voltage can kill. It holds 8.82 J." in page
    harmless = hands.get(path("discharge"), {"volts": "12", "microfarads": "100"}).content.decode()
    assert "ES3" not in harmless


def test_a_choice_that_was_not_made_shows_what_is_taken_for_it(client, people):
    client.force_login(people.technician)
    page = client.get("/calculators/fuse-times/", {"rated_amps": "2", "amps": "8"}).content.decode()
    assert '<option value="3" selected' in page
    assert "sheet 3" in page


def test_a_word_that_is_no_choice_is_refused_and_no_result_is_shown_for_another(hands):
    page = hands.get(path("pad"), {"loss_decibels": "10", "ohms": "600", "shape": "ladder"})
    text = page.content.decode()
    assert page.status_code == 422
    assert "Shape: &#x27;ladder&#x27; must be one of T, pi" in text
    assert "In series" not in text
    again = hands.get(path("pad"), {"loss_decibels": "10", "ohms": "600", "shape": "pi"})
    assert "In series" in again.content.decode()


def test_a_verdict_that_there_is_none_of_is_neither_good_nor_bad(hands):
    given = {"microfarads": "470", "rated_volts": "50"}
    assert 'class="ink "' in hands.get(path("esr-limit"), given).content.decode()
    for ohms, ink in (("0.2", "good"), ("0.9", "bad")):
        page = hands.get(path("esr-limit"), given | {"measured_ohms": ohms}).content.decode()
        assert f'class="ink {ink}"' in page
