"""What to do now with a job: safety first, then the way of the unit through the shop."""

from __future__ import annotations

from shop.jobs.next_act.acts import Act
from shop.jobs.next_act.afterwards import afterwards
from shop.jobs.next_act.policies import act_for, next_act

__all__ = ["Act", "act_for", "afterwards", "next_act"]
