from __future__ import annotations

from shop.lib.refusals import Refusal, Refused, bad
from shop.pages.job.refusing import shown


def test_steps_are_named_and_what_else_is_missing_leads_to_its_page():
    step = Refusal("hold", "It is due.", "verify-dead", "Prove it dead", "due")
    part = Refusal("part-outstanding", "Required parts are outstanding: relay.")
    other = Refusal("no-need", "No part is outstanding.")
    view = shown(Refused([step, part, other]))
    assert view.sentences == [part.sentence, other.sentence]
    assert view.steps == [step]
    assert view.ways == [("job-parts", "To the parts")]


def test_bad_input_is_its_sentence_and_nothing_is_nothing():
    assert shown(bad("note", "note is missing.")).sentences == ["note is missing."]
    assert shown(None) is None
