from __future__ import annotations

import pytest
from django.utils import timezone

from shop.sound.models import SoundInput


@pytest.fixture
def line_in(people):
    return SoundInput.objects.create(
        name="Line in",
        setting="20 dB pad",
        full_scale_volts=20,
        calibrated_at=timezone.now(),
        calibrated_by=people.technician,
    )
