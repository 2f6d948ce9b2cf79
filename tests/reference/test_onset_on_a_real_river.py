"""The onset detector on a measured record: the Ardèche at Meyras, a flashy gravel river.

Stage provided by UHPC Grand Delta and published with the R package RatingShiftHappens (INRAE; GPL 3 or later)
after theses.fr/2021GRALU006. The file is not in the repository: STAGE_DATA_DIR names its folder, else it is
looked for beside the repository in shared/data.
"""

import datetime as dt
import os
from pathlib import Path
from random import Random

import pytest

from beats.water.feeds import stage_csv
from beats.water.onset_scores import fixed_rule, latest, middle, onsets, score
from beats.water.onset_trials import CASES, QUARTER, rising_shown

ROOT = Path(__file__).parents[2]
FOLDER = Path(os.environ.get("STAGE_DATA_DIR", ROOT.parent / "shared" / "data"))
FILE = FOLDER / "stage-ardeche-2001-2012.csv"
SEED = 1
here = pytest.mark.skipif(not FILE.exists(), reason=f"no stage record at {FILE}; set STAGE_DATA_DIR")


def stages(first: int = 2001, last: int = 2012) -> list[float]:
    start, end = dt.datetime(first, 1, 1, tzinfo=dt.UTC), dt.datetime(last + 1, 1, 1, tzinfo=dt.UTC)
    record = stage_csv.read(FILE.read_bytes())
    return [stage_m for at, stage_m in stage_csv.interpolated(record, QUARTER) if start <= at < end]


def told(found):
    end, start = found.from_end, found.from_start
    return (
        f"median {middle(end):g} to {middle(start):g} min, longest {latest(end):g} to {latest(start):g} min, "
        f"false {found.false:.3f} a month ({found.false_strict:.3f} counted from the stage when shown)"
    )


def check(case, true, *, false_a_month):
    seed = f"{SEED} {case.name}"
    read = case.read(true, Random(seed))
    shown, fixed = rising_shown(read), fixed_rule(read)
    for starts_hour in (False, True):
        events = onsets(true, starts_hour=starts_hour)
        ours, beside = score(shown, true, events), score(fixed, true, events)
        for whose, found in (("ours", ours), ("fixed rule", beside)):
            print(f"seed {seed!r}, {len(events)} onsets, {whose}: {told(found)}")  # noqa: T201 - the figures
        assert events
        assert ours.missed == 0
        if case.limit_minutes is None:
            assert ours.false < beside.false
            assert ours.false_strict < beside.false_strict
            continue
        assert middle(ours.from_start) <= 15
        # Where many readings in a row are missing no rule can keep the limit.
        assert latest(ours.from_end) <= max(case.limit_minutes, latest(beside.from_end))
        assert ours.false <= false_a_month


@here
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_year_of_spates(case):
    # Three false onsets in the twelve months with most spates; the goal is for all years.
    check(case, stages(2008, 2008), false_a_month=0.3)


@here
@pytest.mark.long
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_all_years(case):
    check(case, stages(), false_a_month=0.1)
