from __future__ import annotations

import pytest

from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from checklists.engine.words import EVENTS, TOLD
from tests.checklists.engine.packs import load, rule, step

ENDED_BY = """ended_by = [
  "cover_removed",
  { event = "work_done", work = ["relay-replaced"] },
  { event = "part_fitted", section = ["supply"] },
  { event = "finding_recorded", finding = ["joint-cracked"] },
  { event = "work_done", work = ["joints-reflowed"], except_section = ["front-panel"] },
]"""


@pytest.fixture
def pack(tmp_path):
    return load(tmp_path, rule("all", "true", "test"), step("test", ENDED_BY))


def listed(pack, *events, **options):
    return derive(pack, {}, History.of(events), **options).steps[0]


def signed(pack, sequence=1, result="pass", by="bea", **more):
    content_hash = derive(pack, {}).steps[0].content_hash
    row = {"step": "test", "result": result, "content_hash": content_hash, **more}
    return Event(sequence=sequence, event_type="step_signed", by=by, **row)


def test_an_unsigned_step_is_due(pack):
    assert listed(pack).state == "due"
    assert not listed(pack).stands


@pytest.mark.parametrize(
    ("result", "state", "stands"),
    [
        ("pass", "signed", True),
        ("fail", "failed", False),
        ("not-applicable", "not-applicable", True),
        ("waived", "waived", True),
        ("something else", "due", False),
    ],
)
def test_the_last_result_counts(pack, result, state, stands):
    step_ = listed(pack, signed(pack, 1, "fail"), signed(pack, 2, result))
    assert (step_.state, step_.stands) == (state, stands)


def test_a_later_fail_takes_an_earlier_pass_away(pack):
    assert listed(pack, signed(pack, 1), signed(pack, 2, "fail")).state == "failed"


@pytest.mark.parametrize(
    ("event", "ends"),
    [
        (Event(sequence=2, event_type="cover_removed"), True),
        (Event(sequence=2, event_type="cover_fitted"), False),
        (Event(sequence=2, event_type="work_done", work="relay-replaced"), True),
        (Event(sequence=2, event_type="work_done", work="belt-replaced"), False),
        (
            Event(
                sequence=2, event_type="work_done", work="joints-reflowed", section="front-panel"
            ),
            False,
        ),
        (
            Event(
                sequence=2, event_type="work_done", work="joints-reflowed", section="left-amplifier"
            ),
            True,
        ),
        (
            Event(sequence=2, event_type="work_done", work="joints-reflowed", section="frontpanel"),
            True,
        ),
        (Event(sequence=2, event_type="work_done", work="joints-reflowed"), True),
        (Event(sequence=2, event_type="part_fitted", section="supply"), True),
        (Event(sequence=2, event_type="part_fitted", section="front-panel"), False),
        (Event(sequence=2, event_type="part_fitted"), True),
        (Event(sequence=2, event_type="finding_recorded", finding="joint-cracked"), True),
        (Event(sequence=2, event_type="finding_recorded", finding="dust-heavy"), False),
    ],
)
def test_an_event_ends_a_sign_off_when_the_step_names_it(pack, event, ends):
    step_ = listed(pack, signed(pack, 1), event)
    assert step_.state == ("ended" if ends else "signed")
    assert step_.validity.why.startswith("Ended by") is ends


@pytest.mark.parametrize(
    ("event", "told"),
    [
        ({"event_type": "cover_removed"}, "the cover off"),
        (
            {"event_type": "work_done", "work": "joints-reflowed", "section": "supply"},
            "work: joints reflowed, supply",
        ),
        (
            {"event_type": "finding_recorded", "finding": "joint-cracked"},
            "a finding: joint cracked",
        ),
    ],
)
def test_what_ended_it_is_told_in_words(pack, event, told):
    step_ = listed(pack, signed(pack, 1), Event(sequence=2, **event))
    assert step_.validity.why == f"Ended by {told}."


def test_every_word_of_what_ends_is_that_of_an_event():
    assert set(TOLD) <= set(EVENTS)


def test_an_event_before_the_sign_off_does_not_end_it(pack):
    assert (
        listed(pack, Event(sequence=1, event_type="cover_removed"), signed(pack, 2)).state
        == "signed"
    )


def test_signing_again_after_the_event_stands(pack):
    rows = (signed(pack, 1), Event(sequence=2, event_type="cover_removed"), signed(pack, 3))
    assert listed(pack, *rows).state == "signed"


def test_waivers_and_not_applicable_end_as_well(pack):
    opened = Event(sequence=2, event_type="cover_removed")
    assert listed(pack, signed(pack, 1, "waived"), opened).state == "ended"
    assert listed(pack, signed(pack, 1, "not-applicable"), opened).state == "ended"


def test_a_sign_off_for_another_content_does_not_stand(pack):
    step_ = listed(pack, signed(pack, 1, content_hash="of an older edition"))
    assert step_.state == "ended"
    assert "changed" in step_.validity.why


@pytest.fixture
def two_signatures(tmp_path):
    more = 'second_person = true\nended_by = ["cover_removed"]'
    return load(tmp_path, rule("all", "true", "test"), step("test", more))


def test_a_second_person_is_asked_for_only_when_the_shop_wants_it(two_signatures):
    pack = two_signatures
    one = signed(pack, 1)
    assert listed(pack, one).state == "signed"
    assert listed(pack, one, two_people=True).state == "due"
    assert "second person" in listed(pack, one, two_people=True).validity.why


def test_the_second_person_is_somebody_else_after_nothing_has_ended_it(two_signatures):
    pack = two_signatures
    same = (signed(pack, 1), signed(pack, 2))
    other = (signed(pack, 1), signed(pack, 2, by="lou"))
    parted = (
        signed(pack, 1),
        Event(sequence=2, event_type="cover_removed"),
        signed(pack, 3, by="lou"),
    )

    assert listed(pack, *same, two_people=True).state == "due"
    assert listed(pack, *other, two_people=True).state == "signed"
    assert listed(pack, *parted, two_people=True).state == "due"


@pytest.mark.parametrize("event_type", ["work_done", "step_signed", "lamp_lit"])
def test_what_cannot_be_read_ends_every_signoff_that_an_event_can_end(pack, event_type):
    row = Event(sequence=2, event_type=event_type, unreadable=True)
    said = event_type.replace("_", " ")

    found = listed(pack, signed(pack), row)

    assert (found.state, found.validity.why) == (
        "ended",
        f"Ended by row 2 ({said}), which cannot be read.",
    )
    assert listed(pack, row, signed(pack, 3)).stands, "signed again, it stands"
