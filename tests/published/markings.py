"""Wires, colour bands, codes, dates."""

from __future__ import annotations

from shop.bench.electrical import markings, wires
from tests.published.checks import C, Check, M, P

IEC_WIRE = "IEC 60228 on a cable maker's page, read"
KT = "temperature factors for IEC 60228 on a cable maker's page, read"
AWG = "AWG table, read"
BS = "BS 3737, from memory"
RKM = "IEC 60062 examples in an encyclopaedia, read"
CHIP = "chip resistor codes, published examples, read"
CHART = "colour chart of IEC 60062, from memory"
CAPACITORS = "capacitor codes, from memory"
DATES = "date letters of IEC 60062, from memory"

_IEC = {
    0.5: (36.0, 39.0), 0.75: (24.5, 26.0), 1.0: (18.1, 19.5), 1.5: (12.1, 13.3),
    2.5: (7.41, 7.98), 4.0: (4.61, 4.95), 6.0: (3.08, 3.30), 10.0: (1.83, 1.91), 16.0: (1.15, 1.21),
}  # fmt: skip
_BANDS = (
    ("yellow violet red gold", 4700.0, 5.0), ("brown black orange silver", 10_000.0, 10.0),
    ("red red black", 22.0, 20.0), ("orange orange gold gold", 3.3, 5.0),
    ("brown green silver gold", 0.15, 5.0), ("orange white white black red", 399.0, 2.0),
    ("yellow yellow red red blue", 44_200.0, 0.25),
)  # fmt: skip


def _per_kilometre(size: float, make: str, celsius: float = 20) -> float:
    return wires.wire_drop(500, size, 1, make, celsius=celsius).lead_ohms


def _ohms(code: str) -> float:
    return markings.resistor_code(code).ohms


CHECKS = [
    *(
        Check("IEC 60228", f"{size:g} mm2, {make}, ohm/km", IEC_WIRE, P, want, lambda size=size, make=make: _per_kilometre(size, make), 1e-9)
        for size, row in _IEC.items()
        for make, want in zip(("solid", "flexible"), row, strict=True)
    ),
    *(
        Check("IEC 60228", f"factor to 20 C from {celsius} C", KT, P, factor, lambda celsius=celsius: 18.1 / _per_kilometre(1.0, "solid", celsius), 6e-3)
        for celsius, factor in ((5, 1.064), (30, 0.962), (50, 0.893), (70, 0.833))
    ),
    Check("drop", "10 m of 2.5 mm2 flexible at 10 A, V", "2 l r I", C, 1.596, lambda: wires.wire_drop(10, 2.5, 10).drop_volts, 1e-9),
    *(
        Check("AWG", f"{number}: mm", AWG, P, want, lambda number=number: wires.wire_gauge(number).diameter_millimetres, 1.5e-3)
        for number, want in ((-3, 11.684), (0, 8.2525), (10, 2.5883), (14, 1.6281), (18, 1.0236), (20, 0.812), (22, 0.644), (24, 0.5105), (36, 0.127))
    ),
    *(
        Check("AWG", f"{number}: ohm/km", AWG, P, want, lambda number=number: wires.wire_gauge(number).ohms_per_kilometre, 2e-3)
        for number, want in ((10, 3.28), (12, 5.21), (14, 8.28), (16, 13.17), (18, 20.94), (22, 52.94), (24, 84.20), (30, 338.5))
    ),
    *(
        Check("AWG", f"{number}: mm2", AWG, P, want, lambda number=number: wires.wire_gauge(number).square_millimetres, 2e-3)
        for number, want in ((10, 5.26), (14, 2.08), (18, 0.823), (24, 0.205))
    ),
    *(
        Check("SWG", f"{number}: mm", BS, M, want, lambda number=number: wires.wire_gauge(swg=number).diameter_millimetres, 1e-3)
        for number, want in ((10, 3.251), (16, 1.626), (18, 1.219), (20, 0.914), (22, 0.711), (26, 0.457), (30, 0.315), (40, 0.122))
    ),
    *(
        Check("RKM", f"{code}, ohm", RKM, P, want, lambda code=code: _ohms(code), 1e-12)
        for code, want in (("R47", 0.47), ("4R7", 4.7), ("470R", 470.0), ("4K7", 4700.0), ("47K", 47e3), ("47K3", 47.3e3), ("470K", 470e3), ("4M7", 4.7e6))
    ),
    *(
        Check("chip", f"{code}, ohm", CHIP, P, want, lambda code=code: _ohms(code), 1e-12)
        for code, want in (("424", 420e3), ("420", 42.0), ("220", 22.0), ("12R0", 12.0), ("471", 470.0), ("563", 56e3), ("2R2", 2.2), ("1001", 1000.0), ("4992", 49.9e3), ("1000", 100.0), ("66B", 4750.0), ("01A", 100.0), ("96D", 976e3), ("30Y", 2.0))
    ),
    Check("bands", "brown black black red brown, ohm", "published colour chart, read", P, 10_000.0, lambda: markings.colour_code(["brown", "black", "black", "red", "brown"]).ohms),
    Check("bands", "the same: tolerance, %", "published colour chart, read", P, 1.0, lambda: markings.colour_code(["brown", "black", "black", "red", "brown"]).tolerance_percent),
    *(
        Check("bands", f"{bands}, ohm", CHART, M, ohms, lambda bands=bands: markings.colour_code(bands.split()).ohms, 1e-12)
        for bands, ohms, _ in _BANDS
    ),
    *(
        Check("bands", f"{bands}: tolerance, %", CHART, M, tolerance, lambda bands=bands: markings.colour_code(bands.split()).tolerance_percent)
        for bands, _, tolerance in _BANDS
    ),
    *(
        Check("capacitor", f"{code}, pF", CAPACITORS, M, want, lambda code=code: markings.capacitor_code(code).picofarads, 1e-12)
        for code, want in (("104", 1e5), ("104K", 1e5), ("472", 4700.0), ("220", 22.0), ("479", 4.7), ("508", 0.5), ("4n7", 4700.0), ("p68", 0.68), ("u22", 220e3), ("100n", 1e5), ("2u2", 2.2e6))
    ),
    Check("date", "M5", DATES, M, "May 1980, 2000 or 2020.", lambda: markings.date_code("M5").says),
    Check("date", "AD", DATES, M, "December 1970, 1990 or 2010.", lambda: markings.date_code("AD").says),
    Check("date", "8523", "common practice of makers", M, "Week 23 of 1985.", lambda: markings.date_code("8523").says),
]  # fmt: skip
