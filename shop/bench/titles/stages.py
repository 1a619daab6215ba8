"""Output stages, valves, supplies."""

from __future__ import annotations

from shop.bench.titles.words import Words

WORDS: dict[str, Words] = {
    "safe-area": Words(
        "Safe operating area of an output stage",
        "Whether the devices stand a loudspeaker's phase, derated by their case.",
        ("verdict", "share_percent=Of what is allowed"),
        "soa second breakdown transistor load line reactive",
    ),
    "derating": Words(
        "Power that a device may burn",
        "Its rating at the temperature of its case.",
        ("allowed_watts=May burn",),
        "derating transistor heat case",
    ),
    "matching": Words(
        "Match transistors",
        "Which devices of a handful belong together, by one reading of each.",
        ("groups", "left_over"),
        "pairs hfe gain vbe",
    ),
    "current-sharing": Words(
        "Current sharing of two devices",
        "How unequal base voltages share a current through emitter resistors.",
        ("higher_amps=One carries", "lower_amps=The other"),
        "parallel transistor match vbe",
    ),
    "cathode-bias": Words(
        "Cathode bias",
        "Current and plate dissipation from the voltage across the cathode resistor.",
        ("share_percent=Of the rating", "plate_watts"),
        "tube valve self bias",
    ),
    "screen-dissipation": Words(
        "Screen dissipation",
        "From the drop across the screen resistor.",
        ("share_percent=Of the rating", "screen_watts"),
        "tube valve grid g2",
    ),
    "reflected-load": Words(
        "Reflected load of an output transformer",
        "What the valves see, from two voltages of the open transformer.",
        ("reflected_ohms=Primary sees",),
        "tube valve impedance ratio plate",
    ),
    "heater-dropper": Words(
        "Heater dropper",
        "The resistor in series with a heater chain.",
        ("preferred_ohms=Dropper", "watts=It burns"),
        "tube valve series filament",
    ),
    "transformer-load": Words(
        "Transformer under load",
        "What is left of the open voltage, from the windings' resistance.",
        ("loaded_volts=Under load", "regulation_percent"),
        "ratio regulation va winding",
    ),
    "winding-temperature": Words(
        "Temperature of a winding",
        "From its resistance cold and hot.",
        ("winding_celsius=Winding", "verdict"),
        "transformer copper heat insulation class",
    ),
    "rectifier-transformer": Words(
        "Transformer for a rectifier",
        "Secondary voltage, current and VA for a direct current.",
        ("secondary_volts=Secondary", "volt_amps=At least"),
        "va rating bridge centre tap",
    ),
    "ripple": Words(
        "Ripple on a reservoir",
        "Peak to peak, r.m.s., and the valley that a regulator sees.",
        ("ripple_volts", "lowest_volts=Valley"),
        "hum smoothing capacitor supply",
    ),
    "reservoir-size": Words(
        "Size of a reservoir",
        "The capacitance that keeps the ripple within a limit.",
        ("preferred_microfarads=Reservoir",),
        "smoothing capacitor supply hum",
    ),
    "zener-resistor": Words(
        "Series resistor of a zener",
        "For the lowest and the highest supply, and what both burn.",
        ("preferred_ohms=Resistor", "verdict"),
        "stabiliser reference",
    ),
    "adjustable-regulator": Words(
        "Adjustable regulator",
        "Output voltage from its two resistors, and the heat in it.",
        ("output_volts", "watts=It burns"),
        "three terminal linear supply",
    ),
}
