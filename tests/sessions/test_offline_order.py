"""Entries that a phone kept without signal: whatever the order of arrival, what was entered first happened first.

The plain model below plays the entries in the order in which they were entered. The service gets them in any other
order, and must end in the same state or in a more careful one: watched rather than not, and due no later.
"""

import datetime as dt
import itertools
import os
from dataclasses import dataclass, field

import pytest
from django.db import transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from beats.shared.refusals import Refusal
from safety.services.pulse import beat_pulse
from sessions.models import Outing, Plan
from sessions.services.by_phone import Said, back_by_phone, fine_by_phone, late_by_phone
from sessions.services.outings import check_in
from sessions.services.plans import begin, call_off, plans_to_begin
from sessions.telling import told_at_check_in
from tests.factories import BeatFactory, PlanFactory, guest_with_account, keeper

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 6, 10, 12, 0, tzinfo=dt.UTC)
MINUTE = dt.timedelta(minutes=1)
LONGEST, GRACE = 600, 15
EXAMPLES = int(os.environ.get("OFFLINE_EXAMPLES", "100"))
"""The same hundred each time; another number draws new ones, and Hypothesis prints how to repeat a failure."""


def at(minutes: int) -> dt.datetime:
    """Minutes are counted from the time of arrival; what was entered before has a negative number."""
    return NOW + minutes * MINUTE


@dataclass(frozen=True)
class Entry:
    kind: str  # in, out, fine, late, off
    at: int
    due: int = 0


@dataclass
class Model:
    """One angler. An open outing is [began, due, of the plan?, confirmed?]."""

    plan: tuple[int, int] | None = None
    plan_waits: bool = False
    open: list | None = None
    closed: list[tuple[int, int]] = field(default_factory=list)

    def play(self, entries: list[Entry], *, out_since: tuple[int, int] | None) -> "Model":
        self.plan_waits = self.plan is not None
        events = [(entry.at, 1, entry) for entry in entries]
        if out_since:
            events.append((out_since[0], 0, Entry("in", *out_since)))
        if self.plan:
            events.append((self.plan[0], 0, Entry("plan", self.plan[0])))
        for _, _, entry in sorted(events, key=lambda event: event[:2]):
            getattr(self, f"_{entry.kind}")(entry)
        return self

    def _plan(self, entry: Entry) -> None:
        if self.plan_waits and self.open is None:
            self.open, self.plan_waits = [entry.at, self.plan[1], True, False], False

    def _in(self, entry: Entry) -> None:
        due = min(max(entry.due, entry.at + 1), entry.at + LONGEST)
        if self.open is None:
            self.open = [entry.at, due, False, True]
            if self.plan_waits and self.plan[0] < due:
                early, covers = self.plan[0] <= entry.at + 60, self.plan[1] <= due
                self.plan_waits = not (early or covers)
        elif not self.open[3]:
            self.open[1], self.open[3] = due, True
        else:
            self.open[1] = min(self.open[1], due)

    def _out(self, entry: Entry) -> None:
        if self.open is not None:
            self.closed.append((self.open[0], entry.at))
            self.open = None
            if self.plan_waits and self.plan[0] <= entry.at < self.plan[1]:
                self.open, self.plan_waits = [entry.at, self.plan[1], True, False], False

    def _fine(self, _entry: Entry) -> None:
        pass

    def _late(self, entry: Entry) -> None:
        if self.open is not None and entry.due > self.open[0]:
            self.open[1] = entry.due

    def _off(self, entry: Entry) -> None:
        if self.plan is None:
            return
        self.plan_waits = False
        if self.open is not None and self.open[2]:
            self._out(entry)
        self.plan = (self.plan[0], entry.at) if self.plan[0] > entry.at else self.plan
        if self.plan[0] > entry.at:
            self.plan_waits = False


class Water:
    """The service, with one guest, at the moment at which the phone finds signal again."""

    def __init__(self, *, out_since: tuple[int, int] | None, plan: tuple[int, int] | None) -> None:
        self.beat = BeatFactory(longest_outing_minutes=LONGEST, grace_minutes=GRACE, lone_grace_minutes=GRACE)
        keeper(self.beat.fishery)
        self.guest = guest_with_account(self.beat.fishery)
        self.plan = None
        if out_since:
            beat_pulse("sweep", now=at(out_since[0]))
            self._check_in(out_since[1], now=at(out_since[0]))
        if plan:
            self.plan = PlanFactory(
                beat=self.beat, guest=self.guest, out_at=at(plan[0]), due_back_at=at(plan[1]),
                planned_at=at(-900),
            )  # fmt: skip
            self._sweep(at(plan[0]))
        beat_pulse("sweep", now=NOW)

    def _sweep(self, now: dt.datetime) -> None:
        for pk in plans_to_begin(now).values_list("pk", flat=True):
            begin(pk, now=now)

    def _check_in(self, due: int, *, now: dt.datetime = NOW, said_at: dt.datetime | None = None) -> Outing:
        return check_in(
            self.guest, beat=self.beat, pool=None, alone=True, due_back_at=at(due), said_at=said_at,
            by=self.guest.user, now=now,
        )[0]  # fmt: skip

    def arrives(self, number: int, entry: Entry) -> None:
        said = Said(f"entry {number}", None, -entry.at * 60.0)
        asked = {"by": self.guest.user, "now": NOW}
        try:
            if entry.kind == "in":
                self.told_the_truth(self._check_in(entry.due, said_at=at(entry.at)))
            elif entry.kind == "out":
                back_by_phone(self.guest, said, **asked)
            elif entry.kind == "fine":
                fine_by_phone(self.guest, said, **asked)
            elif entry.kind == "late":
                late_by_phone(self.guest, said, due_back_at=at(entry.due), number=1, **asked)
            elif self.plan:
                call_off(Plan.objects.get(pk=self.plan.pk), said_at=at(entry.at), **asked)
        except Refusal:
            assert entry.kind not in {"in", "out"}, "a check-in or check-out that was kept is never refused"

    def told_the_truth(self, outing: Outing) -> None:
        """What the answer says of being watched is what the database holds."""
        first = told_at_check_in(outing, now=NOW)[0]
        row = Outing.objects.get(pk=outing.pk)
        watched = row.checked_out_at is None
        assert first.startswith("This outing is over") != watched
        if watched and row.alarm_at > NOW:
            assert f"{row.due_back_at.astimezone(dt.timezone(dt.timedelta(hours=1))):%H:%M}" in first
        elif watched:
            assert "the keepers are told now" in first

    def state(self) -> tuple[int | None, list[tuple[int, int]]]:
        """By when the angler is due back, None where nobody watches; and each outing that is over."""
        self._sweep(NOW)
        rows = Outing.objects.filter(guest=self.guest)
        due = next((_minutes(row.due_back_at) for row in rows if row.checked_out_at is None), None)
        over = [(_minutes(row.checked_in_at), _minutes(row.checked_out_at)) for row in rows if row.checked_out_at]
        return due, sorted(span for span in over if span[0] < span[1])


def _minutes(instant: dt.datetime) -> int:
    return round((instant - NOW) / MINUTE)


def received(entries: list[Entry], order: list[int], **facts):
    """The state after the entries arrived in this order; nothing of it stays."""
    with transaction.atomic():
        water = Water(**facts)
        for number in order:
            water.arrives(number, entries[number])
        state = water.state()
        transaction.set_rollback(True)
    return state


def compare(entries: list[Entry], order: list[int], *, out_since=None, plan=None) -> None:
    model = Model(plan=plan).play(entries, out_since=out_since)
    due, over = received(entries, order, out_since=out_since, plan=plan)
    if model.open is not None:
        assert due is not None, "nobody watches somebody who is on the water"
        assert due <= model.open[1], "the alarm comes later than the angler was promised"
    if plan is None or any(entry.kind == "off" and entry.at < plan[0] for entry in entries):
        assert (due is None) == (model.open is None)
    if plan is None:
        assert over == sorted(model.closed)


KINDS = ("in", "out", "fine", "late", "off")
TIMES = st.lists(st.integers(-29, -1), min_size=1, max_size=5, unique=True)


@st.composite
def queues(draw, kinds=KINDS):
    """Up to five entries, ten minutes or more apart; a time back is later than its entry."""
    times = draw(TIMES)
    return [
        Entry(draw(st.sampled_from(kinds)), 10 * when, 10 * max(draw(st.integers(-20, 30)), when) + 5)
        for when in times
    ]


MORNING = st.sampled_from([None, (-300, -60), (-300, 120), (-155, 95)])
PLANS = st.sampled_from([None, (-245, 65), (-135, 125), (-35, 185)])


@settings(max_examples=EXAMPLES, derandomize=EXAMPLES == 100)
@given(data=st.data(), entries=queues(), out_since=MORNING)
def test_any_order_of_arrival_gives_the_state_of_the_order_of_entry(data, entries, out_since):
    order = data.draw(st.permutations(range(len(entries))))
    compare(entries, order, out_since=out_since)


@settings(max_examples=EXAMPLES, derandomize=EXAMPLES == 100)
@given(data=st.data(), entries=queues(), out_since=st.sampled_from([None, (-300, 120)]), plan=PLANS)
def test_with_a_plan_nobody_is_left_unwatched(data, entries, out_since, plan):
    order = data.draw(st.permutations(range(len(entries))))
    compare(entries, order, out_since=out_since, plan=plan)


SCENES = {
    "morning out, afternoon in": ([Entry("out", -90), Entry("in", -60, 180)], (-330, -90)),
    "out, in, earlier time back": ([Entry("out", -90), Entry("in", -60, 180), Entry("late", -30, 60)], (-330, 60)),
    "two outings and a third": (
        [Entry("out", -200), Entry("in", -180, 60), Entry("out", -120), Entry("in", -60, 180), Entry("fine", -30)],
        (-330, 60),
    ),
    "a short outing before a check-in made with signal": (
        [Entry("in", -170, 60), Entry("out", -160)],
        (-155, 95),
    ),
    "the same, and a check-out": (
        [Entry("in", -170, 60), Entry("out", -160), Entry("out", -30)],
        (-155, 95),
    ),
    "two short outings": (
        [Entry("in", -250, 60), Entry("out", -200), Entry("in", -150, 60), Entry("out", -100), Entry("late", -50)],
        None,
    ),
}


WITH_A_PLAN = {
    "an earlier time back entered after the plan began": (
        [Entry("late", -10, 5), Entry("out", -20)], (-300, 120), (-135, 125),
    ),
    "a morning before the plan, of which the server knew nothing": (
        [Entry("in", -200, -100), Entry("out", -50)], None, (-135, 125),
    ),
    "the same, with a second check-in": (
        [Entry("in", -20, 5), Entry("in", -200, 5), Entry("out", -10)], None, (-135, 125),
    ),
    "a plan called off after a check-in from before it": (
        [Entry("in", -140, 5), Entry("in", -20, 5), Entry("off", -10)], None, (-135, 125),
    ),
    "a plan called off twice, with a check-in between": (
        [Entry("off", -30), Entry("in", -20, 5), Entry("off", -10)], None, (-245, 65),
    ),
    "a check-in after the plan was called off": (
        [Entry("in", -50, 5), Entry("off", -20), Entry("in", -10, 5)], None, (-245, 65),
    ),
    "a morning before the plan, and check-ins after its start": (
        [Entry("out", -50), Entry("in", -40, -35), Entry("in", -20, 5), Entry("out", -10), Entry("in", -30, 5)],
        (-300, 120), (-35, 185),
    ),
    "a plan that a check-in replaced, called off, and a morning before it": (
        [Entry("out", -200), Entry("in", -190, -30), Entry("in", -60, 100), Entry("off", -50), Entry("out", -30)],
        (-300, 120), (-35, 185),
    ),
    "due back before the plan begins": (
        [Entry("in", -40, -35), Entry("out", -10), Entry("in", -20, 5)], None, (-35, 185),
    ),
}  # fmt: skip


@pytest.mark.parametrize("scene", WITH_A_PLAN)
def test_every_permutation_of_a_day_with_a_plan(scene):
    entries, out_since, plan = WITH_A_PLAN[scene]
    for order in itertools.permutations(range(len(entries))):
        compare(entries, list(order), out_since=out_since, plan=plan)


@pytest.mark.parametrize("scene", SCENES)
def test_every_permutation_of_a_day(scene):
    entries, out_since = SCENES[scene]
    for order in itertools.permutations(range(len(entries))):
        compare(entries, list(order), out_since=out_since)
