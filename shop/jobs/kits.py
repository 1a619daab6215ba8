"""What a finding usually calls for, in words that a part can be ordered by: common practice."""

from __future__ import annotations

_SPECS = {
    "electrolytics-aged": "Electrolytic capacitors: same capacitance and lead spacing, voltage as fitted or higher, 105 C",
    "electrolytic-leaking": "Electrolytic capacitor: same capacitance and lead spacing, voltage as fitted or higher, 105 C",
    "compound-dry": "Thermal compound, and insulators for the package as fitted",
    "insulator-cracked": "Insulators: material and package as fitted",
    "relay-contacts-oxidised": "Output relay: coil voltage and pins as fitted, contact rating as fitted or higher",
    "relay-contacts-abraded": "Output relay: coil voltage and pins as fitted, contact rating as fitted or higher",
    "control-scratchy": "Control: resistance, taper, shaft and pins as fitted",
    "switch-oxidised": "Switch: contacts, rating and pins as fitted",
    "fuse-blown": "Fuse: size, current, voltage, speed letter and breaking class by the rating plate",
    "fuse-wrong": "Fuse: size, current, voltage, speed letter and breaking class by the rating plate",
    "resistor-burnt": "Resistor: value, power and flameproof or fusible kind as fitted",
    "output-device-shorted": "Output devices: type as fitted, matched where they work in parallel",
    "mains-lead-damaged": "Mains lead: class, cross-section and plug by the rating plate",
    "suppression-capacitor-aged": "Suppression capacitor: class X or Y as fitted or higher, same capacitance",
    "valve-weak": "Valves: type as fitted, matched where they work in a pair",
    "belt-perished": "Belt: inner length and section to be measured",
    "laser-weak": "Optical pick-up: type by the service sheet",
    "lithium-cell-leaking": "Lithium cell: type, tabs and polarity as fitted",
    "nickel-cell-leaking": "Nickel cell or pack: volts, capacity, tabs and polarity as fitted",
    "resistor-drifted": "Resistors: value, tolerance, power and kind as fitted",
    "transistor-faulty": "Transistor: type as fitted, pins compared, pairs matched",
    "socket-worn": "Socket: contacts, rating and mounting as fitted",
    "mechanism-worn": "Part of the mechanism: by the service sheet, or measured off the old one",
    "protection-bridged": "Thermal fuse, thermal switch or varistor: temperature, volts and current as marked",
}


def spec_for(finding: str) -> str:
    """Return what to ask for when this was found; the finding itself where nothing is usual."""
    return _SPECS.get(finding, f"For {finding.replace('-', ' ')}: to be specified")
