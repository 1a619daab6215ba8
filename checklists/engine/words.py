"""The closed words that packs may use beside the facts: gates, phases, events, signal words."""

from __future__ import annotations

GATES = {
    "first-power": "before mains reaches a unit whose state is unknown, through a current limiter",
    "open-up": "before the cover comes off or a hand goes in",
    "limited-power": "before mains reaches a unit that has been opened or worked on,"
    " through a current limiter",
    "full-power": "before the limiter comes out",
    "soak": "before an unattended or long run starts",
    "release": "before the unit leaves the shop as repaired",
    "hand-back": "before a withdrawn unit leaves the shop unrepaired",
}

# The order in which a unit meets them; a checklist is sorted by it first.
PHASES = (
    "intake",
    "first-power",
    "open-up",
    "inspection",
    "work",
    "limited-power",
    "full-power",
    "setting-up",
    "soak",
    "release",
    "hand-back",
)

EVENTS = (
    "received",
    "complaint_recorded",
    "fact_recorded",
    "trial_run",
    "finding_recorded",
    "suspect_changed",
    "work_done",
    "part_needed",
    "part_ordered",
    "part_arrived",
    "part_fitted",
    "cover_removed",
    "cover_fitted",
    "step_signed",
    "step_waived",
    "permit_granted",
    "power_applied",
    "power_removed",
    "stage_changed",
    "soak_started",
    "soak_reading",
    "soak_ended",
    "estimate_sent",
    "estimate_answered",
    "note_added",
    "photo_added",
    "released",
    "withdrawn",
    "reading_taken",
    "part_lost",
    "part_specified",
    "promise_made",
    "limit_agreed",
    "owner_told",
    "shipped",
    "question_asked",
    "question_replied",
)

# ANSI Z535.4 signal words, gravest first.
SIGNAL_WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")

ROLES = ("owner", "technician", "desk", "viewer")
POWER = ("isolated", "limited", "full")
