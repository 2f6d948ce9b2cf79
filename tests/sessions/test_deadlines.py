"""Deadlines, as pure arithmetic."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.deadlines import BadDueBack, Deadline, Policy, deadline

NOON = dt.datetime(2026, 5, 6, 11, 0, tzinfo=dt.UTC)
POLICY = Policy(longest_minutes=600, grace_minutes=15, lone_grace_minutes=0)
TINY = dt.timedelta(microseconds=1)


def minutes(count):
    return dt.timedelta(minutes=count)


def ask(due_back_at, *, alone=True, now=NOON, policy=POLICY):
    return deadline(policy, due_back_at=due_back_at, checked_in_at=NOON, alone=alone, now=now)


def test_a_lone_angler_s_alarm_waits_for_the_lone_grace_and_others_for_theirs():
    due = NOON + minutes(240)
    assert ask(due, alone=True) == Deadline(due, due)
    assert ask(due, alone=False) == Deadline(due, due + minutes(15))


def test_the_longest_outing_may_be_used_up_to_its_last_moment():
    assert ask(NOON + minutes(600)).due_back_at == NOON + minutes(600)
    with pytest.raises(
        BadDueBack, match=r"lasts 10 hours at most, so be off the water by 21:00 on Wednesday 6 May"
    ):
        ask(NOON + minutes(600) + TINY)


def test_a_time_back_must_come_after_check_in():
    with pytest.raises(BadDueBack, match="not after check-in"):
        ask(NOON)
    assert ask(NOON + TINY).due_back_at == NOON + TINY


def test_a_time_back_must_still_be_to_come():
    with pytest.raises(BadDueBack, match="already past"):
        ask(NOON + minutes(60), now=NOON + minutes(60))
    assert ask(NOON + minutes(60), now=NOON + minutes(60) - TINY).due_back_at == NOON + minutes(60)


def test_the_refusal_stands_at_its_field():
    with pytest.raises(BadDueBack) as caught:
        ask(NOON)
    assert caught.value.errors == {"due_back_at": [caught.value.sentence]}


@given(
    policy=st.builds(Policy, st.integers(1, 1440), st.integers(0, 120), st.integers(0, 60)),
    alone=st.booleans(),
    due=st.integers(-60, 2000),
    since=st.integers(0, 2000),
)
def test_the_alarm_follows_due_back_by_exactly_the_grace(policy, alone, due, since):
    asked = {"policy": policy, "alone": alone, "now": NOON + minutes(since)}
    if since < due <= policy.longest_minutes:
        made = ask(NOON + minutes(due), **asked)
        grace = policy.lone_grace_minutes if alone else policy.grace_minutes
        assert made.alarm_at - made.due_back_at == minutes(grace)
    else:
        with pytest.raises(BadDueBack):
            ask(NOON + minutes(due), **asked)
