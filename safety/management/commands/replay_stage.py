"""manage.py replay_stage: what would have been shown of a river's stage, reading by reading, and which recalls."""

import datetime as dt
import json
from collections.abc import Iterable, Iterator
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from beats.water.feeds import stage_csv
from beats.water.figures import BadFigure
from beats.water.trend import Habits
from safety.policy import LIMITS, WatchPolicy
from safety.replay import Shown, replay
from safety.replay_summary import summary
from safety.rising import Marks

NEVER = "never"
LARGEST_FILE = 200_000_000
USUAL = WatchPolicy()


class Command(BaseCommand):
    """Replays a stage record through the live service's own code, with no database and no settings.

    FILE.csv has the columns `time` (ISO 8601; UTC unless it carries an offset) and `stage_m`, in the order of
    time. With --json it prints {"readings": [{"time", "stage_m", "trusted", "unconfirmed", "rise_m_per_h",
    "rising", "recall"}, ...]}: for each reading what would have been shown when it arrived, from the readings up
    to then. `unconfirmed` is null or why the reading waits for the next ("rise_step": rising or misread);
    `rise_m_per_h` and `rising` are null where they are not known; `recall` lists the causes ("level", "rise") of
    the recalls in force after that reading, with somebody on the water throughout. Without --json it prints a
    summary for the owner of a river.
    """

    help = "Replay a stage record (CSV: time, stage_m): what would have been shown, and which recalls."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="CSV with the columns time and stage_m")
        parser.add_argument("--json", action="store_true", help="one object with every reading")
        parser.add_argument(
            "--cadence", type=float, metavar="MINUTES", help="interpolate to a reading every so often"
        )
        parser.add_argument("--rise-mark", default=f"{USUAL.recall_rise_m_per_h:g}", metavar="M_PER_H",
                            help="policy: metres an hour that recall, or never")  # fmt: skip
        parser.add_argument(
            "--level-mark", default=NEVER, metavar="M", help="policy: stage that recalls, or never"
        )
        parser.add_argument("--band", type=float, default=USUAL.recall_band_m, metavar="M",
                            help="policy: how far below its mark the stage must be to end a recall")  # fmt: skip
        parser.add_argument("--jump", type=float, default=Habits().jump_m, metavar="M",
                            help="gauge: a larger change in a quarter of an hour is a fault")  # fmt: skip
        parser.add_argument("--stale-after", type=float, default=60, metavar="MINUTES",
                            help="gauge: older readings are stale, a longer gap is a silence")  # fmt: skip

    def handle(self, *, file: Path, json: bool, cadence: float | None, **options):
        try:
            record = stage_csv.read(_bytes(file))
            habits = Habits(stale_after=_minutes(options["stale_after"]), jump_m=options["jump"])
        except (stage_csv.BadStageFile, BadFigure) as error:
            raise CommandError(str(error)) from None
        marks = Marks(
            _mark("level_mark", options["level_mark"], "recall_level_m"),
            _mark("rise_mark", options["rise_mark"], "recall_rise_m_per_h"),
            _mark("band", options["band"], "recall_band_m"),
        )
        readings = record if cadence is None else stage_csv.interpolated(record, _minutes(cadence))
        shown = replay(readings, marks=marks, habits=habits)
        if json:
            self._print(shown)
        else:
            self.stdout.write(summary(shown))

    def _print(self, shown: Iterable[Shown]) -> None:
        for text in _pieces(shown):
            self.stdout.write(text, ending="")
        self.stdout.write("")


def _pieces(shown: Iterable[Shown]) -> Iterator[str]:
    yield '{"readings": ['
    for place, one in enumerate(shown):
        yield (", " if place else "") + json.dumps(one.as_json())
    yield "]}"


def _bytes(file: Path) -> bytes:
    try:
        if file.stat().st_size > LARGEST_FILE:
            raise CommandError(f"{file} is larger than {LARGEST_FILE // 1_000_000} MB. Split it by years.")
        return file.read_bytes()
    except OSError as error:
        raise CommandError(f"{file} cannot be read: {error.strerror}.") from None


def _minutes(minutes: float) -> dt.timedelta:
    if not 1 <= minutes <= 1440:
        raise CommandError("A cadence or an age is from 1 to 1440 minutes.")
    return dt.timedelta(minutes=minutes)


def _mark(option: str, written: str | float, name: str) -> float | None:
    low, high = LIMITS[name]
    if written == NEVER and name != "recall_band_m":
        return None
    try:
        mark = float(written)
    except ValueError:
        mark = float("nan")
    if not low <= mark <= high:
        raise CommandError(f"--{option.replace('_', '-')} is a number from {low:g} to {high:g}.")
    return mark
