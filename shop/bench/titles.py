"""What each calculation is called, what it gives, and which of its figures comes first.

The keys are the names of `registry.py`, which programs use and which stay. The words are those of
the trade. `tests/bench/test_titles.py` holds that each calculation has its words.
"""

from __future__ import annotations

from typing import NamedTuple

from shop.bench.electrical.part_specs import PART_CLASSES, PartClass


class Words(NamedTuple):
    """Title, what it gives in one sentence, the figures that come first, and words to find it by.

    A figure of `first` is a key of the result, or `key=what it is called here`.
    """

    title: str
    gives: str
    first: tuple[str, ...]
    also: str = ""

    @property
    def first_by_key(self) -> dict[str, str]:
        """The figures that come first, each with what it is called here, or nothing."""
        return {key: name for key, _, name in (one.partition("=") for one in self.first)}


def _of_a_substitute(part: PartClass) -> Words:
    title = f"{part.title} in place of another"
    return Words(title, "Whether one can stand in, value by value.", ("verdict",))


_SUBSTITUTES = {f"substitute-{part.name}": _of_a_substitute(part) for part in PART_CLASSES.values()}

WORDS: dict[str, Words] = {
    "discharge": Words(
        "Discharge a reservoir",
        "Resistor, how long to hold it on, and what is left.",
        ("seconds=Hold the resistor on for", "ohms=Resistor"),
        "capacitor bleed drain stored charge",
    ),
    "bleeder": Words(
        "Bleeder resistor",
        "The largest permanent resistor that empties a capacitor in time.",
        ("preferred_ohms=Bleeder", "continuous_watts"),
        "discharge reservoir",
    ),
    "stored-energy": Words(
        "Energy in a capacitor",
        "Energy and charge, and whether they can hurt.",
        ("energy_j",),
        "joules shock burn",
    ),
    "energy-class": Words(
        "Energy class of a voltage",
        "ES1, ES2 or ES3 of a steady source, by r.m.s. and peak.",
        ("energy_class",),
        "touch safe hazardous",
    ),
    "mains-peak": Words(
        "Bus voltage from the mains",
        "The voltage behind a rectifier, and behind a doubler.",
        ("bus_volts",),
        "rectifier doubler primary smps",
    ),
    "wrong-mains": Words(
        "Wrong mains voltage",
        "How much more voltage and power a linear load sees.",
        ("power_ratio", "voltage_ratio"),
        "selector 115 230",
    ),
    "lamp-limiter": Words(
        "Series lamp limiter",
        "The lamp for a first power-up, and what a healthy unit is left with.",
        ("lamp_watts=Lamp", "ceiling_amps"),
        "bulb dim first power",
    ),
    "supply-limiter": Words(
        "Bench supply current limit",
        "The limit for feeding a rail, and how long charging takes.",
        ("limit_milliamps",),
        "first power rail",
    ),
    "fuse-times": Words(
        "Fuse opening time",
        "The earliest and the latest opening at a current (IEC 60127-2).",
        ("latest_seconds", "earliest_seconds"),
        "blow melt",
    ),
    "fuse-plausible": Words(
        "Is this the right mains fuse?",
        "Whether a primary fuse fits the power on the rating plate.",
        ("verdict",),
        "primary rating",
    ),
    "emitter-bias": Words(
        "Idle current from emitter voltage",
        "The idle current through a known emitter resistor.",
        ("milliamps=Idle current",),
        "quiescent bias output stage",
    ),
    "bias-target": Words(
        "Idle current to set",
        "The reading to set, by the service data or 26 mV without it.",
        ("reading_millivolts", "milliamps=Idle current"),
        "quiescent bias adjust",
    ),
    "valve-idle": Words(
        "Valve idle current",
        "Plate current for a share of the rated dissipation.",
        ("milliamps=Plate current",),
        "tube bias",
    ),
    "plate-dissipation": Words(
        "Plate dissipation",
        "Dissipation from the cathode current, as a share of the rating.",
        ("share_percent=Of the rating", "plate_watts"),
        "tube valve bias",
    ),
    "class-a-idle": Words(
        "Class A idle power",
        "Load current, and the power burnt at idle.",
        ("idle_watts", "peak_amps"),
    ),
    "class-b-dissipation": Words(
        "Class AB dissipation",
        "Heat in one output pair driven by a sine, and the worst of it.",
        ("pair_watts", "worst_pair_watts"),
        "class B heat output stage",
    ),
    "junction-temperature": Words(
        "Junction temperature",
        "Junction, case and sink in the steady state.",
        ("junction_celsius",),
        "heat transistor sink",
    ),
    "required-sink": Words(
        "Heat sink needed",
        "The thermal resistance that keeps a device below its limit.",
        ("sink_kelvin_per_watt",),
        "cooling",
    ),
    "interface-swap": Words(
        "Change of insulator or compound",
        "How much hotter or cooler the case will run.",
        ("likely_kelvin",),
        "mica pad thermal paste",
    ),
    "warm-up": Words(
        "Heat sink warm-up",
        "The temperature after a time, and where it ends.",
        ("celsius=After that time", "final_celsius=In the end"),
    ),
    "heating-curve": Words(
        "Final temperature from readings",
        "Where the readings settle, how sure, and whether below the limit.",
        ("final_celsius",),
        "soak heat sink curve fit",
    ),
    "three-readings": Words(
        "Final temperature from three readings",
        "A quick answer without a margin, from equal steps.",
        ("final_celsius",),
        "soak heat",
    ),
    "soak-plan": Words(
        "Soak reading times",
        "When to read: start, 10 and 30 minutes, then each interval.",
        ("reading_minutes=Read after",),
    ),
    "preferred-value": Words(
        "Nearest preferred value",
        "The E series values about a wanted one, and their tolerance band.",
        ("nearest=Nearest value",),
        "E12 E24 E96 resistor",
    ),
    "electrolytic-life": Words(
        "Electrolytic life",
        "Hours and years left by the 10 K rule.",
        ("years_in_use", "left_years"),
        "capacitor age",
    ),
    "mixed-duty": Words(
        "Electrolytic life at several temperatures",
        "Hours by the 10 K rule for a day of mixed temperatures.",
        ("hours=Life",),
        "capacitor",
    ),
    "reforming": Words(
        "Re-form an electrolytic",
        "Steps, series resistor and leakage limit, out of circuit.",
        ("series_ohms", "steps"),
        "capacitor old stock",
    ),
    "electrolytic-condition": Words(
        "Renew this electrolytic?",
        "What capacitance, series resistance and the eye say.",
        ("verdict",),
        "capacitor esr",
    ),
    "impulse-level": Words(
        "Impulse test of an X or Y capacitor",
        "The test voltage of its class.",
        ("impulse_volts",),
        "suppression",
    ),
    "contact-resistance": Words(
        "Contact resistance",
        "Of relay or switch contacts, by the voltage drop across them.",
        ("milliohms=Contacts", "verdict"),
        "relay switch",
    ),
    "relay-coil": Words(
        "Relay pull-in and release",
        "Whether it pulls in early enough and lets go.",
        ("verdict", "pull_in_percent"),
        "coil",
    ),
    "earth-limit": Words(
        "Earth resistance limit",
        "The most a protective earth may have, for the mains lead.",
        ("limit_ohms=At most",),
        "protective conductor pe cord",
    ),
    "earth-bond": Words(
        "Earth bond test",
        "The drop at the test current, and whether it passes.",
        ("verdict", "drop_volts"),
        "protective conductor pe",
    ),
    "touch-current": Words(
        "Touch current",
        "From the voltage across 1500 ohm and 0.15 uF.",
        ("milliamps=Touch current",),
        "leakage enclosure",
    ),
    "weighted-touch-current": Words(
        "Weighted touch current",
        "From the output voltage U2 of the measuring network.",
        ("milliamps=Weighted touch current", "verdict"),
        "leakage IEC 60990",
    ),
    "y-capacitor-current": Words(
        "Leakage through Y capacitors",
        "The current that the Y capacitance lets through.",
        ("milliamps=Leakage current",),
        "touch leakage",
    ),
    "insulation-resistance": Words(
        "Insulation test",
        "Whether a reading passes for class and practice.",
        ("verdict", "limit_megohms"),
        "megger megohm",
    ),
    "static-guard": Words(
        "Wrist strap and bench mat",
        "Whether the static protection is good, and safe.",
        ("strap_verdict", "mat_verdict"),
        "esd antistatic",
    ),
    "fault-rate": Words(
        "How often the fault shows",
        "The rate with its exact 95 % range (Clopper-Pearson).",
        ("rate",),
        "intermittent trials",
    ),
    "clean-trials": Words(
        "Clean trials needed",
        "How many tries without the fault prove the repair.",
        ("needed",),
        "intermittent",
    ),
    "clean-run": Words(
        "What a clean run proves",
        "The reliability shown, and the chance that the fault only hid.",
        ("reliability", "missed"),
        "intermittent trials",
    ),
    "before-after": Words(
        "Did the repair change it?",
        "Trials before against trials after (Fisher's exact test).",
        ("verdict", "p_value"),
        "intermittent",
    ),
    "test-order": Words(
        "Best order of tests",
        "The order that finds a single fault soonest on average.",
        ("order=Test in this order", "expected_minutes"),
        "suspects causes",
    ),
    "output-power": Words(
        "Output power",
        "Power in a load from the voltage across it.",
        ("watts=Output power",),
        "watt dummy load rms",
    ),
    "volts-for": Words(
        "Voltage for a power",
        "The voltage across a load at a power.",
        ("rms_volts=Voltage, r.m.s.",),
        "output watt dummy load",
    ),
    "damping": Words(
        "Damping factor",
        "And source resistance, from the output with and without load.",
        ("damping_factor", "source_ohms"),
    ),
    "decibels": Words(
        "Ratio in decibels",
        "Of two voltages: gain, separation, residue.",
        ("decibels=Ratio",),
        "db level",
    ),
    "clipped-sine": Words(
        "Distortion of a clipped sine",
        "THD when both halves are clipped alike.",
        ("thd_f_percent", "thd_r_percent"),
        "thd clipping overdrive",
    ),
    "clip-level": Words(
        "Clipping from the distortion",
        "How far a sine is clipped that measures this THD.",
        ("clip_percent", "overdrive_decibels"),
        "thd clipping",
    ),
    "thd-of-shape": Words(
        "THD of a square or triangle wave",
        "The ideal wave at unlimited bandwidth.",
        ("thd_f_percent", "thd_r_percent"),
        "distortion",
    ),
    "thd-by-total": Words(
        "THD: from F to R",
        "As a notch analyser reads it, from THD by the fundamental.",
        ("thd_r_percent",),
        "distortion total",
    ),
    "sidebands": Words(
        "Sidebands and intermodulation",
        "Two sidebands as root of squares and as modulation index.",
        ("rss_percent", "modulation_index_percent"),
        "imd wow flutter",
    ),
    "full-scale": Words(
        "Full scale of a recording in volts",
        "From a recorded tone of known voltage.",
        ("full_scale_volts",),
        "calibrate wav sound card",
    ),
    "shelf-time": Words(
        "How long units stay",
        "From the units inside and the rate of finishing (Little's law).",
        ("stay_days",),
        "flow waiting",
    ),
    "lead-time": Words(
        "Delivery times to reckon with",
        "From the middle one and the slowest of ten.",
        ("p85_days", "median_days"),
        "supplier parcel",
    ),
    "finish-chance": Words(
        "Chance to finish in time",
        "So many units in so many weeks, by past weeks.",
        ("chance_percent",),
        "forecast",
    ),
    "cheapest-order": Words(
        "Cheapest split of an order",
        "Which supplier gets which line, postage included.",
        ("total", "saving"),
        "basket parts",
    ),
    **_SUBSTITUTES,
    "tone": Words(
        "Measure a recorded tone", "Level, THD, THD+N and S/N from a WAV file.", ("thd_n_percent",)
    ),
    "noise": Words(
        "Measure recorded noise", "Noise and hum of an idle output from a WAV file.", ("noise_decibels",)
    ),
    "separation": Words(
        "Channel separation", "From a WAV file with a tone on one channel.", ("separation_decibels",)
    ),
    "frequency-response": Words(
        "Frequency response", "From a recorded sweep, multitone or noise.", ("ripple_decibels",)
    ),
}  # fmt: skip
