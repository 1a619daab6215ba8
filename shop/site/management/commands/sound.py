"""`manage.py sound signal KIND FILE`, `sound devices`, `sound measure JOB KIND`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.http import Http404
from django.utils import timezone

from shop.bench import formatting
from shop.bench.audio import signals
from shop.jobs import queries
from shop.lib.refusals import UserFacingError
from shop.lib.web.forms import cleaned
from shop.sound import player, recordings
from shop.sound.forms import START_LEVEL, RecordingForm
from shop.sound.measures import HOLDS, WHAT
from shop.sound.models import SoundInput

FILE_LEVEL = -20.0


class Command(BaseCommand):
    """Writes test signals, and measures a unit by the sound card of this machine."""

    help = "Write test signals as WAV files; play and record by the sound card of this machine."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the subcommands."""
        ways = parser.add_subparsers(dest="way", required=True)
        write = ways.add_parser("signal", help="write a test signal as a WAV file")
        _signal(write, FILE_LEVEL, rates=(44_100, 48_000, 88_200, 96_000, 176_400, 192_000))
        write.add_argument("file", metavar="FILE.wav")
        ways.add_parser("devices", help="list the devices of this machine")
        measure = ways.add_parser("measure", help="play, record, measure; --keep writes it down")
        measure.add_argument("job", type=int, metavar="JOB")
        _signal(measure, float(START_LEVEL), rates=(44_100, 48_000, 88_200, 96_000, 192_000))
        _measuring(measure)

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence for what cannot be."""
        try:
            getattr(self, f"_{options['way']}")(**options)
        except (ValueError, OSError, Http404, UserFacingError) as error:
            raise CommandError(str(error), returncode=2) from None

    def _signal(
        self, *, kind: str, file: str, rate: int, level: float, side: str, **_: Any
    ) -> None:
        made = signals.signal(kind, rate=rate, level_decibels=level)
        Path(file).write_bytes(signals.as_wav(signals.on_sides(made, side), rate))
        self.stdout.write(
            f"{file}: {signals.KINDS[kind].title}, peaks at {level:g} dB of full scale."
        )

    def _devices(self, **_: Any) -> None:
        for line in player.devices():
            self.stdout.write(line)

    def _measure(self, **options: Any) -> None:
        job = queries.job(options["job"], timezone.now())
        _require_ready(options)
        by = _person(options["by"]) if options["keep"] else None
        form = RecordingForm(_typed(options), {"recording": _heard(options)}, inputs=_inputs())
        given = cleaned(form)
        file = given["recording"]
        figures = recordings.measured(file, given)
        self._show(figures)
        if by is not None:
            source = recordings.source_of(file, file.name, given)
            at = timezone.now()
            recordings.write(job.number, given, figures, source, by=by, at=at)
            self.stdout.write(f"Written into job {job.number}.")

    def _show(self, figures: recordings.Figures) -> None:
        plain = {name: one for name, one in figures.items() if not isinstance(one, list | tuple)}
        for line in formatting.lines(plain):
            self.stdout.write(f"{line.name:36} {line.amount}")
        for hint in figures.get("hints", ()):
            self.stdout.write(hint)


def _signal(parser: CommandParser, level: float, rates: tuple[int, ...]) -> None:
    parser.add_argument("kind", choices=tuple(signals.KINDS))
    parser.add_argument("--rate", type=int, default=48_000, choices=rates, help="Hz")
    parser.add_argument(
        "--level", type=float, default=level, help=f"dB of full scale (default: {level:g})"
    )
    parser.add_argument("--side", default="both", choices=signals.SIDES)


def _measuring(parser: CommandParser) -> None:
    parser.add_argument("--what", choices=tuple(WHAT), help="what it holds, if not the usual")
    parser.add_argument("--input", default="", help="the calibrated input, by its name")
    parser.add_argument("--channel", type=int, default=1)
    parser.add_argument("--reference-channel", type=int, default=0)
    parser.add_argument("--load-ohms", type=float)
    parser.add_argument("--note", default="")
    parser.add_argument("--in-device", type=int)
    parser.add_argument("--out-device", type=int)
    parser.add_argument(
        "--ready",
        action="store_true",
        help="dummy load on, no loudspeaker; output not bridged; attenuator in",
    )
    parser.add_argument("--keep", action="store_true", help="write the results into the job")
    parser.add_argument("--by", default="", help="who measured; needed with --keep")


def _require_ready(options: dict[str, Any]) -> None:
    if options["kind"] not in signals.SILENT and not options["ready"]:
        raise ValueError(
            "Nothing is played without --ready: a dummy load in place of the loudspeaker, an output"
            " that is not bridged, an attenuator ahead of the input, nothing of the primary side."
        )


def _person(name: str) -> User:
    user = User.objects.filter(username=name).first()
    if user is None:
        raise ValueError(f"by is {name!r}; --keep needs the name of who measured.")
    return user


def _inputs() -> list[SoundInput]:
    return list(SoundInput.objects.filter(retired_at=None))


def _heard(options: dict[str, Any]) -> SimpleUploadedFile:
    kind, rate, level, side = (options[name] for name in ("kind", "rate", "level", "side"))
    made = signals.on_sides(signals.signal(kind, rate=rate, level_decibels=level), side)
    devices = {name: options[name] for name in ("in_device", "out_device")}
    heard = player.play_and_record(made, rate, **devices)
    return SimpleUploadedFile(f"{kind}{level:+g}dB-{side}-{rate}.wav", heard)


def _typed(options: dict[str, Any]) -> dict[str, Any]:
    """Return the options as the form of the page has them."""
    chosen = next((one for one in _inputs() if one.name == options["input"]), None)
    if options["input"] and chosen is None:
        raise ValueError(f"input is {options['input']!r}; no input in use has that name.")
    told = {name: options[name] for name in ("channel", "reference_channel", "load_ohms", "note")}
    usual = {"bandwidth_hertz": 20_000, "mains_hertz": 50, "test_hertz": 3150}
    played = f"Played {options['kind']}, {options['level']:g} dB of full scale, {options['side']}."
    return {
        name: str(value)
        for name, value in {
            **usual, **told, "what": options["what"] or HOLDS[options["kind"]][0],
            "sound_input": chosen.pk if chosen else "", "played": played,
        }.items()
        if value is not None
    }  # fmt: skip
