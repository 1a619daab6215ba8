"""Relays and their contacts."""

from __future__ import annotations

from dataclasses import dataclass

from shop.bench.electrical.guard_bands import settled
from shop.bench.inputs import within


@dataclass(frozen=True, slots=True)
class ContactResistance:
    """A contact's resistance from a four-wire reading, and what it does to the damping factor."""

    milliohms: float
    limit_milliohms: float
    damping_factor: float | None
    verdict: str


def contact_resistance(
    millivolts: float,
    test_amps: float = 1.0,
    limit_milliohms: float = 50.0,
    load_ohms: float = 8.0,
    source_ohms: float | None = None,
    uncertainty_millivolts: float = 0.0,
) -> ContactResistance:
    """Return the resistance of closed contacts by voltage drop.

    millivolts 0..10,000 mV, test_amps 0.001..20 A, limit 1..1000 mohm, load 1..1000 ohm;
    source_ohms 0..10 ohm of the amplifier, for the damping factor with the contact in series;
    uncertainty_millivolts 0..10,000 mV of the reading counts against it.
    Formula: R = V / I; DF = RL / (Zout + R).
    Caution: CAUTION. Four wires: the leads of a two-wire meter are more than the contact.
    Source: power relay catalogues, 50 mohm, read (W9.1, W9.3); 100 mohm for small relays from memory.
    """
    volts = within("millivolts", millivolts, 0, 10_000, "mV")
    amps = within("test_amps", test_amps, 0.001, 20, "A")
    limit = within("limit_milliohms", limit_milliohms, 1, 1000, "mohm")
    load = within("load_ohms", load_ohms, 1, 1000, "ohm")
    milliohms = volts / amps
    factor = None
    if source_ohms is not None:
        inner = within("source_ohms", source_ohms, 0, 10, "ohm") + milliohms / 1000
        factor = load / inner if inner else None
    off = within("uncertainty_millivolts", uncertainty_millivolts, 0, 10_000, "mV") / amps
    verdict = settled(milliohms - off, milliohms + off, highest=limit)
    return ContactResistance(milliohms, limit, factor, verdict)


@dataclass(frozen=True, slots=True)
class RelayCoil:
    """Where a relay pulls in and lets go, in percent of its coil voltage."""

    pull_in_percent: float
    release_percent: float
    verdict: str
    says: str


def relay_coil(
    coil_volts: float,
    pull_in_volts: float,
    release_volts: float,
    pull_in_limit_percent: float = 75.0,
    release_least_percent: float = 4.0,
) -> RelayCoil:
    """Return whether a relay pulls in early enough and lets go at all.

    coil_volts 1..250 V; pull-in and release 0..300 V; limits 1..100 %.
    Formula: percent of the nominal coil voltage.
    Caution: CAUTION. A relay that lets go late keeps a fault on the loudspeaker.
    Source: relay catalogues, 75 % and 4 to 5 %, read (W9.2); the two disagree on release.
    """
    coil = within("coil_volts", coil_volts, 1, 250, "V")
    pull = within("pull_in_volts", pull_in_volts, 0, 300, "V") / coil * 100
    let_go = within("release_volts", release_volts, 0, 300, "V") / coil * 100
    most = within("pull_in_limit_percent", pull_in_limit_percent, 1, 100, "%")
    least = within("release_least_percent", release_least_percent, 0, 100, "%")
    if let_go >= pull:
        raise ValueError(
            f"release_volts is {release_volts:g} V; it must be below pull_in_volts,"
            f" which is {pull_in_volts:g} V."
        )
    wrong = []
    if pull > most * (1 + 1e-9):
        wrong.append(f"it pulls in at {pull:.0f} %, later than {most:g} %")
    if let_go < least * (1 - 1e-9):
        wrong.append(f"it lets go at {let_go:.1f} %, lower than {least:g} %")
    says = f"Renew it: {'; '.join(wrong)}." if wrong else "It pulls in and lets go as it should."
    return RelayCoil(pull, let_go, "fail" if wrong else "pass", says)
