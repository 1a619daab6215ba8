"""Adding an event is one file and a line in a list; this one is made up and goes everywhere.

The file is the example of DEVELOPERS.md ("Add an event"), word for word.
"""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.documents import technical_documents
from shop.jobs import events, ledger, queries
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.api.conftest import caller_for
from tests.helpers import Bench

WALK = Path(__file__).parents[3] / "DEVELOPERS.md"
NAME = "shop.jobs.events.lamp_replaced"
GOOD = {"lamp": "dial lamp", "pieces": 2, "note": "6.3 V"}


@pytest.fixture
def lamp_replaced(tmp_path, monkeypatch):
    """The file of the walk, named in the list for one test."""
    section = WALK.read_text(encoding="utf-8").split("## Add an event", 1)[1]
    file = tmp_path / "lamp_replaced.py"
    file.write_text(re.search(r"```python\n(.*?)```", section, re.S)[1], encoding="utf-8")
    spec = importlib.util.spec_from_file_location(NAME, file)
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, NAME, module)
    spec.loader.exec_module(module)
    events.EVENTS.append(module.LampReplaced)
    yield module.LampReplaced
    events.EVENTS.remove(module.LampReplaced)


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.mark.usefixtures("lamp_replaced")
class TestTheWalk:
    def test_the_page_has_its_form_and_takes_it(self, hands, bench, job):
        write = reverse("job-write", args=[job])
        assert f'{write}?what=lamp_replaced">Lamp replaced</a>' in hands.get(write).content.decode()
        page = hands.get(write, {"what": "lamp_replaced"}).content.decode()
        assert reverse("record", args=[job, "lamp_replaced"]) in page

        answer = hands.post(reverse("record", args=[job, "lamp_replaced"]), GOOD)

        assert answer.status_code == 302
        assert bench.job(job).ledger.last().data == GOOD

    def test_a_bad_form_comes_back_as_it_was_typed(self, hands, job):
        path = reverse("record", args=[job, "lamp_replaced"])
        answer = hands.post(path, {"lamp": "dial lamp", "pieces": "two"})
        assert answer.status_code == 422
        assert "Pieces: Enter a whole number." in answer.content.decode()
        assert 'value="dial lamp"' in answer.content.decode()

    def test_the_api_takes_it_names_what_is_wrong_and_describes_it(self, client, people, job):
        caller = caller_for(people.technician)
        path = f"jobs/{job}/ledger/"
        status, row = caller.post(path, {"kind": "lamp_replaced", "data": {"lamp": "dial lamp"}})
        assert (status, row["kind"], row["data"]["pieces"]) == (201, "lamp_replaced", 1)

        status, answer = caller.post(path, {"kind": "lamp_replaced", "data": {"pieces": 0}})
        assert (status, answer["reason"]) == (
            422,
            "lamp is missing; lamp_replaced needs it."
            " pieces is 0; it must be a whole number from 1 to 9,999.",
        )

        schemas = client.get("/api/v1/openapi.json").json()["components"]["schemas"]
        assert schemas["RowIn"]["discriminator"]["mapping"]["lamp_replaced"].endswith("Row")
        assert schemas["LampReplaced"]["properties"]["lamp"]["maxLength"] == 200
        assert schemas["LampReplaced"]["required"] == ["lamp"]

    def test_it_asks_for_the_role_the_open_job_and_mains_off(self, people, bench, job):
        with pytest.raises(Forbidden):
            Bench(people.desk).record(job, "lamp_replaced", **GOOD)
        bench.limited(job)
        with pytest.raises(Refused, match=r"Mains is on. Take it off before a lamp comes out\."):
            bench.record(job, "lamp_replaced", **GOOD)
        bench.power(job, "isolated")
        bench.record(job, "lamp_replaced", **GOOD)
        bench.pass_gate(job, "hand-back")
        bench.stage(job, "withdrawn")
        with pytest.raises(Refused, match="The job is closed"):
            bench.record(job, "lamp_replaced", **GOOD)

    def test_the_record_follows_it(self, bench, job):
        bench.record(job, "trial_run", fault=False)
        assert bench.traveller(job).record.clean_trials_run == 1
        bench.record(job, "lamp_replaced", **GOOD)
        assert bench.traveller(job).record.clean_trials_run == 0
        assert bench.job(job).technician == bench.by

    def test_the_ledger_and_the_paper_tell_it_and_the_chain_holds(self, hands, bench, job):
        bench.record(job, "lamp_replaced", **GOOD)
        page = hands.get(reverse("ledger", args=[job])).content.decode()
        assert "lamp replaced" in page
        assert "dial lamp replaced, 2 pc; 6.3 V" in page
        notes = technical_documents.traveller_document(bench.traveller(job))["notes"]
        assert notes[-1]["words"] == "dial lamp replaced, 2 pc; 6.3 V"
        found = bench.job(job)
        assert ledger.faults(queries.rows_of(found), found.head) == []


def test_without_its_file_the_row_is_shown_as_it_stands(hands, bench, job, lamp_replaced):
    bench.record(job, "lamp_replaced", **GOOD)
    events.EVENTS.remove(lamp_replaced)
    try:
        assert "lamp: dial lamp; note: 6.3 V; pieces: 2" in (
            hands.get(reverse("ledger", args=[job])).content.decode()
        )
        with pytest.raises(BadInput, match="kind is 'lamp_replaced'; it must be one of"):
            bench.record(job, "lamp_replaced", **GOOD)
        assert queries.job(job, timezone.now()).head == bench.job(job).ledger.count()
    finally:
        events.EVENTS.append(lamp_replaced)
