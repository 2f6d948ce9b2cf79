"""The ladder, as pure arithmetic."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety import ladder
from safety.ladder import DEFAULT, BadLadder, By, Ladder, Stage, Step, Who, channels, due_step, next_step
from safety.ladder_words import in_words

FIVE = dt.datetime(2026, 5, 6, 16, 0, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)

whos = st.lists(st.sampled_from(Who), min_size=1, max_size=5, unique=True).map(tuple)
ways = st.lists(st.sampled_from(By), min_size=1, max_size=3, unique=True).map(tuple)
repeats = st.none() | st.integers(2, 60).map(lambda count: count * MINUTE)
hours = st.none() | st.tuples(st.times(), st.times())


@st.composite
def ladders(draw):
    """Ladders that `checked` takes."""
    afters = [0, *sorted(draw(st.sets(st.integers(1, 240), max_size=7)))]
    stages = [Stage(after * MINUTE, draw(whos), draw(ways), draw(repeats)) for after in afters]
    first = stages[0]
    stages[0] = Stage(first.after, tuple(dict.fromkeys((*first.who, Who.KEEPER))), first.by, first.repeat)
    return ladder.checked(Ladder(tuple(stages), draw(hours)))


def climbed(rungs, until):
    """Every (stage, turn, at) said up to an instant when nobody answers and the watch is never late."""
    said = [Step(1, 0, FIVE)]
    while len(said) < 500:
        last = said[-1]
        step = next_step(rungs, alarm_at=FIVE, stage=last.stage, turn=last.turn, told_at=last.at)
        if step is None or step.at > until:
            return said
        due = due_step(rungs, alarm_at=FIVE, stage=last.stage, turn=last.turn, now=step.at, promise_broken=False)
        assert due == step
        said.append(step)
    return said


def test_the_usual_ladder_climbs_in_half_an_hour_and_then_does_not_fall_silent():
    said = climbed(DEFAULT, FIVE + 60 * MINUTE)
    assert [(step.stage, step.turn, (step.at - FIVE) // MINUTE) for step in said] == [
        (1, 0, 0), (2, 0, 10), (3, 0, 20), (4, 0, 30), (4, 1, 40), (4, 2, 50), (4, 3, 60),
    ]  # fmt: skip


@given(ladders())
def test_every_stage_is_said_once_for_the_first_time_and_at_its_own_minute(rungs):
    first = [step for step in climbed(rungs, FIVE + 241 * MINUTE) if step.turn == 0]
    assert [(step.stage, step.at - FIVE) for step in first] == [
        (number, stage.after) for number, stage in enumerate(rungs.stages, start=1)
    ]


@given(ladders(), st.integers(0, 239), st.booleans())
def test_a_ladder_with_a_repeat_at_its_end_never_ends(rungs, minute, late):
    last = rungs.stages[-1]
    step = next_step(rungs, alarm_at=FIVE, stage=rungs.last, turn=3, told_at=FIVE + minute * MINUTE)
    if last.repeat is None:
        assert step is None
    else:
        assert step == Step(rungs.last, 4, FIVE + minute * MINUTE + last.repeat)


@given(ladders(), st.data())
def test_a_broken_promise_brings_the_next_stage_or_the_last_one_again(rungs, data):
    stage = data.draw(st.integers(0, rungs.last))
    step = due_step(rungs, alarm_at=FIVE, stage=stage, turn=2, now=FIVE, promise_broken=True)
    assert step == (Step(stage + 1, 0, FIVE) if stage < rungs.last else Step(stage, 3, FIVE))


@given(ladders(), st.times(), st.data())
def test_it_is_never_quieter_for_a_lone_angler(rungs, local, data):
    stage = data.draw(st.integers(1, rungs.last))
    alone, company = (channels(rungs, stage, alone=alone, local=local) for alone in (True, False))
    assert alone == rungs.stages[stage - 1].by
    assert set(company) <= set(alone)
    assert company


def test_quiet_hours_across_midnight_spare_company_the_bell_and_nothing_else():
    rungs = Ladder(DEFAULT.stages, (dt.time(22), dt.time(6)))
    found = {hour: channels(rungs, 1, alone=False, local=dt.time(hour)) for hour in (21, 22, 3, 6)}
    all_ways, spared = (By.EMAIL, By.TEXT, By.VOICE), (By.EMAIL, By.TEXT)
    assert found == {21: all_ways, 22: spared, 3: spared, 6: all_ways}


@given(ladders())
def test_what_is_written_is_read_again(rungs):
    written = ladder.write(Ladder(rungs.stages, None))
    assert ladder.read(written) == Ladder(rungs.stages, None)


def stage(after=0, who=("keeper",), **more):
    return {"after_minutes": after, "who": list(who), **more}


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({}, "cannot be read"),
        ({"stages": []}, "has 1 to 8 stages"),
        ({"stages": [stage()] * 2}, "comes later"),
        ({"stages": [stage(5)]}, "comes with the alarm itself"),
        ({"stages": [stage(), stage(241)]}, "240 minutes"),
        ({"stages": [stage(who=["angler"])]}, "told at once"),
        ({"stages": [stage(who=[])]}, "tells nobody"),
        ({"stages": [stage(by=[])]}, "tells nobody"),
        ({"stages": [stage(who=["the cat"])]}, "cannot be read"),
        ({"stages": [stage(float("nan"))]}, "cannot be read"),
        ({"stages": [stage(-1)]}, "comes with the alarm itself"),
        ({"stages": [stage(True)]}, "cannot be read"),
        ({"stages": [stage(repeat_minutes=1)]}, "every 2 minutes at the most"),
        ({"stages": [stage()], "quiet": ["25:00", "06:00"]}, "cannot be read"),
    ],
)
def test_a_ladder_that_would_leave_somebody_untold_is_refused(data, says):
    with pytest.raises(BadLadder, match=says):
        ladder.read(data)


def test_the_ladder_is_told_in_plain_words():
    told = in_words(DEFAULT, alarm_at=FIVE + 30 * MINUTE, alone=True, reached_by=dict.fromkeys(Who, By))
    assert told == [
        (
            "If we have not heard from you by 16:30 we ring you and the keepers, then at 16:40 we ring you, the "
            "ghillie on duty and the owner, then at 16:50 we ring the keepers and your emergency contact, then at "
            "17:00 we ring the keepers, the owner and your emergency contact, and again every 10 min, until "
            "somebody answers for it by name."
        ),
        "The last of these messages holds what 999 asks for. Ringing 999 is for a person: we do not ring it.",
    ]


def test_without_a_gateway_nobody_is_promised_a_call():
    (first, *_) = in_words(DEFAULT, alarm_at=FIVE, alone=True, reached_by={key: [By.EMAIL] for key in Who})
    assert "ring" not in first
    assert first.startswith("If we have not heard from you by 16:00 we write to you and the keepers")


def test_each_person_is_promised_only_what_reaches_them():
    reached = {Who.ANGLER: [By.EMAIL], Who.KEEPER: By, Who.GHILLIE: By, Who.OWNER: [By.TEXT], Who.CONTACT: []}
    told = in_words(DEFAULT, alarm_at=FIVE, alone=True, reached_by=reached)
    assert told[0].startswith(
        "If we have not heard from you by 16:00 we ring the keepers and write to you, then at 16:10 we ring the "
        "ghillie on duty, text the owner and write to you, then at 16:20 we ring the keepers, then at 16:30"
    )
    assert told[1] == (
        "We have no way to reach your emergency contact: no address or number is known that can be used here."
    )


def test_a_ladder_that_reaches_nobody_promises_nothing():
    told = in_words(DEFAULT, alarm_at=FIVE, alone=True, reached_by={})
    assert told[0].startswith("If you do not come back, nobody can be told")
    assert not any("16:" in line for line in told)
