"""Signs of units: where a figure stands before them, and nowhere else."""

import pytest

from shop.lib.signs import typeset, unit_sign, with_unit


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("10 ohm to chassis", "10\u00a0Ω to chassis"),
        ("4 Mohm, 2.2 kohm, 8mohm", "4\u00a0MΩ, 2.2\u00a0kΩ, 8\u00a0mΩ"),
        ("10000 uF", "10000\u00a0µF"),
        ("Heat sinks above 60 C burn skin.", "Heat sinks above 60\u00a0°C burn skin."),
        ("48 V +/- 4 V, +-68", "48 V ± 4 V, ±68"),
        ("3 x 10 mm", "3 × 10 mm"),
        ("two C cells; 2 C cells", "two C cells; 2 C cells"),
        ("ohms are read", "ohms are read"),
        ("6 uFo", "6 uFo"),
    ],
)
def test_signs_stand_after_figures_alone(written, shown):
    assert typeset(written) == shown


def test_a_unit_by_itself():
    assert [unit_sign(unit) for unit in ("ohm", "C", "uF", "V", "")] == ["Ω", "°C", "µF", "V", ""]
    assert with_unit("4", "Mohm") == "4\u00a0MΩ"
    assert with_unit("4", "") == "4"
