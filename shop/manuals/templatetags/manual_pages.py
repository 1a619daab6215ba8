"""Pages of manuals beside what they are about."""

from __future__ import annotations

from typing import Any

from django import template

from shop.jobs.models import Job
from shop.manuals import queries

register = template.Library()


@register.inclusion_tag("manuals/_beside.html")
def pages_beside(job: Job, beside: str, key: str) -> dict[str, Any]:
    """Show the links to pages beside a step or a suspect of a job; nothing where there are none."""
    return {"links": queries.links_of_job(job).get((beside, key), ())}
