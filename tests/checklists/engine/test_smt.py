from __future__ import annotations

import sys

import pytest

from checklists import published
from checklists.engine import prove, smt


@pytest.fixture
def _no_solver(monkeypatch):
    """As in a copy without the extra: not even what was loaded before is known."""
    monkeypatch.setitem(sys.modules, "z3", None)
    monkeypatch.setattr(smt.z3, "__dict__", {})


@pytest.mark.usefixtures("_no_solver")
def test_without_the_solver_a_sentence_says_what_to_install():
    pack = published.pack()
    for ask in (lambda: prove.Prover(pack), lambda: prove.smallest_change(pack, {}, "earth-bond")):
        with pytest.raises(smt.NoSolver, match=r"install benchtag\[proof\]"):
            ask()


def test_with_it_names_are_looked_up_once():
    assert smt.z3.sat is smt.z3.sat
    assert "sat" in vars(smt.z3)
    with pytest.raises(AttributeError):
        _ = smt.z3.no_such_thing
