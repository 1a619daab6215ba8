from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.instruments.models import Accuracy, Instrument
from shop.instruments.queries import offers
from tests.helpers_instruments import CLAMP

SCRIPTS = ["Meßgerät", "Прибор", "μετρητής", "仪表", "מד", "मीटर"]


@pytest.fixture
def owner(client, people):
    client.force_login(people.owner)
    return client


def typed(**given):
    empty = {
        "measures": "dc-voltage",
        "up_to": "600 mV",
        "reading_percent": "0.5",
        "range_percent": "",
        "counts": "2",
        "resolution": "0.1 mV",
    }
    return empty | given


class TestThePage:
    @pytest.mark.parametrize("name", SCRIPTS)
    def test_one_is_added_in_any_script(self, owner, name):
        answer = owner.post(
            reverse("instruments"), {"name": name, "serial": name, "due_on": "2031-03-01"}
        )
        assert answer.status_code == 302
        assert Instrument.objects.get().serial == name
        assert name in owner.get(reverse("instruments")).content.decode()

    def test_a_name_is_needed_and_what_was_typed_stays(self, owner):
        answer = owner.post(reverse("instruments"), {"name": "", "serial": "K-77"})
        assert answer.status_code == 422
        assert "K-77" in answer.content.decode()
        assert not Instrument.objects.exists()

    def test_two_of_one_name_would_not_be_told_apart(self, owner, clamp):
        answer = owner.post(reverse("instruments"), {"name": "Earth clamp"})
        assert answer.status_code == 422
        assert "another instrument has it" in answer.content.decode()

    def test_it_cannot_be_due_before_it_was_calibrated(self, owner, clamp):
        given = {"name": "Earth clamp", "calibrated_on": "2031-03-02", "due_on": "2031-03-01"}
        answer = owner.post(reverse("instrument", args=[clamp.pk]), given)
        assert answer.status_code == 422
        assert "must not be before the calibration" in answer.content.decode()

    def test_what_is_kept_stands_in_its_form(self, owner, clamp):
        given = {
            "name": "Clamp 2",
            "make_model": "Orrery",
            "serial": "7",
            "calibrated_on": "2031-03-01",
            "due_on": "2032-03-01",
        }
        assert owner.post(reverse("instrument", args=[clamp.pk]), given).status_code == 302
        page = owner.get(reverse("instrument", args=[clamp.pk])).content.decode()
        for value in given.values():
            assert f'value="{value}"' in page

    def test_retired_it_is_offered_no_longer_until_it_is_taken_back(self, owner, clamp, people):
        retire = reverse("instrument-retire", args=[clamp.pk])

        def offered():
            return offers(["earth-resistance"], by=people.owner, on=timezone.localdate())

        assert [one.instruments for one in offered()] == [[clamp]]
        owner.post(retire, {"act": "retire"})
        assert offered() == []
        assert "Retired:" in owner.get(reverse("instruments")).content.decode()
        owner.post(retire, {"act": "back"})
        assert len(offered()) == 1


class TestRanges:
    def post(self, owner, clamp, **given):
        return owner.post(reverse("instrument-range", args=[clamp.pk]), typed(**given))

    def test_amounts_are_typed_with_their_prefix(self, owner, clamp):
        assert self.post(owner, clamp).status_code == 302
        kept = Accuracy.objects.get(measures="dc-voltage")
        assert (kept.up_to, kept.resolution, kept.counts) == (0.6, 1e-4, 2)
        page = owner.get(reverse("instrument", args=[clamp.pk])).content.decode()
        assert "up to 600\u00a0mV: ± (0.5 % of the reading + 2 × 100\u00a0µV)" in page

    def test_one_of_the_same_end_takes_its_place(self, owner, clamp):
        self.post(owner, clamp)
        self.post(owner, clamp, reading_percent="1")
        assert [one.reading_percent for one in Accuracy.objects.filter(measures="dc-voltage")] == [
            1
        ]

    @pytest.mark.parametrize(
        ("given", "said"),
        [
            ({"up_to": ""}, "This field is required"),
            ({"up_to": "600 mA"}, "must be a number of V"),
            ({"up_to": "0"}, "up_to is 0; it must be above 0"),
            ({"up_to": "sixty"}, "is no number"),
            ({"up_to": "1,234 V"}, "reads two ways"),
            ({"resolution": "0.1 mA"}, "must be a number of V"),
            ({"resolution": ""}, "resolution is missing; counts are counts of it"),
            ({"resolution": "1 V"}, "it must be from 0 to 0.6"),
            ({"reading_percent": "101"}, "reading_percent is 101; it must be from 0 to 100"),
            ({"reading_percent": "-1"}, "reading_percent is -1"),
            ({"reading_percent": "", "counts": "", "resolution": ""}, "are empty; give one"),
            ({"measures": "loudness"}, "Select a valid choice"),
        ],
    )
    def test_what_cannot_be_is_named_and_stays_as_typed(self, owner, clamp, given, said):
        answer = self.post(owner, clamp, **given)
        page = answer.content.decode()
        assert answer.status_code == 422
        assert said in page
        assert 'value="0.5"' in page or "reading_percent" in given
        assert not Accuracy.objects.filter(measures="dc-voltage").exists()

    def test_one_is_taken_off(self, owner, clamp):
        number = clamp.accuracies.get().pk
        owner.post(reverse("instrument-range", args=[clamp.pk]), {"drop": number})
        assert not clamp.accuracies.exists()

    def test_that_of_another_instrument_is_not(self, owner, clamp, add_instrument):
        other = add_instrument("Other", CLAMP)
        owner.post(
            reverse("instrument-range", args=[clamp.pk]), {"drop": other.accuracies.get().pk}
        )
        assert other.accuracies.exists()


class TestTheStep:
    @pytest.fixture
    def hands(self, client, people):
        client.force_login(people.technician)
        return client

    def page(self, hands, job):
        return hands.get(reverse("step", args=[job, "earth-continuity"])).content.decode()

    def test_a_shop_without_instruments_sees_nothing_of_them(self, hands, job):
        assert "instrument-" not in self.page(hands, job)

    def test_nor_does_a_step_that_none_of_them_measures(self, hands, job, add_instrument):
        add_instrument("Thermometer", ("temperature", 200.0, {"counts": 1.0, "resolution": 1.0}))
        assert "instrument-" not in self.page(hands, job)

    def sign(self, hands, job, value, instrument):
        given = {"result": "pass", "step": "earth-continuity", "reading-earth_ohms": value}
        given["instrument-earth-resistance"] = instrument
        return hands.post(reverse("sign", args=[job, "earth-continuity"]), given)

    def test_the_one_used_last_is_proposed(self, hands, job, bench, clamp, add_instrument):
        add_instrument("Another", CLAMP)
        assert " selected" not in self.page(hands, job)
        assert self.sign(hands, job, "0.06", clamp.pk).status_code == 302
        chosen = self.page(hands, job).split(" selected")[0]
        assert chosen.endswith(f'<option value="{clamp.pk}"')

    def test_a_doubt_is_said_and_what_was_typed_and_chosen_stays(self, hands, job, bench, clamp):
        answer = self.sign(hands, job, "0.29", clamp.pk)
        page = answer.content.decode()
        assert answer.status_code == 409
        assert "too close to tell with Earth clamp" in page
        assert 'value="0.29"' in page
        assert f'<option value="{clamp.pk}" selected' in page
        assert bench.state(job, "earth-continuity") == "due"

    def test_calibration_past_due_is_said_before_the_reading(self, hands, job, add_instrument):
        add_instrument("Old", CLAMP, due_on=timezone.localdate() - timedelta(days=1))
        assert "(calibration past due)" in self.page(hands, job)

    def test_somebody_who_looks_only_is_offered_nothing(self, client, people, job, clamp):
        client.force_login(people.viewer)
        assert "instrument-earth" not in self.page(client, job)
