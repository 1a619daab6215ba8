"""Capacitors, preferred values, contacts."""

from __future__ import annotations

from shop.bench.electrical import capacitors as caps
from shop.bench.electrical import contacts
from shop.bench.electrical.preferred_values import SERIES, preferred_value
from shop.bench.electrical.substitution import substitute
from tests.published.checks import C, Check, M, P

COSEL = "a power supply maker's published answer"
RULE = "L = L0 2^((T0-T)/10), makers' application notes"
JAN = "JAN-C-62, read second-hand"
X_NOTE = "published notes on IEC 60384-14"
E_PAGE = "IEC 60063, read on a public page"
CATALOGUE = "relay catalogue"

_E24 = (
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0,
    3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1,
)  # fmt: skip

# Entries of E48 to E192 as printed tables have them; quoted from memory.
_PRINTED = {
    ("E48", 1): 1.05, ("E48", 47): 9.53, ("E96", 1): 1.02, ("E96", 50): 3.32, ("E96", 95): 9.76,
    ("E192", 1): 1.01, ("E192", 185): 9.20, ("E192", 191): 9.88,
}  # fmt: skip

_X_Y = {"microfarads": 0.01, "mains_volts": 250}

CHECKS = [
    *(
        Check("W4.1", f"105 C, 1000 h at {t} C, h", COSEL, P, h, lambda t=t: caps.electrolytic_life(1000, 105, t).hours)
        for t, h in ((45, 64_000.0), (55, 32_000.0), (65, 16_000.0))
    ),
    Check("W4.2", "the three, 8 h each a day, h", COSEL, P, 27_428.6, lambda: caps.mixed_duty(1000, 105, [45, 55, 65], [8, 8, 8]).hours, 2e-6),
    Check("W4.2", "equivalent temperature, C (57.2 printed)", COSEL, P, 57.224, lambda: caps.mixed_duty(1000, 105, [45, 55, 65], [8, 8, 8]).equivalent_celsius, 1e-5),
    Check("W4.2", "mean temperature, C", COSEL, P, 55.0, lambda: caps.mixed_duty(1000, 105, [45, 55, 65], [8, 8, 8]).mean_celsius),
    Check("W4.3", "2000 h at 105 C, used at 65 C, h", RULE, C, 32_000.0, lambda: caps.electrolytic_life(2000, 105, 65).hours),
    Check("W4.3", "in years without pause", RULE, C, 3.65, lambda: caps.electrolytic_life(2000, 105, 65).continuous_years),
    Check("W4.4", "5000 h at 105 C, used at 65 C, h", RULE, C, 80_000.0, lambda: caps.electrolytic_life(5000, 105, 65).hours),
    Check("W4.4", "1000 h at 85 C, used at 45 C, h", RULE, C, 16_000.0, lambda: caps.electrolytic_life(1000, 85, 45).hours),
    Check("W4.5", "leakage limit of 20 uF 450 V, mA", JAN, P, 1.1, lambda: caps.leakage_limit(450, 20)),
    Check("W4.5", "leakage limit of 20 uF 250 V, mA", JAN, P, 0.7, lambda: caps.leakage_limit(250, 20)),
    Check("W4.5", "leakage limit of 50 uF 300 V, mA", JAN, C, 1.55, lambda: caps.leakage_limit(300, 50)),
    *(
        Check("W4.6", f"impulse of {k} 2.2 uF, V", X_NOTE, C, v, lambda k=k: caps.impulse_level(k, 2.2).impulse_volts, 1e-4)
        for k, v in (("X2", 1685.5), ("X1", 2696.8), ("Y2", 3371.0))
    ),
    *(
        Check("impulse", f"impulse of {k} up to 1 uF, V", X_NOTE, P, v, lambda k=k: caps.impulse_level(k, 0.1).impulse_volts)
        for k, v in (("X1", 4000.0), ("X2", 2500.0), ("Y1", 8000.0), ("Y2", 5000.0), ("Y4", 2500.0))
    ),
    Check("W4.7", "450 V through 100 kohm into a short, mA", "Ohm's law", C, 4.5, lambda: caps.reforming(450, 47, 20).shorted_milliamps),
    Check("re-age", "series resistor at 450 V, ohm", "capacitor maker's note of October 1993", P, 100_000.0, lambda: caps.reforming(450, 47, 20).series_ohms),
    Check("re-age", "series resistor at 63 V, ohm", "capacitor maker's note of October 1993", P, 10_000.0, lambda: caps.reforming(63, 47, 20).series_ohms),
    Check("re-age", "hold at rated voltage, h", "capacitor maker's note of October 1993", P, 4.0, lambda: caps.reforming(450, 47, 20).hold_hours),
    Check("W4.8", "4700 uF is renewed below, uF", "data-sheet convention", C, 3760.0, lambda: caps.electrolytic_condition(4700, 4000).least_microfarads),
    Check("W4.9", "27 ohm 10 %: lowest, ohm", "published preferred values", P, 24.3, lambda: preferred_value(27, "E12").lowest),
    Check("W4.9", "27 ohm 10 %: highest, ohm", "published preferred values", P, 29.7, lambda: preferred_value(27, "E12").highest),
    Check("E6", "the series", E_PAGE, P, (1.0, 1.5, 2.2, 3.3, 4.7, 6.8), lambda: SERIES["E6"]),
    Check("E12", "the series", E_PAGE, P, (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2), lambda: SERIES["E12"]),
    Check("E24", "the series", E_PAGE, P, _E24, lambda: SERIES["E24"]),
    *(
        Check(name, f"entry {place + 1} of {len(SERIES[name])}", "printed table, from memory", M, value,
              lambda name=name, place=place: SERIES[name][place])
        for (name, place), value in _PRINTED.items()
    ),
    Check("W9.1", "62 mV at 1 A, mohm", "V / I", C, 62.0, lambda: contacts.contact_resistance(62).milliohms),
    Check("W9.1", "against 50 mohm", CATALOGUE, C, "fail", lambda: contacts.contact_resistance(62).verdict),
    Check("W9.1", "against 100 mohm", "maker's limit for small relays, from memory", C, "pass", lambda: contacts.contact_resistance(62, limit_milliohms=100).verdict),
    Check("W9.2", "12 V relay at 7.0 V, %", CATALOGUE, P, 58.3, lambda: contacts.relay_coil(12, 7.0, 0.6).pull_in_percent),
    Check("W9.2", "its verdict", CATALOGUE, P, "pass", lambda: contacts.relay_coil(12, 7.0, 0.6).verdict),
    Check("W9.3", "8 ohm over 0.04 and 0.1 ohm", "divider", C, 57.1, lambda: contacts.contact_resistance(100, source_ohms=0.04).damping_factor),
    Check("X for Y", "X2 in place of Y2", "suppression capacitor tutorial", P, "no",
          lambda: substitute("suppression-capacitor", _X_Y | {"safety_class": "Y2"}, _X_Y | {"safety_class": "X2"}).verdict),
    Check("Y for X", "Y2 in place of X2", "suppression capacitor tutorial", P, "fits",
          lambda: substitute("suppression-capacitor", _X_Y | {"safety_class": "X2"}, _X_Y | {"safety_class": "Y2"}).verdict),
]  # fmt: skip
