from __future__ import annotations

import pytest
from django.utils import timezone

from shop.jobs.earlier_readings import strips
from shop.lib.refusals import BadInput, Forbidden
from shop.model_sheets import services as model_sheet_services
from shop.model_sheets.models import Figure
from shop.photos import services as photos
from shop.photos.models import Photo
from shop.photos.services import PhotoSubject
from tests.helpers import amplifier, flat
from tests.photos.pictures import snap

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet(people):
    return model_sheet_services.get_or_create_sheet("Nordlicht", "A 20", by=people.technician)


@pytest.fixture
def keep(sheet, people):
    def write(name, value, source="service manual, page 3"):
        return model_sheet_services.save_figure(
            sheet, name, value, source, by=people.technician, at=timezone.now()
        )

    return write


def test_a_new_job_of_the_model_starts_with_its_facts(bench, keep):
    keep("unit.rail_volts", 42)
    keep("unit.emitter_ohms", 0.22)
    keep("F801", "T 3.15 A H 250 V")
    facts = {"unit.bias_adjustable": True, "unit.output_stage": "class-ab"}
    number = bench.receive(make="Nordlicht", model="A 20", facts=facts)
    record = bench.traveller(number).record
    assert record.facts["unit.rail_volts"] == 42.0
    row = next(r for r in record.of_type("fact_recorded") if r.data["name"] == "unit.rail_volts")
    assert row.data["source"] == "model sheet: service manual, page 3"
    assert "F801" not in record.facts
    plan = bench.step(number, "bias-set-hot").plan
    assert dict(plan.arguments) == {"emitter_ohms": 0.22, "target_millivolts": 26.0}
    keep("unit.bias_millivolts", 12)
    plan = bench.step(
        bench.receive(make="Nordlicht", model="A 20", facts=facts), "bias-set-hot"
    ).plan
    assert dict(plan.arguments)["target_millivolts"] == 12.0


def test_what_was_said_at_the_counter_goes_before_the_sheet(bench, keep):
    keep("unit.rail_volts", 42)
    number = bench.receive(make="Nordlicht", model="A 20", facts={"unit.rail_volts": 45.0})
    assert bench.traveller(number).record.facts["unit.rail_volts"] == 45.0


def test_another_model_starts_with_nothing(bench, keep):
    keep("unit.rail_volts", 42)
    number = bench.receive(make="Nordlicht", model="A 21")
    assert "unit.rail_volts" not in bench.traveller(number).record.facts


@pytest.mark.parametrize(
    ("name", "value", "source", "sentence"),
    [
        ("unit.rail_volts", "many", "p", "it must be a number of V"),
        ("unit.rail_volts", -4, "p", "unit.rail_volts is -4"),
        ("unit.rail_volts", 42, "", "source is empty"),
        ("job.stage", "opened", "p", "a model sheet holds facts about the unit"),
        ("complaint.intermittent", True, "p", "a model sheet holds facts about the unit"),
        ("", "x", "p", "name is empty"),
        ("F801", "", "p", "value is empty"),
    ],
)
def test_a_figure_that_cannot_be_gets_a_sentence(keep, name, value, source, sentence):
    with pytest.raises(BadInput, match=sentence):
        keep(name, value, source)
    assert not Figure.objects.exists()


def test_a_figure_written_again_takes_the_place_of_the_old(keep):
    keep("unit.rail_volts", 42)
    keep("unit.rail_volts", 43, "measured, job 12")
    assert Figure.objects.get().value == 43.0


def test_the_desk_writes_no_figures(sheet, people):
    with pytest.raises(Forbidden):
        model_sheet_services.save_figure(
            sheet, "unit.year", 1980, "p", by=people.desk, at=timezone.now()
        )


def test_a_figure_the_vocabulary_no_longer_takes_is_left_out(sheet, bench):
    Figure.objects.create(
        sheet=sheet, name="unit.supply", value="steam", source="p", at=timezone.now()
    )
    assert model_sheet_services.facts_for("Nordlicht", "A 20") == {}
    assert bench.receive(make="Nordlicht", model="A 20")


class TestPast:
    def measured(self, bench, *values):
        for value in values:
            number = bench.receive(make="Nordlicht", model="A 20", facts=amplifier())
            bench.sign(number, "earth-continuity", readings=[("earth_ohms", value)])

    def test_readings_of_earlier_units_are_drawn_beside_the_limit(self, bench, client, people):
        self.measured(bench, 0.1, 0.2, 0.6)
        strip = strips("Nordlicht", "A 20")["earth_ohms"]
        assert (strip.count, strip.lowest, strip.middle, strip.highest) == (3, 0.1, 0.2, 0.6)
        assert len(strip.limits) == 1
        number = bench.receive(make="Nordlicht", model="A 20", facts=amplifier())
        client.force_login(people.technician)
        page = flat(client.get(f"/jobs/{number}/step/earth-continuity/").content.decode())
        assert "3 earlier of this model: 0.1 to 0.6, middle 0.2 ohm" in page

    def test_the_job_itself_is_not_its_own_past(self, bench):
        self.measured(bench, 0.1)
        number = bench.receive(make="Nordlicht", model="A 20", facts=amplifier())
        bench.sign(number, "earth-continuity", readings=[("earth_ohms", 0.4)])
        assert strips("Nordlicht", "A 20", but=number)["earth_ohms"].count == 1

    def test_a_unit_without_a_name_has_no_past(self, bench):
        bench.receive(make="", model="")
        assert strips("", "") == {}


class TestPages:
    @pytest.fixture
    def hands(self, client, people):
        client.force_login(people.technician)
        return client

    def test_open_write_read_and_take_off(self, hands):
        opened = hands.post("/models/", {"make": "Südwind", "model": "Röhre 3"}, follow=True)
        here = opened.redirect_chain[-1][0]
        figure = {"name": "unit.rail_volts", "value": "42,5", "source": "page 3"}
        page = hands.post(here + "figure/", figure, follow=True).content.decode()
        assert "42.5" in page
        assert "page 3" in page
        gone = hands.post(here + "figure/", {"name": "unit.rail_volts", "act": "drop"}, follow=True)
        assert "Nothing yet" in gone.content.decode()

    def test_from_the_traveller_to_the_sheet(self, hands, sheet):
        answer = hands.get("/models/", {"make": "Nordlicht", "model": "A 20"})
        assert answer["Location"] == f"/models/{sheet.pk}/"
        assert (
            'value="B 7"' in hands.get("/models/", {"make": "N", "model": "B 7"}).content.decode()
        )

    def test_a_wrong_figure_keeps_what_was_typed(self, hands, sheet):
        wrong = {"name": "unit.rail_volts", "value": "many", "source": "page 3"}
        answer = hands.post(f"/models/{sheet.pk}/figure/", wrong)
        assert answer.status_code == 422
        assert 'value="page 3"' in answer.content.decode()


def test_pictures_of_its_units_and_of_no_parcel(client, people, bench, sheet):
    client.force_login(people.viewer)
    path = f"/models/{sheet.pk}/"
    assert "Pictures" not in client.get(path).content.decode()
    number = bench.receive(make="Nordlicht", model="A 20")
    other = bench.receive(make="Nordlicht", model="A 21")
    board = snap(number, by=bench.by, of=PhotoSubject(caption="The output board"))
    removed = snap(number, by=bench.by, of=PhotoSubject(caption="Taken away"))
    photos.remove_photo(removed, by=people.owner, at=timezone.now())
    snap(number, by=bench.by, of=PhotoSubject(Photo.PARCEL, caption="An address"))
    snap(other, by=bench.by, of=PhotoSubject(caption="Of another model"))
    text = client.get(path).content.decode()
    assert f"/photos/{board.pk}/small.jpg" in text
    assert "The output board" in text
    for hidden in ("An address", "Of another model", "Taken away"):
        assert hidden not in text
