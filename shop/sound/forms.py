"""Forms: a recording to measure, an input to calibrate."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shop.bench.audio import signals
from shop.bench.audio.equalisation import CURVES
from shop.lib.calculator_words import calculated_lazy
from shop.lib.web.number_fields import TypedFloatField
from shop.sound.measures import WHAT
from shop.sound.models import LONGEST_NAME, LONGEST_SETTING, SoundInput

_ACCEPTED = ".wav,.flac,.aif,.aiff,audio/wav,audio/flac,audio/aiff"
# Low first: the top is reached by going there.
LEVELS = (-60, -50, -40, -30, -25, -20, -15, -12, -9, -6, -3, -1, 0)
START_LEVEL = -40


class PlayForm(forms.Form):
    """What the page plays while it records; without its script it is not shown."""

    signal = forms.ChoiceField(
        label=_("Play"),
        choices=[(key, calculated_lazy(kind.title)) for key, kind in signals.KINDS.items()],
        required=False,
    )
    level = forms.TypedChoiceField(
        label=_("Level"),
        choices=[
            (level, format_lazy(_("{level} dB of full scale"), level=level)) for level in LEVELS
        ],
        coerce=int,
        initial=START_LEVEL,
        required=False,
    )
    side = forms.ChoiceField(
        label=_("Out on"),
        choices=(
            ("both", _("both channels")),
            ("left", _("left alone")),
            ("right", _("right alone")),
        ),
        required=False,
    )
    ready = forms.BooleanField(
        label=_("Dummy load on, no loudspeaker; output not bridged; attenuator in"), required=False
    )
    # What the script played and recorded with; the server does not see it.
    played = forms.CharField(max_length=120, required=False, widget=forms.HiddenInput)

    @property
    def play_fields(self) -> list[forms.BoundField]:
        """The fields that the script shows."""
        return [self[name] for name in PLAY_FIELDS if name in self.fields]


PLAY_FIELDS = tuple(PlayForm.base_fields)
_FIRST = ("recording", "what", "channel", "sound_input", "full_scale_volts", "note", "keep")


class RecordingForm(PlayForm):
    """A recording and how it was made."""

    recording = forms.FileField(
        label=_("Recording"), widget=forms.FileInput(attrs={"accept": _ACCEPTED})
    )
    what = forms.ChoiceField(label=_("It holds"), choices=list(WHAT.items()))
    channel = forms.IntegerField(label=_("Channel"), initial=1, min_value=1, max_value=8)
    reference_channel = forms.IntegerField(
        label=_("Channel with what went in (0: none; for a response)"),
        initial=0,
        min_value=0,
        max_value=8,
    )
    bandwidth_hertz = TypedFloatField(
        label=_("Bandwidth (Hz)"), initial=20_000, min_value=100, max_value=500_000
    )
    sound_input = forms.ModelChoiceField(
        label=_("Recorded by"),
        queryset=SoundInput.objects.none(),
        required=False,
        empty_label=_("another recorder"),
    )
    full_scale_volts = TypedFloatField(
        label=_("Volts r.m.s. that full scale stands for"),
        required=False,
        min_value=1e-6,
        max_value=1e5,
    )
    tone_volts = TypedFloatField(
        label=_("Or: volts of this very tone, as a meter read them"),
        required=False,
        min_value=1e-6,
        max_value=1e5,
    )
    load_ohms = TypedFloatField(
        label=_("Load (Ω), for the power at clipping"),
        required=False,
        min_value=0.1,
        max_value=10_000,
    )
    mains_hertz = forms.ChoiceField(
        label=_("Mains"), choices=((50, _("50 Hz")), (60, _("60 Hz"))), initial=50
    )
    test_hertz = TypedFloatField(
        label=_("Test tone of tape or record (Hz)"),
        initial=3150,
        required=False,
        min_value=500,
        max_value=12_000,
    )
    curve = forms.ChoiceField(
        label=_("Curve to hold it against (for a response)"),
        choices=[("", _("none")), *((curve, curve) for curve in CURVES)],
        required=False,
    )
    note = forms.CharField(
        label=_("Made how (load, power, volume)"), required=False, max_length=500
    )
    keep = forms.BooleanField(
        label=_("Write the results into the job as readings"), required=False, initial=True
    )

    def __init__(self, *args: Any, inputs: list[SoundInput], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.inputs = inputs
        chosen: Any = self.fields["sound_input"]
        chosen.queryset = SoundInput.objects.filter(pk__in=[one.pk for one in inputs])
        if not inputs:
            for name in ("sound_input", *PLAY_FIELDS):
                del self.fields[name]

    def clean(self) -> dict[str, Any]:
        """Take the volts of full scale from the input; typed ones beside it contradict it."""
        cleaned = super().clean() or {}
        chosen: SoundInput | None = cleaned.get("sound_input")
        if chosen is None:
            return cleaned
        if cleaned.get("full_scale_volts"):
            self.add_error(
                "full_scale_volts",
                gettext(
                    "{chosen} is calibrated; leave this empty, or choose another recorder."
                ).format(chosen=chosen),
            )
        cleaned["full_scale_volts"] = chosen.full_scale_volts
        return cleaned

    @property
    def first_fields(self) -> list[forms.BoundField]:
        """The fields that every recording needs."""
        return [self[name] for name in _FIRST if name in self.fields]

    @property
    def more_fields(self) -> list[forms.BoundField]:
        """The fields that some measurements need."""
        return [field for field in self if field.name not in (*PLAY_FIELDS, *_FIRST)]

    @property
    def more_wrong(self) -> bool:
        """Whether one of these is wrong, and must be seen."""
        return any(field.errors for field in self.more_fields)


class InputForm(PlayForm):
    """An input and its calibration: by a recorded tone that a meter read, or by volts that are known."""

    name = forms.CharField(
        label=_("Name, such as bench computer, line in"), max_length=LONGEST_NAME
    )
    setting = forms.CharField(
        label=_("Setting: gain, attenuator"), max_length=LONGEST_SETTING, required=False
    )
    tone_volts = TypedFloatField(
        label=_("Volts r.m.s. of the tone, as a meter reads them at the clips"),
        required=False,
        min_value=1e-6,
        max_value=1000,
    )
    recording = forms.FileField(
        label=_("Recording of that tone"),
        required=False,
        widget=forms.FileInput(attrs={"accept": _ACCEPTED}),
    )
    channel = forms.IntegerField(label=_("Channel"), initial=1, min_value=1, max_value=8)
    full_scale_volts = TypedFloatField(
        label=_("Or: volts r.m.s. that full scale stands for"),
        required=False,
        min_value=1e-6,
        max_value=1e5,
    )

    @property
    def file_fields(self) -> list[forms.BoundField]:
        """The fields that it has without the script, too."""
        return [field for field in self if field.name not in PLAY_FIELDS]

    def clean(self) -> dict[str, Any]:
        """Ask for one of the two ways, and not for both."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        told = cleaned.get("full_scale_volts")
        by_tone = cleaned.get("recording") or cleaned.get("tone_volts")
        if told and by_tone:
            self.add_error(
                "full_scale_volts",
                gettext("Give these volts, or a tone and its recording; not both."),
            )
        if not told and not (cleaned.get("recording") and cleaned.get("tone_volts")):
            self.add_error(
                "tone_volts",
                gettext("Give the volts of a tone and its recording, or those of full scale."),
            )
        return cleaned
