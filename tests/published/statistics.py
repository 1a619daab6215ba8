"""Flow of the shop."""

from __future__ import annotations

from shop.bench.purchasing import lead_times
from shop.bench.statistics import flow
from tests.published.checks import C, Check, P

LITTLE = 'J. D. C. Little and S. C. Graves, ch. 5 of "Building Intuition", Springer'
LOGNORMAL = "lognormal distribution"

CHECKS = [
    Check("W12.1", "160 bottles, 8 a month, months", LITTLE, P, 20.0, lambda: flow.shelf_time(160, 8).stay_days),
    Check("W12.2", "150 mails, 50 a day, days", "L = lambda W", C, 3.0, lambda: flow.shelf_time(150, 50).stay_days),
    Check("W12.3", "24 jobs, 6 in 5 days, days", "L = lambda W", C, 20.0, lambda: flow.shelf_time(24, 6 / 5).stay_days),
    Check("W12.4", "1000 a second for 0.2 s", "public note on Little's law", P, 200.0, lambda: flow.Little(200, 1000, 0.2).expected),
    Check("W12.5", "median 10, p90 21: sigma", LOGNORMAL, C, 0.57894, lambda: lead_times.lead_time(10, 21).sigma, 1e-5),
    Check("W12.5", "mean, d", LOGNORMAL, C, 11.824, lambda: lead_times.lead_time(10, 21).mean_days, 1e-4),
    Check("W12.5", "p85, d", LOGNORMAL, C, 18.222, lambda: lead_times.lead_time(10, 21).p85_days, 1e-4),
    Check("W12.5", "p95, d", LOGNORMAL, C, 25.916, lambda: lead_times.lead_time(10, 21).p95_days, 1e-4),
    Check("W12.6", "mean 14, sd 7 is median 12.522, p90 22.940: mean, d", LOGNORMAL, C, 14.0, lambda: lead_times.lead_time(12.522, 22.940).mean_days, 1e-4),
    Check("W12.6", "sigma", LOGNORMAL, C, 0.47238, lambda: lead_times.lead_time(12.522, 22.940).sigma, 1e-4),
    Check("W12.7", "nine in three weeks of 2, 3 or 4, %", "enumeration, 17/27", C, 100 * 17 / 27,
          lambda: flow.finish_chance([2, 3, 4], 9, 3).chance_percent, 8e-3),
]  # fmt: skip
