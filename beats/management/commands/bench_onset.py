"""manage.py bench_onset: how soon a rise is shown, and how often wrongly, beside a fixed rule."""

import datetime as dt
from pathlib import Path
from random import Random

from django.core.management.base import BaseCommand, CommandError

from beats.shared.bench import Row, printed
from beats.water.feeds import stage_csv
from beats.water.onset_scores import Score, fixed_rule, latest, middle, onsets, score
from beats.water.onset_trials import CASES, QUARTER, Case, rising_shown, synthetic

MEDIAN_MIN, FALSE_A_MONTH = 15, 0.1
MOST_DAYS = 36_600


class Command(BaseCommand):
    help = "Score the onset detector on a stage record (CSV: time, stage_m), or on synthetic spates without one."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, nargs="?", help="CSV with the columns time and stage_m")
        parser.add_argument("--json", action="store_true", help="one object instead of a table")
        parser.add_argument("--seed", type=int, default=1, help="of the perturbations")
        parser.add_argument("--days", type=int, default=730, help="of the synthetic record")

    def handle(self, *, file: Path | None, json: bool, seed: int, days: int, **_options):
        if not 30 <= days <= MOST_DAYS:
            raise CommandError(f"Score 30 to {MOST_DAYS} days.")
        stages = _stages(file) if file else synthetic(Random(seed), days=days)  # noqa: S311 - reproducible, no secret
        if not onsets(stages):
            raise CommandError("The record has no rise of 0.3 m in an hour: nothing to score.")
        rows = [row for case in CASES for row in _scored(case, stages, seed)]
        if not json:
            self.stdout.write(f"seed {seed}; {len(stages)} readings 15 minutes apart")
        self.stdout.write(printed(rows, as_json=json))


def _stages(file: Path) -> list[float]:
    try:
        record = stage_csv.read(file.read_bytes())
    except OSError as error:
        raise CommandError(f"{file} cannot be read: {error.strerror}.") from None
    except stage_csv.BadStageFile as error:
        raise CommandError(str(error)) from None
    if record[-1][0] - record[0][0] > dt.timedelta(days=MOST_DAYS):
        raise CommandError(f"Score {MOST_DAYS} days at most.")
    return [stage_m for _, stage_m in stage_csv.interpolated(record, QUARTER)]


def _scored(case: Case, stages: list[float], seed: int) -> list[Row]:
    read = case.read(stages, Random(f"{seed} {case.name}"))  # noqa: S311 - as above
    shown, fixed = rising_shown(read), fixed_rule(read)
    rows: list[Row] = []
    for name, starts_hour in (("rise within the hour", False), ("rise that starts the hour", True)):
        events = onsets(stages, starts_hour=starts_hour)
        rows += _delays(
            case, f"{len(events)} onsets, {name}", score(shown, stages, events), score(fixed, stages, events)
        )
    events = onsets(stages)
    ours, beside = score(shown, stages, events), score(fixed, stages, events)
    limit = FALSE_A_MONTH if case.limit_minutes else beside.false
    rows.append(_row(f"{case.name}: false onsets a month", ours.false, "a month", beside.false, limit))
    # Of rises that had mostly happened when they were shown; given for comparison and no goal.
    named = f"{case.name}: false onsets a month, counted from the stage when shown"
    rows.append(Row(named, round(ours.false_strict, 3), "a month", round(beside.false_strict, 3)))
    return rows


def _delays(case: Case, named: str, ours: Score, beside: Score) -> list[Row]:
    rows = []
    for end, mine, other in (
        ("end", ours.from_end, beside.from_end),
        ("start", ours.from_start, beside.from_start),
    ):
        about = f"{case.name}: {{}} from the {end} of the first rise, {named}"
        goal = case.limit_minutes
        rows.append(
            _row(about.format("median delay"), middle(mine), "min", middle(other), MEDIAN_MIN if goal else None)
        )
        rows.append(_row(about.format("longest delay"), latest(mine), "min", latest(other), goal))
    missed = f"{case.name}: missed, {named}"
    return [*rows, _row(missed, ours.missed, "onsets", beside.missed, 0 if case.limit_minutes else None)]


def _row(case: str, value: float, unit: str, beside: float, limit: float | None) -> Row:
    goal = "" if limit is None else f"at most {limit:g} {unit}"
    return Row(case, round(value, 3), unit, round(beside, 3), goal, None if limit is None else value <= limit)
