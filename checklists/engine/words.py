"""The closed words that packs may use beside the facts: gates, phases, events, signal words."""

from __future__ import annotations

GATES = {
    "first-power": "before mains reaches a unit whose state is unknown, through a current limiter",
    "open-up": "before the cover comes off",
    "hands-in": "before the first hand goes into an open unit",
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

# What an instrument measures, with what pages call it and its unit without a prefix.
MEASURED = {
    "dc-voltage": ("d.c. voltage", "V"),
    "ac-voltage": ("a.c. voltage", "V"),
    "dc-current": ("d.c. current", "A"),
    "ac-current": ("a.c. current", "A"),
    "resistance": ("resistance", "ohm"),
    "earth-resistance": ("protective-earth resistance", "ohm"),
    "insulation-resistance": ("insulation resistance", "ohm"),
    "leakage-current": ("touch and leakage current", "A"),
    "temperature": ("temperature", "C"),
    "frequency": ("frequency", "Hz"),
    "power": ("power", "W"),
}
# Of these, what a meter may be asked for over a line. The others prove that nothing bites: a lead
# that came off reads a still 0 there.
METERED = frozenset(MEASURED) - {"earth-resistance", "insulation-resistance", "leakage-current"}

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
    "curve_measured",
    "part_lost",
    "part_specified",
    "promise_made",
    "limit_agreed",
    "owner_told",
    "shipped",
    "question_asked",
    "question_replied",
    "night_passed",
    "entry_withdrawn",
    "round_finished",
    "intake_corrected",
    "jobs_joined",
    "plug_doubted",
    "bill_issued",
    "bill_credited",
    "bill_paid",
)

# How an event is told that ended a sign-off; one that is not here by its type.
TOLD = {
    "received": "arrival",
    "fact_recorded": "a fact",
    "finding_recorded": "a finding",
    "work_done": "work",
    "part_fitted": "a part fitted",
    "cover_removed": "the cover off",
    "cover_fitted": "the cover on",
    "power_applied": "mains on",
    "power_removed": "mains off",
    "plug_doubted": "a plug that may be in",
    "stage_changed": "a move",
    "night_passed": "a night",
    "step_signed": "a signature",
    "entry_withdrawn": "an entry withdrawn",
}

# ANSI Z535.4 signal words, gravest first.
SIGNAL_WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")

ROLES = ("owner", "technician", "desk", "viewer")
POWER = ("isolated", "limited", "full")
COVER = ("on", "off")
# Of what a sign-off is true: of the unit until an event says otherwise, or of the set-up around it.
SCOPES = ("unit", "bench")

# States and acts in which a hazard does its harm.
COVER_OFF, HANDS, LIVE, LIMITED, FULL = "cover-off", "hands", "live", "limited", "full"
ISOLATED = "isolated"
UNATTENDED, LEAVE, HAND_BACK = "unattended", "leave", "hand-back"
EXPOSURES = {
    COVER_OFF: "the cover comes off",
    HANDS: "a hand goes into the open, isolated unit",
    LIVE: "the cover is off and mains is on",
    LIMITED: "mains comes on through the limiter",
    FULL: "mains is on without the limiter",
    UNATTENDED: "the unit runs alone: a soak",
    LEAVE: "the unit leaves as repaired",
    HAND_BACK: "the unit leaves unrepaired",
}
_UNDER_MAINS = frozenset({LIMITED, FULL, UNATTENDED})


def widened(meets: frozenset[str]) -> frozenset[str]:
    """Return the exposures of a hazard of the unit: what may not meet mains may not leave either.

    Back to the customer unrepaired goes what only full mains would show; what even the limiter
    is not for does not.
    """
    if LIMITED in meets:
        return meets | {LEAVE, HAND_BACK}
    return meets | {LEAVE} if meets & _UNDER_MAINS else meets


def as_shown(word: str) -> str:
    """Return 'valve amplifier' for 'valve-amplifier', as people read a closed word."""
    return word.replace("_", " ").replace("-", " ")
