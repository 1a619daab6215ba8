"""Finds sentences in Python that no translation reaches: `python -m tests.project.untranslated_code [FILE ...]`.

Looked at is what goes straight to people: refusals, messages, labels. Programs, the command line
and the demo are answered and written in English.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SHOP = ROOT / "shop"
ENGLISH = ("api/", "bench/", "demo/", "site/", "preferences/kinds.py")
# What is called with a sentence, and which of its arguments is one.
SPOKEN = {"bad": 1, "refuse": 1, "Refusal": 1, "BadInput": 0, "Forbidden": 0, "Http404": 0}
MESSAGES = {"success": 1, "info": 1, "warning": 1, "error": 1}
KEYWORDS = frozenset(
    ["label", "help_text", "verbose_name", "verbose_name_plural", "empty_label", "empty_text"]
)
_WORDS = re.compile(r"[^\W\d_]{3,}")


def untranslated(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and words of each sentence outside gettext that a person reads."""
    for function in ast.walk(ast.parse(source)):
        if isinstance(function, ast.Module | ast.FunctionDef):
            yield from _in(function)


def _in(scope: ast.Module | ast.FunctionDef) -> Iterator[tuple[int, str]]:
    inside = [node for part in scope.body for node in _own(part)]
    names = {
        target.id: node.value
        for node in inside
        if isinstance(node, ast.Assign)
        for target in node.targets
        if isinstance(target, ast.Name)
    }
    for call in inside:
        if isinstance(call, ast.Call):
            for said in _said(call):
                yield from _bare(names.get(said.id, said) if isinstance(said, ast.Name) else said)


def _own(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what a node holds, without the functions in it."""
    yield node
    if not isinstance(node, ast.FunctionDef):
        for child in ast.iter_child_nodes(node):
            yield from _own(child)


def _said(call: ast.Call) -> Iterator[ast.expr]:
    """Yield the arguments of a call that people read."""
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    of = getattr(getattr(call.func, "value", None), "id", "")
    place = MESSAGES.get(name) if of == "messages" else SPOKEN.get(name)
    if place is not None and len(call.args) > place:
        yield call.args[place]
    yield from (one.value for one in call.keywords if one.arg in KEYWORDS)


def _bare(said: ast.expr) -> Iterator[tuple[int, str]]:
    """Yield what of an expression stands as it is: plain, filled in, joined, or in a list of faults."""
    if isinstance(said, ast.Constant | ast.JoinedStr):
        parts = said.values if isinstance(said, ast.JoinedStr) else [said]
        words = "".join(str(p.value) if isinstance(p, ast.Constant) else "{}" for p in parts)
        if _WORDS.search(words.replace("{}", "")):
            yield said.lineno, words
    elif isinstance(said, ast.BinOp | ast.IfExp | ast.BoolOp | ast.List | ast.Tuple):
        for child in ast.iter_child_nodes(said):
            if isinstance(child, ast.expr) and not _is_field(said, child):
                yield from _bare(child)
    elif isinstance(said, ast.Call) and getattr(said.func, "attr", "") == "format":
        yield from _bare(said.func.value)


def _is_field(said: ast.expr, child: ast.expr) -> bool:
    """Whether this is the name of a field beside its sentence, or what a sentence hangs on."""
    first = isinstance(said, ast.Tuple) and child is said.elts[0]
    return first or (isinstance(said, ast.IfExp) and child is said.test)


def all_modules() -> list[Path]:
    """Return every module whose words pages show, in order."""
    return [
        path
        for path in sorted(SHOP.rglob("*.py"))
        if "migrations" not in path.parts
        and not path.relative_to(SHOP).as_posix().startswith(ENGLISH)
    ]


if __name__ == "__main__":
    for path in map(Path, sys.argv[1:]) if sys.argv[1:] else all_modules():
        for line, words in untranslated(path.read_text(encoding="utf-8")):
            print(f"{path.relative_to(ROOT)}:{line}: {words[:120]}")
