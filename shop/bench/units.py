"""Units, read off the names of inputs and results: the last word of a name is its unit."""

from __future__ import annotations

# The longest ending counts: `celsius_per_watt` is K/W, not W.
_ENDINGS = {
    "kelvin_per_watt": "K/W",
    "watts_per_kelvin": "W/K",
    "ohms_per_kilometre": "ohm/km",
    "parts_per_million_per_kelvin": "ppm/K",
    "milliohms": "mohm",
    "kilohms": "kohm",
    "megohms": "Mohm",
    "ohms": "ohm",
    "kilovolts": "kV",
    "millivolts": "mV",
    "volts_per_microsecond": "V/us",
    "volts": "V",
    "milliamps": "mA",
    "ampere_squared_seconds": "A2s",
    "amps": "A",
    "milliwatts": "mW",
    "watts": "W",
    "volt_amps": "VA",
    "joules": "J",
    "_j": "J",
    "microcoulombs": "uC",
    "picofarads": "pF",
    "nanofarads": "nF",
    "microfarads": "uF",
    "microhenries": "uH",
    "millihenries": "mH",
    "hertz": "Hz",
    "kilohertz": "kHz",
    "_degrees": "deg",
    "nanoseconds": "ns",
    "nanocoulombs": "nC",
    "milliseconds": "ms",
    "microseconds": "us",
    "seconds": "s",
    "_s": "s",
    "arc_minutes": "arcmin",
    "minutes": "min",
    "hours": "h",
    "days": "d",
    "months": "months",
    "years": "years",
    "metres": "m",
    "square_millimetres": "mm2",
    "millimetres": "mm",
    "micrometres": "um",
    "centimetres_per_second": "cm/s",
    "nanowebers_per_metre": "nWb/m",
    "kilograms": "kg",
    "celsius": "C",
    "kelvin": "K",
    "percent": "%",
    "decibels": "dB",
    "dbu": "dBu",
    "dbv": "dBV",
    "dbm": "dBm",
    "per_day": "per day",
}
_BY_LENGTH = sorted(_ENDINGS, key=len, reverse=True)


# What a name is about when it is nothing but its unit, or ends with it.
_QUANTITIES = {
    "V": "voltage", "mV": "voltage", "A": "current", "mA": "current", "ohm": "resistance",
    "mohm": "resistance", "Mohm": "resistance", "W": "power", "J": "energy", "uF": "capacitance",
    "nF": "capacitance", "Hz": "frequency", "s": "time", "min": "time", "C": "temperature",
    "ms": "time", "us": "time", "mW": "power", "deg": "angle", "dB": "level", "K/W": "thermal resistance", "m": "length", "kg": "mass", "uC": "charge",
    "pF": "capacitance", "mH": "inductance", "mm": "length", "mm2": "cross-section",
}  # fmt: skip

# What a figure is called where its name alone says too little.
_NAMES = {
    "seconds": "time", "pulse_watts": "power at the first instant",
    "mean_pulse_watts": "mean power in the first time constant", "start_amps": "current at the start",
    "left_j": "energy left", "recovery_volts": "may come back by itself",
    "energy_class": "energy class", "dc_class": "class of a steady source",
    "shock_hazard": "shock hazard by its energy", "es1_volts": "ES1 up to", "es2_volts": "ES2 up to", "time_constant_s": "time constant",
    "largest_ohms": "at most", "preferred_ohms": "next preferred value",
    "continuous_watts": "burns all the time", "body_milliamps": "current through a body",
    "next_limit_volts": "next limit", "doubled_volts": "behind a doubler",
    "bus_volts": "bus voltage", "peak_volts": "peak voltage", "rms_volts": "r.m.s. voltage",
    "dc_volts": "d.c. voltage", "rms_amps": "r.m.s. current", "peak_amps": "peak current",
    "ceiling_amps": "current into a dead short", "hot_ohms": "lamp hot", "cold_ohms": "lamp cold",
    "unit_volts": "a healthy unit is left with", "idle_watts": "idle power",
    "limit_milliamps": "current limit", "charging_seconds": "charging takes",
    "fault_watts": "power into a short", "earliest_seconds": "opens at the earliest",
    "latest_seconds": "opens at the latest", "steady_amps": "steady current",
    "least_amps": "at least", "most_amps": "at most", "reading_millivolts": "reading to set",
    "lowest_millivolts": "lowest", "highest_millivolts": "highest",
    "share_percent": "share", "pair_watts": "heat in one pair", "supply_watts": "from the supply",
    "worst_pair_watts": "most heat in one pair", "worst_at_peak_volts": "most heat at a peak of",
    "largest_output_watts": "largest output", "junction_celsius": "junction temperature",
    "case_celsius": "case temperature", "sink_celsius": "sink temperature",
    "final_celsius": "final temperature", "start_celsius": "temperature at the start",
    "half_width_kelvin": "give or take", "settled_minutes": "settled after",
    "residual_kelvin": "scatter of the readings", "sink_kelvin_per_watt": "heat sink",
    "before_kelvin_per_watt": "before", "after_kelvin_per_watt": "after",
    "likely_kelvin": "hotter by", "lowest_kelvin": "at least", "highest_kelvin": "at most",
    "off_percent": "off by", "core_celsius": "core temperature", "years_in_use": "life in use",
    "continuous_years": "life when never off", "left_years": "life left",
    "equivalent_celsius": "as at a steady", "mean_celsius": "mean temperature",
    "shorted_milliamps": "current when shorted", "resistor_watts": "power in the resistor",
    "start_volts": "first step", "step_volts": "each step", "hold_hours": "hold for",
    "leakage_limit_milliamps": "leakage limit", "series_ohms": "series resistor",
    "least_microfarads": "at least", "change_percent": "change",
    "impulse_volts": "impulse test voltage", "limit_milliohms": "limit",
    "pull_in_percent": "pulls in at", "release_percent": "lets go at", "limit_ohms": "limit",
    "drop_volts": "voltage drop", "limit_megohms": "limit", "test_volts": "test voltage",
    "floating_verdict": "with floating metal", "earthed_verdict": "with earthed metal",
    "strap_verdict": "wrist strap", "mat_verdict": "bench mat", "needed": "clean trials needed",
    "rate": "fault rate", "low": "lowest", "high": "highest", "rate_low": "lowest fault rate",
    "reliability": "reliability shown", "missed": "chance that it only hid",
    "p_value": "chance by luck alone", "rate_before": "rate before", "rate_after": "rate after",
    "highest_after": "highest rate after", "expected_minutes": "time on average",
    "as_given_minutes": "time in the order given", "eighth_volts": "voltage at an eighth",
    "third_volts": "voltage at a third", "thd_f_percent": "THD by the fundamental (F)",
    "thd_r_percent": "THD by the total (R)", "thd_f_decibels": "THD (F)",
    "thd_n_percent": "THD + N", "rss_percent": "root of squares", "clip_percent": "clipped at",
    "overdrive_decibels": "overdrive", "full_scale_volts": "full scale",
    "stay_days": "stay of a unit", "median_days": "half are here in", "mean_days": "on average",
    "p85_days": "85 of 100 are here in", "p95_days": "95 of 100 are here in",
    "chance_percent": "chance", "says": "in words", "voltage_ratio": "voltage, times",
    "power_ratio": "power, times", "made_for_volts": "made for", "supplied_volts": "supplied with",
    "u2_volts": "U2", "esr_ratio": "series resistance, times the usual",
    "plate_watts": "plate dissipation", "plate_milliamps": "plate current",
    "weighted_flutter_percent": "wow and flutter, weighted (2 sigma)", "weighted_rms_percent": "weighted, r.m.s.",
    "unweighted_flutter_percent": "wow and flutter, unweighted (2 sigma)", "wow_rms_percent": "wow, r.m.s.",
    "flutter_rms_percent": "flutter, r.m.s.", "rate_hertz": "strongest swing comes at",
    "rate_percent": "strongest swing, peak", "order_2_percent": "second order", "order_3_percent": "third order",
    "noise_468_decibels": "noise, quasi-peak (BS.468)", "noise_a_decibels": "noise, A-weighted",
    "clipping_decibels": "clips at, to full scale", "clipping_volts": "clips at", "clipping_watts": "power there",
    "lowest_thd_n_percent": "lowest THD + N",
    "curve_worst_decibels": "furthest off the curve", "curve_worst_hertz": "there",
    "rated_amps": "rated current", "rated_ac_volts": "rated voltage, a.c.", "rated_dc_volts": "rated voltage, d.c.",
    "melting_ampere_squared_seconds": "melting I2t of the fuse", "pulse_ampere_squared_seconds": "I2t of the pulse",
    "needed_ampere_squared_seconds": "melting I2t needed", "inrush_ampere_squared_seconds": "I2t",
    "allowed_percent": "allowed of the melting I2t", "prospective_amps": "current into a short",
    "low_millihenries": "low branch, coils in series", "low_microfarads": "low branch, capacitors across",
    "high_microfarads": "high branch, capacitors in series", "high_millihenries": "high branch, coils across",
    "apart_percent": "apart", "readings": "readings, all in one unit", "together": "how many to a group",
    "worst_volts": "worst moment, voltage", "worst_amps": "worst moment, current",
    "allowed_amps": "allowed then", "allowed_watts": "allowed", "peak_watts": "peak power in one device",
    "stand_off_volts": "highest voltage across it", "crest_amps": "highest current in it",
    "slope_watts_per_kelvin": "derating", "all_pairs_watts": "most heat, all pairs together",
    "case_kelvin_per_watt": "junction to case", "phase_degrees": "phase",
    "open_volts": "without a load", "output_volts": "output voltage", "source_ohms": "source resistance",
    "made_in": "may be of", "awg": "AWG number", "swg": "SWG number", "nearest_awg": "nearest AWG",
    "nearest_swg": "nearest SWG", "coefficient_parts_per_million_per_kelvin": "temperature coefficient",
    "tan_delta": "tan delta", "measured_tan_delta": "measured tan delta",
    "switch_on_volts": "highest at switch-on", "in_series": "capacitors in series", "rise_kelvin": "rise",
    "winding_celsius": "temperature of the winding", "regulation_percent": "voltage drops by",
    "volt_amps": "apparent power", "copper_watts": "heat in the copper", "loaded_volts": "under load",
    "ripple_volts": "ripple, peak to peak", "ripple_rms_volts": "ripple, r.m.s.",
    "reflected_half_ohms": "one half of the primary", "reflected_ohms": "primary",
    "impedance_ohms": "impedance", "highest_rated_ohms": "highest rating that it bears",
}  # fmt: skip
_SIGNS = {
    "ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ", "mohm": "mΩ", "uF": "µF", "uC": "µC", "C": "°C",
    "mm2": "mm²", "us": "µs", "A2s": "A²s", "V/us": "V/µs", "um": "µm", "deg": "°", "arcmin": "′",
    "uH": "µH", "ohm/km": "Ω/km",
}  # fmt: skip


def typeset(unit: str) -> str:
    """Return a unit with its own sign: 'Ω' for 'ohm'."""
    return _SIGNS.get(unit, unit)


def unit_of(name: str) -> str:
    """Return the unit that a name ends with, or an empty text."""
    # `strap_milliamps_at_250_volts` is a current.
    before, at, _ = name.partition("_at_")
    if at and (unit := unit_of(before)):
        return unit
    for ending in _BY_LENGTH:
        if name == ending or name.endswith(ending if ending[0] == "_" else "_" + ending):
            return _ENDINGS[ending]
    return ""


def spoken(name: str) -> str:
    """Return a name as words, its unit taken off the end where something is left."""
    if name in _NAMES:
        return _NAMES[name]
    for ending in _BY_LENGTH:
        bare = name.removesuffix(ending).rstrip("_")
        if bare == name or not unit_of(name):
            continue
        words = bare.replace("_", " ")
        # "volts" alone is a voltage; "emitter ohms" is the emitter's resistance.
        whose = words in ("", "emitter", "load", "source", "coil", "rail", "mains", "plate", "lamp")
        quantity = _QUANTITIES.get(unit_of(name), ending)
        return f"{words} {quantity}".strip() if whose else words
    return name.replace("_", " ")
