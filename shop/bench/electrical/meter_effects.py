"""What a meter and its leads do to what they measure."""

from __future__ import annotations

from dataclasses import dataclass

from shop.bench.inputs import within

# Leads with more than this share of what is left make two wires a guess (common practice).
_FOUR_WIRES_ABOVE = 0.1


@dataclass(frozen=True, slots=True)
class MeterLoading:
    """The voltage without the meter, and by how much the meter pulls it down."""

    true_volts: float
    off_percent: float


def meter_loading(
    reading_volts: float, source_ohms: float, meter_megohms: float = 10.0
) -> MeterLoading:
    """Return the voltage of a high-resistance point without the meter across it.

    reading_volts +-10,000 V, source_ohms 0..1e9 ohm as the point is seen from outside,
    meter_megohms 0.001..10,000 Mohm (20,000 ohm per volt on a 50 V range: 1 Mohm).
    Formula: V0 = V (1 + Rs / Rm); off by -Rs / (Rs + Rm).
    Caution: WARNING. A grid or screen reads low and is not: hands off, and leads rated for the supply.
    Source: voltage divider.
    """
    reading = within("reading_volts", reading_volts, -10_000, 10_000, "V")
    source = within("source_ohms", source_ohms, 0, 1e9, "ohm")
    meter = within("meter_megohms", meter_megohms, 0.001, 10_000, "Mohm") * 1e6
    return MeterLoading(
        true_volts=reading * (1 + source / meter),
        off_percent=-100 * source / (source + meter),
    )


@dataclass(frozen=True, slots=True)
class LeadResistance:
    """A low resistance without its leads, how far it may be off, and whether two wires do."""

    corrected_ohms: float
    give_or_take_ohms: float
    lead_percent: float | None
    says: str


def lead_resistance(
    reading_ohms: float, lead_ohms: float, resolution_ohms: float = 0.1
) -> LeadResistance:
    """Return a low resistance without the leads, which were read with their tips together.

    reading_ohms 0..1e6 ohm, lead_ohms 0..100 ohm, not above the reading by more than a digit;
    resolution_ohms 0.000001..10 ohm, the last digit. `give_or_take_ohms` is that of the digits alone.
    Formula: R = reading - leads; half a digit of each reading, which may add up to one digit.
    Caution: CAUTION. Press the tips as you did together: a contact of 0.1 ohm looks like the part.
    Source: arithmetic; half a digit: JCGM 100:2008 F.2.2.1; four wires when leads are above a tenth: common practice.
    """
    reading = within("reading_ohms", reading_ohms, 0, 1e6, "ohm")
    digit = within("resolution_ohms", resolution_ohms, 1e-6, 10, "ohm")
    leads = within("lead_ohms", lead_ohms, 0, 100, "ohm")
    if leads > reading + digit * (1 + 1e-9):
        raise ValueError(
            f"lead_ohms is {leads:g} ohm; it must not be above reading_ohms, which is {reading:g} ohm."
        )
    left = max(0.0, reading - leads)
    two_wires = left > digit and leads <= _FOUR_WIRES_ABOVE * left
    return LeadResistance(
        corrected_ohms=left,
        give_or_take_ohms=digit,
        lead_percent=leads / left * 100 if left > digit * 1e-9 else None,
        says="two wires do" if two_wires else "use four wires, or a meter with a finer digit",
    )
