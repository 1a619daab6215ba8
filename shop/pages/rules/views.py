"""The rules as pages: every step and rule with its source."""

from __future__ import annotations

import contextlib
from datetime import datetime

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from checklists import published
from checklists.engine import explain, prove
from checklists.engine.pack import Limit, Pack, Step
from checklists.engine.smt import NoSolver
from checklists.engine.solver import NotTranslated
from checklists.engine.vocabulary import Facts
from checklists.engine.words import GATES, PHASES
from shop.accounts.roles import needs
from shop.jobs import queries
from shop.jobs.decorators import job_page
from shop.jobs.models import Job
from shop.lib.pack_words import pack_text
from shop.lib.web import htmx

PAGE_TIMEOUT_MS = 2000


LONGEST = 100


@require_GET
@needs("read")
def pack_page(request: HttpRequest) -> HttpResponse:
    """Every step by phase; `q` and `gate` leave those that fit, `keys=yes` shows their names in files."""
    pack, typed = published.current(), request.GET.get("q", "").strip()[:LONGEST]
    gate = request.GET.get("gate", "") if request.GET.get("gate") in GATES else ""
    ranked = sorted(pack.steps.values(), key=lambda step: pack.rank[step.key])
    fitting = [step for step in ranked if _fits(step, typed, gate)]
    phases = [(phase, [s for s in fitting if s.phase == phase]) for phase in PHASES]
    context = {
        "pack": pack,
        "phases": [(phase, steps) for phase, steps in phases if steps],
        "gates": [(name, len(_held(ranked, name))) for name in GATES],
        "gate": gate,
        "meaning": GATES.get(gate, ""),
        "typed": typed,
        "keys": request.GET.get("keys") == "yes",
    }
    return htmx.page(request, "pages/rules/pack.html", "pages/rules/_pack_steps.html", context)


def _fits(step: Step, typed: str, gate: str) -> bool:
    """Whether a step stands at the gate, when one is chosen, and has all words typed."""
    shown = f"{pack_text(step.title)} {pack_text(step.instruction)}"
    told = f"{step.title} {step.key} {step.instruction} {step.gate} {shown}".lower().replace(
        "-", " "
    )
    at_gate = not gate or gate in (step.gate, step.gate_once_opened)
    return at_gate and all(word in told for word in typed.lower().replace("-", " ").split())


@require_GET
@needs("read")
def step_page(request: HttpRequest, key: str) -> HttpResponse:
    pack = published.current()
    step = pack.steps.get(key)
    if step is None:
        raise Http404(_("There is no step {key} in the pack.").format(key=key))
    context = {"pack": pack, "step": step, "limits": _limits(step), "rules": _requiring(pack, key)}
    return render(request, "pages/rules/step.html", context)


@require_GET
@job_page("read")
def why_page(request: HttpRequest, job: Job, now: datetime) -> HttpResponse:
    """Why a step is on a job's checklist, or why it is not and what would bring it."""
    checklist = queries.Traveller.of(job).checklist
    step = checklist.pack.steps.get(request.GET.get("step", ""))
    if step is None:
        raise Http404(
            _("There is no step {key} in the pack.").format(key=request.GET.get("step", ""))
        )
    listed = checklist.by_key.get(step.key)
    smallest: Facts | None = None
    if listed is None:
        with contextlib.suppress(NotTranslated, NoSolver):
            smallest = prove.smallest_change(
                checklist.pack, dict(checklist.facts), step.key, timeout_ms=PAGE_TIMEOUT_MS
            )
    traces = explain.why(checklist.pack, checklist.facts, step.key)
    context = {
        "job": job,
        "step": step,
        "listed": listed,
        "facts": checklist.facts,
        "traces": traces,
        "smallest": smallest,
    }
    return render(request, "pages/rules/why.html", context)


def _held(steps: list[Step], gate: str) -> list[Step]:
    return [s for s in steps if s.hold and gate in (s.gate, s.gate_once_opened)]


def _requiring(pack: Pack, key: str) -> list[object]:
    return [rule for rule in pack.rules if key in rule.require]


def _limits(step: Step) -> list[dict[str, str]]:
    return [
        {
            "title": reading.title,
            "unit": reading.unit,
            "low": _end(reading.low),
            "high": _end(reading.high),
            "source": reading.source,
            "needed": _("needed") if reading.required else _("optional"),
        }
        for reading in step.readings
    ]


def _end(limit: Limit | None) -> str:
    if limit is None:
        return ""
    if not limit.worked_out:
        return f"{limit.number:g}"
    known = _(", else ").join(one.source for one in limit.worked_out)
    return _("{known} (unknown: {number})").format(known=known, number=f"{limit.number:g}")
