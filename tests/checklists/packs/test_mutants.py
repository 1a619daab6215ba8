"""A part of the mutants of the shipped table; `rules mutate` hunts them all."""

from __future__ import annotations

import pytest
from django.conf import settings

from checklists.engine import mutate

EVERY = 12
pytestmark = [pytest.mark.slow, pytest.mark.long]


@pytest.fixture(scope="module")
def hunt():
    return mutate.Hunt(settings.PACK_FOLDER)


def test_there_is_a_mutant_for_each_line_and_each_equivalent_is_one(hunt):
    assert len(hunt.mutants) >= 600
    assert hunt.strays() == []


@pytest.mark.parametrize("part", range(4))
def test_no_mutant_of_this_part_survives(hunt, part):
    drawn = hunt.mutants[part * EVERY // 4 :: EVERY * 4]
    fates = [hunt.fate(mutant) for mutant in drawn]
    assert [fate.mutant for fate in fates if fate.kind == mutate.SURVIVED] == []
