"""Charged capacitors, combined voltages, fuses and contacts."""

from __future__ import annotations

import math

import numpy as np
from scipy.integrate import quad

from shop.bench.electrical import contact_ratings, energy, fuse_duty, fuses
from tests.published.checks import C, Check, M, P

TABLE_5 = "IEC 62368-1:2018 Table 5, read second-hand"
TABLE_4 = "IEC 62368-1:2018 Table 4, read second-hand"
SHEET_1 = "a maker's data sheet of a fuse to IEC 60127-2 sheet 1, read"
UL = "a fuse maker's guide to UL 248-14, read"
GUIDE = "a fuse maker's guide: pulses and their shapes, read"
RELAYS = "relay catalogues, resistive d.c., from memory"
CLASSES = "IEC 60127-2, breaking capacities, from memory"


def _times(rated: float, multiple: float, sheet: str, which: str) -> float | None:
    return getattr(fuses.fuse_times(rated, rated * multiple, sheet), f"{which}_seconds")


def _pulse(shape: str) -> float:
    return fuse_duty.pulse_duty(10, 5, shape).pulse_ampere_squared_seconds


def _charging(volts: float, ohms: float, microfarads: float) -> float:
    """The I2t of a reservoir that charges, by quadrature."""
    peak, lasts = math.sqrt(2) * volts / ohms, ohms * microfarads * 1e-6
    return quad(lambda t: (peak * math.exp(-t / lasts)) ** 2, 0, 40 * lasts, limit=200)[0]


CHECKS = [
    *(
        Check("capacitor", f"{nf:g} nF is ES1 up to, V", TABLE_5, P, float(v), lambda nf=nf: energy.capacitor_class(1, nf, 0).es1_volts, 1e-9)
        for nf, v in (
            (1000, 60), (300, 60), (170, 75), (91, 100), (61, 125), (41, 150), (28, 200), (18, 250), (12, 350), (8, 500), (4, 1000), (1.6, 2500),
            (0.8, 5000), (0.4, 10_000), (0.2, 20_000), (0.133, 25_000),
        )
    ),
    *(
        Check("capacitor", f"class of {nf:g} nF at {v:g} V", TABLE_5, P, name, lambda nf=nf, v=v: energy.capacitor_class(v, nf, 0).energy_class)
        for nf, v, name in ((170, 75, "ES1"), (170, 76, "ES2"), (170, 150, "ES2"), (170, 151, "ES3"), (28, 400, "ES2"), (28, 401, "ES3"))
    ),
    Check("capacitor", "half way from 170 to 300 nF, V", TABLE_5 + ": a straight line", P, 67.5, lambda: energy.capacitor_class(1, 235, 0).es1_volts, 1e-9),
    *(
        Check("ES", f"{rms:g} V r.m.s. at {hz:g} Hz", TABLE_4, P, name, lambda rms=rms, hz=hz: energy.energy_class(rms_volts=rms, hertz=hz).energy_class)
        for rms, hz, name in (
            (30, 1000, "ES1"), (31, 1000, "ES2"), (34, 10_000, "ES1"), (34.1, 10_000, "ES2"), (59, 10_000, "ES2"), (59.1, 10_000, "ES3"),
            (70, 200_000, "ES1"), (140, 200_000, "ES2"), (141, 200_000, "ES3"),
        )
    ),
    *(
        Check("ES", f"{dc:g} V d.c. with {peak:g} V peak", TABLE_4 + ": the sum of the shares", P, name,
              lambda dc=dc, peak=peak: energy.energy_class(dc, peak_volts=peak).energy_class)
        for dc, peak, name in ((30, 21.2, "ES1"), (30, 21.3, "ES2"), (45, 10.6, "ES1"), (45, 10.7, "ES2"))
    ),
    Check("ES", "170 V peak through 1000 ohm, mA", "peak / sqrt(2) / R", C, 120.2, lambda: energy.energy_class(peak_volts=170).body_milliamps),
    *(
        Check("fuse", f"sheet 1, {rated:g} A, at {times:g} times: {which}, s", SHEET_1, P, want,
              lambda rated=rated, times=times, which=which: _times(rated, times, "1", which))
        for rated, times, which, want in (
            (2, 2.1, "latest", 1800.0), (2, 2.75, "earliest", 0.01), (2, 2.75, "latest", 2.0), (5, 2.75, "latest", 3.0), (8, 2.75, "earliest", 0.04),
            (8, 2.75, "latest", 20.0), (2, 4, "earliest", 0.003), (2, 4, "latest", 0.3), (8, 4, "latest", 1.0), (2, 10, "latest", 0.02), (10, 10, "latest", 0.03),
        )
    ),
    *(
        Check("fuse", f"UL 248-14, {rated:g} A, at {times:g} times: {which}, s", source, mark, want,
              lambda rated=rated, times=times, which=which, sheet=sheet: _times(rated, times, sheet, which))
        for rated, times, sheet, which, want, source, mark in (
            (2, 1.35, "UL-248-14", "latest", 3600.0, UL, P), (2, 2, "UL-248-14", "latest", 120.0, UL, P), (20, 2, "UL-248-14", "latest", 120.0, UL, P),
            (2, 1, "UL-248-14", "earliest", 14_400.0, "data sheets: four hours at 100 %, from memory", M),
            (3, 2, "UL-248-14-D", "earliest", 5.0, "time-delay data sheets, from memory", M), (5, 2, "UL-248-14-D", "earliest", 12.0, "time-delay data sheets, from memory", M),
        )
    ),
    *(Check("I2t", f"{shape} of 10 A and 5 ms, A2s", GUIDE, P, want, lambda shape=shape: _pulse(shape), 1e-12)
      for shape, want in (("half-sine", 0.25), ("triangle", 10**2 * 0.005 / 3), ("decay", 0.25))),
    Check("I2t", "rectangle of 10 A and 5 ms, A2s", "I^2 t", C, 0.5, lambda: _pulse("rectangle"), 1e-12),
    *(
        Check("I2t", f"{n:g} pulses, of the melting I2t, %", GUIDE, P, float(share), lambda n=n: fuse_duty.pulse_duty(1, 1, pulses=n).allowed_percent)
        for n, share in ((100, 48), (1000, 38), (10_000, 29), (100_000, 22))
    ),
    Check("inrush", "230 V, 10 ohm, 220 uF: peak, A", "sqrt(2) V / R", C, 32.53, lambda: fuse_duty.inrush(230, 10, 220).peak_amps),
    *(
        Check("inrush", f"{v:g} V, {r:g} ohm, {uf:g} uF: I2t, A2s", "quadrature of the exponential", C, _charging(v, r, uf),
              lambda v=v, r=r, uf=uf: fuse_duty.inrush(v, r, uf).inrush_ampere_squared_seconds, 1e-6)
        for v, r, uf in ((230, 10, 220), (120, 2.5, 680), (60, 0.5, 20_000))
    ),
    *(
        Check("breaking", f"{kind}, {rated:g} A breaks, A", source, mark, float(want),
              lambda kind=kind, rated=rated: fuse_duty.fuse_rating(rated, 250, 230, 10, kind).breaking_amps)
        for kind, rated, want, source, mark in (
            ("L", 2, 35, CLASSES, M), ("L", 6.3, 63, CLASSES, M), ("H", 2, 1500, CLASSES, M), ("E", 2, 150, CLASSES, M), ("UL-250", 1, 35, UL, P),
            ("UL-250", 3, 100, UL, P), ("UL-250", 10, 200, UL, P), ("UL-250", 12, 750, UL, P), ("UL-250", 20, 1500, UL, P),
        )
    ),
    *(
        Check("contact", f"10 A, 250 V a.c. contact breaks at {v:g} V d.c., A", RELAYS, M, amps, lambda v=v: contact_ratings.contact_rating(v, 0.001).breaks_amps, 1e-9)
        for v, amps in ((24, 10.0), (30, 10.0), (110, 0.3), (220, 0.12))
    ),
    Check("contact", "60 V d.c., A", "straight line on double logarithmic paper", C,
          float(np.exp(np.log(10) + np.log(0.03) * np.log(2) / np.log(110 / 30))), lambda: contact_ratings.contact_rating(60, 0.001).breaks_amps, 1e-9),
    *(
        Check("contact", f"small relay marked {a:g} A {v:g} V d.c., {a * v:g} W at most: breaks at {at:g} V, A, no more than", "relay catalogues: maximum switching power, from memory", M, True,
              lambda a=a, v=v, at=at, most=most: contact_ratings.contact_rating(at, 0.001, a, rated_dc_volts=v).breaks_amps <= most * (1 + 1e-9))
        for a, v, at, most in ((1, 24, 60, 0.4), (2, 30, 60, 1.0), (1, 30, 48, 0.625), (10, 24, 30, 8.0))
    ),
    Check("contact", "no more than a lift maker's 0.5 A at 110 V d.c. for a relay of 10 A", "answers of a control maker, read", P, True,
          lambda: contact_ratings.contact_rating(110, 0.001).breaks_amps <= 0.5),
]  # fmt: skip
