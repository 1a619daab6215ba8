"""Units as they come to the bench, with all facts known that are not the point of a test."""

from __future__ import annotations

from typing import Any

from tests.helpers_plain import amplifier


def class_ab(**changes: Any) -> dict[str, Any]:
    """A class AB amplifier on 230 V, rails of 45 V either side of earth."""
    known = {
        "unit__rail_volts": 45.0,
        "unit__reservoir_uf": 6800.0,
        "unit__rated_watts": 60.0,
        "unit__rated_load_ohms": 8.0,
        "unit__fuse_amps": 2.0,
        "unit__emitter_ohms": 0.22,
        "unit__insulated_devices": True,
        "unit__mains_selector": False,
        "unit__bridged_outputs": False,
        "unit__standby_supply": False,
        "unit__pfc_bus": False,
        "unit__captive_lead": False,
        "unit__fan_cooled": False,
        "unit__phantom_power": False,
    }
    return amplifier(**known | changes)


def valve_combo(**changes: Any) -> dict[str, Any]:
    """A valve combo with 450 V on its reservoirs."""
    known = {
        "unit__kind": "instrument-combo",
        "unit__output_stage": "valve-push-pull",
        "unit__rail_volts": 450.0,
        "unit__reservoir_uf": 90.0,
        "unit__bias_adjustable": True,
    }
    return class_ab(**known | changes)


def switch_mode(**changes: Any) -> dict[str, Any]:
    """An active loudspeaker with a switch-mode supply."""
    known = {"unit__kind": "active-loudspeaker", "unit__supply": "switch-mode"}
    return class_ab(**known | {"unit__output_stage": "class-d"} | changes)


def transformerless(**changes: Any) -> dict[str, Any]:
    """A receiver whose chassis may be live."""
    known = {"unit__kind": "receiver", "unit__supply": "transformerless"}
    return class_ab(**known | {"unit__protective_class": "II"} | changes)


def portable(**changes: Any) -> dict[str, Any]:
    """A headphone amplifier on a battery of 9 V."""
    known = {
        "unit__kind": "headphone-amplifier",
        "unit__supply": "battery",
        "unit__protective_class": "III",
        "unit__output_stage": "none",
        "unit__rail_volts": 9.0,
        "unit__reservoir_uf": 100.0,
        "unit__rated_watts": 1.0,
        "unit__bias_adjustable": False,
    }
    return class_ab(**known | changes)


def turntable(**changes: Any) -> dict[str, Any]:
    """A turntable whose belt is under the platter."""
    known = {
        "unit__kind": "turntable",
        "unit__output_stage": "none",
        "unit__rail_volts": 24.0,
        "unit__reservoir_uf": 470.0,
        "unit__rated_watts": 10.0,
        "unit__moving_parts": True,
        "unit__bias_adjustable": False,
    }
    return class_ab(**known | changes)
