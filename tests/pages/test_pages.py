from __future__ import annotations

import re
from decimal import Decimal
from itertools import product

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.jobs.models import Job, JobPart, LedgerRow
from shop.lib.web import kept
from shop.parts.models import Supplier
from shop.parts.orders import LineToOrder
from shop.planning import ordering
from tests.factories import PartFactory
from tests.helpers import Bench, amplifier, flat
from tests.helpers_demo import without_triggers
from tests.pages.matrix import THEN, address

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def test_signing_on_the_page_without_javascript(hands, bench, number):
    page = hands.get(address("step", number)).content.decode()
    assert "Look, smell, shake" in page
    answer = hands.post(address("sign", number), {"result": "pass"}, follow=True)
    assert answer.redirect_chain[-1][0] == f"/jobs/{number}/"
    assert "Look, smell, shake: signed." in answer.content.decode()
    assert bench.state(number, "visual-intake") == "signed"


def test_signing_with_htmx_answers_with_the_sheet_alone(hands, number):
    answer = hands.post(address("sign", number), {"result": "pass"}, headers={"HX-Request": "true"})
    text = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in text
    assert "Look, smell, shake: signed." in text
    assert "HX-Request" in answer["Vary"]


def test_a_refused_power_shows_the_reason_and_status(hands, bench, number):
    answer = hands.post(address("power", number), {"to": "limited"})
    assert answer.status_code == 409
    card = answer.content.decode().split('<section class="act"')[1].split("</section>")[0]
    assert "Hold steps are not signed or no longer stand:" in card
    assert f'<a href="/jobs/{number}/step/visual-intake/">Look, smell, shake</a>' in card
    assert bench.job(number).power == "isolated"


def test_a_bad_reading_is_named_and_nothing_typed_is_lost(hands, bench, number):
    path = reverse("sign", args=[number, "earth-continuity"])
    body = {
        "step": "earth-continuity",
        "result": "pass",
        "reading-earth_ohms": "0.1x",
        "note": "bent lead",
    }
    answer = hands.post(path, body)
    text = answer.content.decode()

    assert answer.status_code == 422
    assert "(earth_ohms): &#x27;0.1x&#x27; is in &#x27;x&#x27;; it must be a number of ohm." in text
    assert 'value="0.1x"' in text
    assert "bent lead" in text
    assert bench.state(number, "earth-continuity") == "due"


def test_a_decimal_comma_and_several_values_are_understood(hands, bench, number):
    alone = bench.receive(facts=amplifier())
    bench.limited(alone)
    path = reverse("sign", args=[alone, "dc-offset"])
    hands.post(
        path,
        {
            "result": "pass",
            "reading-offset_millivolts": "4,5 -7",
            "reading-before_relay_millivolts": "4,5",
        },
    )
    readings = bench.job(alone).ledger.last().data["readings"]
    assert [r["value"] for r in readings] == [4.5, -7.0, 4.5]


def test_a_stale_page_cannot_sign(hands, bench, number):
    bench.open_up(number)
    page = hands.get(f"/jobs/{number}/step/shorts-before-power/").content.decode()
    seen = re.search(r'name="seen" value="(\d+)"', page)[1]
    bench.record(number, "work_done", work="joints-reflowed")
    path = reverse("sign", args=[number, "shorts-before-power"])
    answer = hands.post(path, {"result": "pass", "reading-lowest_ohms": "400", "seen": seen})
    assert answer.status_code == 409
    assert "was recorded since you opened it" in answer.content.decode()


@pytest.mark.parametrize(
    ("kind", "body", "status"),
    [
        ("finding_recorded", {"finding": "joint-cracked", "section": "supply"}, 302),
        ("finding_recorded", {"finding": ""}, 422),
        ("finding_recorded", {"finding": "gremlins"}, 422),
        ("trial_run", {"fault": "yes", "conditions": ["warm", "knocked"]}, 302),
        ("trial_run", {}, 422),
        ("work_done", {"work": "fuse-replaced", "minutes": "12.5"}, 409),
        ("work_done", {"work": "fuse-replaced", "minutes": "12.5", "where": "from_outside"}, 302),
        ("work_done", {"work": "fuse-replaced", "minutes": "long"}, 422),
        ("work_done", {"work": "relay-cleaned", "where": "from_outside"}, 409),
        ("work_done", {"work": "relay-cleaned", "where": "under_the_table"}, 422),
        ("work_done", {"work": "relay-cleaned", "where": "before"}, 302),
        ("work_done", {"work": "relay-cleaned", "late": "forgotten"}, 409),
        ("work_done", {"work": "relay-cleaned", "late": "forgotten", "done_at": THEN}, 302),
        ("part_needed", {"spec": "relay", "required": "on"}, 302),
        ("part_needed", {"spec": ""}, 422),
        ("suspect_changed", {"suspect": "relay", "change": "raised"}, 302),
        ("note_added", {"text": "x" * 30_000}, 422),
        ("note_added", {"text": "嗡"}, 302),
        ("soak_reading", {"quantity": "sink_celsius", "value": "51"}, 409),
        ("soak_started", {}, 409),
        ("estimate_sent", {}, 302),
        ("power_applied", {}, 422),
        ("nonsense", {}, 422),
    ],
)
def test_writing_down_on_the_page(hands, bench, number, kind, body, status):
    before = bench.kinds(number)
    answer = hands.post(reverse("record", args=[number, kind]), body)
    assert answer.status_code == status
    assert bench.kinds(number) == before + ([kind] if status == 302 else [])


def test_a_part_goes_from_needed_to_fitted_by_its_buttons(hands, bench, number):
    hands.post(reverse("record", args=[number, "part_needed"]), {"spec": "relay", "required": "on"})
    need = bench.traveller(number).record.needs[-1].sequence
    bench.open_up(number)
    for kind in ("part_ordered", "part_arrived", "part_fitted"):
        assert f"record/{kind}/" in hands.get(f"/jobs/{number}/parts/").content.decode()
        hands.post(reverse("record", args=[number, kind]), {"need": str(need)})
    done = bench.traveller(number).record.needs[-1]
    assert (done.ordered, done.arrived, done.fitted) == (True, True, True)


@pytest.mark.parametrize(
    ("name", "value", "status"),
    [
        ("unit.year", "1988", 302),
        ("unit.rail_volts", "42,5", 302),
        ("unit.has_laser", "no", 302),
        ("complaint.symptoms", ["hum", "noise"], 302),
        ("unit.year", "", 422),
        ("unit.year", "old", 422),
        ("unit.colour", "red", 422),
        ("job.power", "full", 422),
    ],
)
def test_facts_are_recorded_on_the_page(hands, bench, number, name, value, status):
    answer = hands.post(address("facts", number), {"name": name, "value": value})
    assert answer.status_code == status
    if status == 302:
        typed = {"42,5": 42.5, "no": False, "1988": 1988}
        expected = value if isinstance(value, list) else typed[value]
        assert bench.traveller(number).record.facts[name] == expected


def test_receiving_on_the_page(hands):
    body = {
        "make": "Corvenby",
        "model": "Spool 3",
        "complaint": "وقفة",
        "unit.kind": "cassette-deck",
        "unit.has_laser": "no",
        "unit.rail_volts": "18",
        "complaint.symptoms": ["mechanical"],
        "customer_name": "Tobias",
        "customer_email": "tobias@example.org",
    }
    answer = hands.post("/receive/", body)
    job = Job.objects.get()
    assert answer["Location"] == f"/jobs/{job.number}/"
    assert job.complaint == "وقفة"
    facts = Bench(None).traveller(job.number).record.facts
    assert facts["unit.kind"] == "cassette-deck"
    assert facts["unit.has_laser"] is False
    assert facts["unit.rail_volts"] == 18.0
    assert "unit.supply" not in facts


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("unit.year", "old", "unit.year is &#x27;old&#x27;; it must be a whole number"),
        ("unit.rail_volts", "-3", "it must be a number of V from 0"),
        ("unit.kind", "toaster", "not one of the available choices"),
        ("customer_email", "nowhere", "customer.email is &#x27;nowhere&#x27;; write it like"),
        ("complaint", "a\x00b", "Null characters are not allowed"),
    ],
)
def test_a_bad_field_at_intake_is_named_and_the_rest_is_kept(hands, field, value, said):
    answer = hands.post("/receive/", {"make": "Corvenby", field: value})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert 'value="Corvenby"' in text
    assert not Job.objects.exists()


def test_the_bench_shows_mains_first_and_stalled_jobs(hands, bench, number, now):
    other = bench.receive(facts=amplifier())
    bench.limited(other)
    page = flat(hands.get("/").content.decode())
    assert page.index("Mains on: limited") < page.index("Do now")

    bench.sign(other, "fuse-check", result="fail")
    assert "Pull the plug" in hands.get("/").content.decode()


def test_the_ledger_page_tells_when_the_chain_is_broken(hands, bench, number):
    bench.record(number, "note_added", text="as it was")
    sheet = hands.get(f"/jobs/{number}/ledger/").content.decode()
    assert "chain intact" in sheet
    rows = LedgerRow.objects.filter(job=number)
    with without_triggers():
        rows.filter(event_type="note_added").update(body='{"text":"as it is told now"}')
    sheet = hands.get(f"/jobs/{number}/ledger/").content.decode()
    assert "The chain is broken" in sheet
    assert "chain intact" not in sheet
    assert "as it is told now" in sheet


def test_a_page_that_was_shown_is_shown_to_others_as_it_is_for_them(
    client, people, bench, number, settings, time_machine
):
    bench.limited(live := bench.receive(facts=amplifier()))
    time_machine.move_to(timezone.now(), tick=False)
    paths = ["/", f"/jobs/{number}/", f"/jobs/{live}/", f"/jobs/{number}/ledger/", "/backlog/"]
    for who, language, zone in product(
        (people.owner, people.viewer), ("en", "de"), ("Europe/London", "Asia/Tokyo")
    ):
        settings.PAGES_LANGUAGE, settings.SHOP_TIME_ZONE = language, zone
        client.force_login(who)
        for path in paths:
            client.get(path)
            shown = _without_tokens(client.get(path))
            kept.forget()
            assert shown == _without_tokens(client.get(path)), (path, who, language, zone)
            assert who.get_username() in shown


def _without_tokens(answer):
    return re.sub(r"\b\w{64}\b", "", answer.content.decode())


def test_markup_in_text_is_shown_as_text(hands, bench):
    nasty = "<script>alert(1)</script>\"'><img src=x>"
    number = bench.receive(make=nasty[:100], complaint=nasty)
    bench.record(number, "note_added", text=nasty)
    for path in ("/", "/jobs/", f"/jobs/{number}/", f"/jobs/{number}/ledger/"):
        text = hands.get(path).content.decode()
        assert "<script>alert" not in text
        assert "<img src=x" not in text


def test_pages_carry_a_strict_policy_and_no_inline_code(hands, number):
    for path in ("/", "/jobs/", f"/jobs/{number}/", "/receive/", "/rules/", "/sign-in/"):
        answer = hands.get(path)
        policy = answer["Content-Security-Policy"]
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
        text = answer.content.decode()
        assert not re.search(r"<script(?![^>]*\bsrc=)", text)
        assert not re.search(r"\s(style|on\w+)=", text)
        assert "hx-on" not in text


def shelve(bench, number):
    """To the shelf, waiting for a part on order."""
    bench.open_up(number)
    bench.record(number, "part_needed", spec=f"A relay for {number}")
    need = JobPart.objects.get(job=number)
    part, supplier = PartFactory(), Supplier.objects.earliest("pk")
    lines = [LineToOrder(part, 1, Decimal(2), (((number, need.need), 1),))]
    ordering.place(supplier, lines, by=bench.by, at=timezone.now())
    bench.stage(number, "awaiting_parts")


QUERIES = {
    "/": 20,
    "/jobs/": 6,
    "/jobs/{n}/": 9,
    "/backlog/": 23,
    "/flow/": 27,
    "/jobs/{n}/ledger/": 6,
}


@pytest.mark.parametrize("path", QUERIES)
def test_query_counts_are_those_of_one_job_for_thirty(
    hands, bench, number, path, steady_rules, django_assert_num_queries
):
    where = path.format(n=number)
    shelve(bench, bench.receive(facts=amplifier()))
    hands.get(where)
    with django_assert_num_queries(QUERIES[path]):
        hands.get(where)
    for place in range(29):
        other = bench.receive(facts=amplifier())
        if place % 3 == 0:
            bench.limited(other)
        elif place % 3 == 1:
            shelve(bench, other)
        bench.record(number, "note_added", text="more")
    with django_assert_num_queries(QUERIES[path]):
        hands.get(where)


def test_the_page_says_why_a_step_is_there_and_why_not(hands, number):
    there = hands.get(f"/jobs/{number}/why/?step=no-power-before-look-inside").content.decode()
    assert "is on the list" in there
    assert "&quot;burnt-smell&quot; in intake.damage" in there

    absent = hands.get(f"/jobs/{number}/why/?step=hot-chassis").content.decode()
    assert "is not on the list" in absent
    assert "unit.supply" in absent
    assert "transformerless" in absent
    assert hands.get(f"/jobs/{number}/why/?step=nonsense").status_code == 404
    assert hands.get(f"/jobs/{number}/why/").status_code == 404


def test_the_list_filters_and_htmx_gets_the_rows_alone(hands, bench, number):
    bench.stage(number, "reproducing")
    other = bench.receive()
    page = hands.get("/jobs/", {"stage": "reproducing"}, headers={"HX-Request": "true"})
    text = page.content.decode()
    assert "<html" not in text
    assert f'href="/jobs/{number}/"' in text
    assert f'href="/jobs/{other}/"' not in text
    assert (
        hands.get("/jobs/", {"stage": "nonsense", "sort": "nonsense", "page": "x"}).status_code
        == 200
    )
