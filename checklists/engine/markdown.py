"""Tables of a pack for the documents, in Markdown."""

from __future__ import annotations

from checklists.engine.pack import Pack, Step

_HEAD = """# Which event ends which sign-off

Generated from the pack by `manage.py rules table`; do not edit. A sign-off also ends when text, limit or plan of its step changes.
Steps that are not listed end by that alone.
"""


def steps_by_event(pack: Pack) -> str:
    """Return the table of steps and the events that end their sign-offs."""
    steps = sorted(pack.steps.values(), key=lambda step: pack.rank[step.key])
    lines = ["| step | hold | ended by |", "| --- | --- | --- |"]
    lines += [_line(step) for step in steps if step.invalidated_by]
    return _HEAD + "\n" + "\n".join(lines) + "\n"


def _line(step: Step) -> str:
    gates = " / ".join(gate for gate in (step.gate, step.gate_once_opened) if gate)
    ended_by = "; ".join(invalidation.sentence() for invalidation in step.invalidated_by)
    return f"| `{step.key}` | {gates if step.hold else ''} | {ended_by} |"
