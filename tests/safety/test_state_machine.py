"""Hypothesis plays angler, keeper, clock and mischance against the watch, and a plain model says what must be.

The model is a few dictionaries and knows no database: who is out, until when, which deadlines have been
missed, who answered until when, and how far each ladder must have climbed.
"""

import datetime as dt

import pytest
from django.core import mail
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from safety import channels
from safety.models import Alarm, Delivery, Pulse, Recall
from safety.services import deliver as delivering
from safety.services import due as due_now
from safety.services.answering import answer_for
from safety.services.calling import answer_recall, call_in, end_recall, missed_calls, uncalled
from safety.services.deliver import deliver, take
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from sessions.models import Outing, Plan
from sessions.services.by_phone import Said, back_by_phone
from sessions.services.outings import check_in, check_out, extend, say_fine
from sessions.services.plans import call_off, plan_outing, plans_to_begin
from tests.factories import NOON, BeatFactory, guest_with_account, keeper

MINUTE = dt.timedelta(minutes=1)
AFTER = (0, 3, 6)
REPEAT = 5
LADDER = {
    "stages": [
        {"after_minutes": AFTER[0], "who": ["keeper"]},
        {"after_minutes": AFTER[1], "who": ["keeper"]},
        {"after_minutes": AFTER[2], "who": ["owner"], "repeat_minutes": REPEAT},
    ]
}


class Watch(RuleBasedStateMachine):
    @initialize()
    def water(self):
        self.now = NOON
        self.beat = BeatFactory(watch_policy={"ladder": LADDER}, contact_minutes=0, warn_minutes=0)
        self.owner = keeper(self.beat.fishery)
        self.guests = [guest_with_account(self.beat.fishery) for _ in range(3)]
        self.plans, self.out = {}, {}  # guest: (out_at, due, plan); guest: [due, number, unconfirmed]
        self.ladders = {}  # (guest, visit, number): [alarm_at, stage, held until]
        self.visit = dict.fromkeys(range(3), 0)
        self.visits = {}  # (guest, visit): outing id
        self.cleared, self.recall, self.taken, self.words = set(), None, [], 0
        self.mood = "ok"
        sweep(now=self.now)

    # --- What people do ---

    @rule(who=st.integers(0, 2), minutes=st.integers(1, 20))
    def check_in(self, who, minutes):
        due = self.now + minutes * MINUTE
        if who in self.out and not self.out[who][2]:
            return
        beat_pulse("sweep", now=self.now)  # whether the watch runs is asked elsewhere
        outing, _ = check_in(
            self.guests[who], beat=self.beat, pool=None, alone=True, due_back_at=due, by=self.owner, now=self.now
        )
        if who in self.out:
            changed = self.out[who][0] != due
            self.out[who] = [due, self.out[who][1] + changed, False]
        else:
            self._begin(who, due, unconfirmed=False)
            out_at, until, _ = self.plans.get(who, (None, None, None))
            if out_at is not None and out_at < due and until > self.now:
                del self.plans[who]
        assert outing.pk == self._outing(who)

    @rule(who=st.integers(0, 2), wait=st.integers(1, 8), minutes=st.integers(1, 15))
    def plan(self, who, wait, minutes):
        if who in self.plans or who in self.out:
            return
        out_at = self.now + wait * MINUTE
        due = out_at + minutes * MINUTE
        made, _ = plan_outing(
            self.guests[who], beat=self.beat, pool=None, alone=True, out_at=out_at, due_back_at=due, by=self.owner,
            now=self.now,
        )  # fmt: skip
        self.plans[who] = (out_at, due, made)

    @precondition(lambda self: self.plans)
    @rule(data=st.data())
    def call_off(self, data):
        who = data.draw(st.sampled_from(sorted(self.plans)))
        call_off(self.plans.pop(who)[2], by=self.owner, now=self.now)

    @precondition(lambda self: self.out)
    @rule(data=st.data(), minutes=st.integers(1, 20))
    def extend(self, data, minutes):
        who = data.draw(st.sampled_from(sorted(self.out)))
        due = self.now + minutes * MINUTE
        extend(self._row(who), due_back_at=due, by=self.owner, now=self.now)
        if self.out[who][0] != due:
            self.out[who][:2] = [due, self.out[who][1] + 1]

    @precondition(lambda self: self.out)
    @rule(data=st.data())
    def say_fine(self, data):
        who = data.draw(st.sampled_from(sorted(self.out)))
        say_fine(self._row(who), by=self.owner, now=self.now)

    @precondition(lambda self: self.out)
    @rule(data=st.data(), twice=st.booleans())
    def check_out(self, data, twice):
        who = data.draw(st.sampled_from(sorted(self.out)))
        row = self._row(who)
        for _ in range(1 + twice):
            check_out(row, by=self.owner, now=self.now)
        del self.out[who]

    @rule(who=st.integers(0, 2), since=st.integers(1, 30))
    def be_back_before_the_check_in_arrives(self, who, since):
        if who in self.out:
            return
        guest, self.words = self.guests[who], self.words + 1
        nobody = back_by_phone(guest, Said(f"word {self.words}"), by=guest.user, now=self.now)
        late, _ = check_in(
            guest, beat=self.beat, pool=None, alone=True, due_back_at=self.now + 5 * MINUTE, by=guest.user,
            said_at=self.now - since * MINUTE, now=self.now,
        )  # fmt: skip
        assert (nobody, late.checked_out_at is None) == (None, False)
        self.visit[who] += 1

    @precondition(lambda self: any(key not in self.cleared for key in self.ladders))
    @rule(data=st.data(), minutes=st.integers(2, 9))
    def answer(self, data, minutes):
        key = data.draw(st.sampled_from(sorted(set(self.ladders) - self.cleared)))
        alarm = Alarm.objects.get(
            outing=self.visits[key[:2]], kind="overdue", deadline_number=key[2], stage=self.ladders[key][1]
        )
        answer_for(alarm, minutes=minutes, by=self.owner, now=self.now)
        self.ladders[key][2] = self.now + minutes * MINUTE

    @precondition(lambda self: self.recall is None)
    @rule()
    def call_in(self):
        self.recall, _ = call_in(self.beat, reason="rising", by=self.owner, now=self.now)
        assert self.recall.calls.count() == len(self.out)

    @precondition(lambda self: self.recall is not None)
    @rule(ends=st.booleans())
    def answer_recall(self, ends):
        for call in self.recall.calls.filter(outing__checked_out_at__isnull=True):
            answer_recall(self.recall, call.outing, by=self.owner, now=self.now)
        if ends:
            end_recall(self.recall, by=self.owner, now=self.now)
            self.recall = None

    # --- What the machines do ---

    @rule(minutes=st.integers(0, 12))
    def time_passes(self, minutes):
        self.now += minutes * MINUTE

    @rule(mood=st.sampled_from(["ok", "fails", "unknown"]))
    def the_mail_server(self, mood):
        self.mood = mood

    @rule()
    def a_sender_dies(self):
        """It took a message and was never heard of again."""
        for pk in delivering.due_deliveries(self.now).values_list("pk", flat=True)[:1]:
            take(pk, now=self.now)

    @rule()
    def send(self):
        deliver(clock=lambda: self.now)

    @rule(times=st.integers(1, 3))
    def sweep(self, times):
        """However often it is asked in the same instant, each ladder climbs as the model says."""
        for _ in range(times):
            sweep(now=self.now)
            self._plans_begin()
            self._climb()
            self._raise()
            self._clear()

    def _plans_begin(self):
        for who, (out_at, due, _) in sorted(self.plans.items()):
            if out_at <= self.now:
                del self.plans[who]
                if who not in self.out:
                    self._begin(who, due, unconfirmed=True)

    def _climb(self):
        for key, ladder in self.ladders.items():
            who, visit, number = key
            gone = who not in self.out or self.visit[who] != visit
            if key in self.cleared or gone or self.out[who][1] != number:
                continue
            alarm_at, stage, held = ladder[:3]
            if held is not None and held > self.now:
                continue
            if stage < 3 and (held is not None or alarm_at + AFTER[stage] * MINUTE <= self.now):
                ladder[1:3] = [stage + 1, None]
            elif held is not None:
                ladder[2] = None

    def _raise(self):
        for who, (due, number, _) in self.out.items():
            key = (who, self.visit[who], number)
            if due <= self.now and key not in self.ladders:
                self.ladders[key] = [due, 1, None]

    def _clear(self):
        for key in set(self.ladders) - self.cleared:
            who, visit, number = key
            if (
                who not in self.out
                or self.visit[who] != visit
                or (self.out[who][1] > number and self.out[who][0] > self.now)
            ):
                self.cleared.add(key)

    # --- What must be ---

    @invariant()
    def the_alarms_are_the_model_s(self):
        if not hasattr(self, "ladders"):
            return
        rows = Alarm.objects.filter(kind="overdue").order_by("id")
        found = {}
        for outing, number, stage, cleared in rows.values_list("outing", "deadline_number", "stage", "cleared_at"):
            found.setdefault((outing, number), []).append((stage, cleared is not None))
        wanted = {
            (self.visits[key[:2]], key[2]): [(stage, key in self.cleared) for stage in range(1, ladder[1] + 1)]
            for key, ladder in self.ladders.items()
        }
        assert found == wanted

    @invariant()
    def what_the_one_question_denies_no_other_finds(self):
        if not hasattr(self, "now") or due_now.may_be_due(self.now):
            return
        asked = (
            due_now.due_outings, due_now.missed_contacts, due_now.to_remind, due_now.due_alarms,
            due_now.over_alarms, due_now.waiting_drills, plans_to_begin, uncalled, missed_calls,
        )  # fmt: skip
        assert [rows.__name__ for rows in asked if rows(self.now).exists()] == []

    @invariant()
    def every_alarm_has_its_messages(self):
        empty = Alarm.objects.exclude(deliveries__about="overdue")
        assert not empty.exists()

    @invariant()
    def who_is_out_is_out(self):
        if not hasattr(self, "out"):
            return
        rows = Outing.objects.filter(checked_out_at__isnull=True)
        found = {row.guest_id: [row.due_back_at, row.deadline_number, row.unconfirmed] for row in rows}
        assert found == {self.guests[who].pk: facts for who, facts in self.out.items()}

    def teardown(self):
        """In the end the mail server works, and every message of every alarm has left at least once."""
        if not hasattr(self, "out"):
            return
        self.mood = "ok"
        for _ in range(4):
            self.now += 11 * MINUTE
            deliver(clock=lambda: self.now)
        assert set(Delivery.objects.values_list("state", flat=True)) <= {"sent"}
        left = {message.message()["Message-ID"] for message in mail.outbox}
        assert left >= {
            f"<{pk}@rodtally>" for pk in Delivery.objects.filter(channel="email").values_list("pk", flat=True)
        }

    def _begin(self, who, due, *, unconfirmed):
        self.visit[who] += 1
        self.out[who] = [due, 1, unconfirmed]
        self.visits[who, self.visit[who]] = Outing.objects.filter(guest=self.guests[who]).latest("id").pk

    def _outing(self, who):
        return self.visits[who, self.visit[who]]

    def _row(self, who):
        return Outing.objects.get(pk=self._outing(who))


@pytest.mark.django_db(transaction=True)
def test_the_watch_does_what_a_plain_model_of_it_says(monkeypatch, transactional_db):
    machine = None

    def by_mood(delivery):
        """The mail server as it is today: it takes the message, refuses it, or takes it and hangs up."""
        if machine.mood == "fails":
            raise OSError("no")
        taken = channels.by_email(delivery)
        if machine.mood == "unknown":
            raise TimeoutError("taken, but who knows")
        return taken

    class Played(Watch):
        def __init__(self):
            nonlocal machine
            super().__init__()
            machine = self
            for model in (Plan, Recall, Alarm, Outing, Delivery, Pulse):
                model.objects.all().delete()
            mail.outbox.clear()

    monkeypatch.setitem(channels.CHANNELS, "email", by_mood)
    quiet = settings(
        max_examples=20, stateful_step_count=30, deadline=None, suppress_health_check=list(HealthCheck),
        phases=[Phase.explicit, Phase.generate], derandomize=True,
    )  # fmt: skip
    run_state_machine_as_test(Played, settings=quiet)
