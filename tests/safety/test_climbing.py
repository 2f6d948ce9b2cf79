"""The ladder on real rows: it climbs until a named person answers, and comes back when they fall silent."""

import datetime as dt

import pytest
from django.core import mail

from beats.models import AuditEntry
from beats.shared.refusals import NotYours
from safety.models import Acknowledgement, Alarm, Delivery
from safety.services.answering import AlarmOver, BadPromise, answer_for, ask_for_help
from safety.services.deliver import deliver
from safety.services.sweep import Swept, sweep
from sessions.services.outings import check_out, extend, say_fine
from tests.factories import NOON, BeatFactory, DutyFactory, GuestFactory, OutingFactory, guest_with_account, keeper

pytestmark = pytest.mark.django_db

HOUR, MINUTE = dt.timedelta(hours=1), dt.timedelta(minutes=1)
DUE = NOON + 4 * HOUR


@pytest.fixture
def beat():
    return BeatFactory(watch_policy=None)


@pytest.fixture
def outing(beat):
    guest = GuestFactory(
        fishery=beat.fishery, email="una@example.org", emergency_contact_name="Rory Teal",
        emergency_contact_phone="+441632960222",
    )  # fmt: skip
    return OutingFactory(beat=beat, guest=guest, code="4821")


@pytest.fixture
def gateway(settings):
    """Set, so that texts and calls are written; nothing is sent in these tests."""
    settings.GATEWAY_URL, settings.GATEWAY_SECRETS = "https://gateway.example.org/", ["whsec_" + "A" * 32]


def stages():
    return list(Alarm.objects.order_by("id").values_list("kind", "stage", "turn"))


def sweep_minutes(*minutes):
    return [sweep(now=DUE + minute * MINUTE).raised for minute in minutes]


def told(stage, turn=0):
    rows = Delivery.objects.filter(alarm__stage=stage, turn=turn).exclude(channel="log")
    return sorted(rows.values_list("channel", "recipient", "rank"))


def test_without_an_answer_every_stage_is_raised_once_in_its_minute_and_the_last_is_said_again(outing, owner):
    assert sweep_minutes(0, 9, 10, 10, 19, 20, 29, 30, 39, 40, 41, 50) == [1, 0, 1, 0, 0, 1, 0, 1, 0, 0, 0, 0]
    assert stages() == [("overdue", 1, 0), ("overdue", 2, 0), ("overdue", 3, 0), ("overdue", 4, 2)]
    assert AuditEntry.objects.filter(verb="raise alarm").count() == 4


def test_after_a_long_outage_it_climbs_one_stage_a_sweep(outing, owner):
    assert sweep_minutes(300, 300, 300, 300, 300) == [1, 1, 1, 1, 0]


def test_each_stage_tells_its_own_people_by_what_reaches_them(beat, outing, owner, gateway):
    owner.phone = "+447700900500"
    owner.save()
    ghillie = keeper(beat.fishery, "ghillie")
    sweep_minutes(0, 10, 20)
    angler = [("email", "una@example.org", 0), ("text", "+447700900111", 0), ("voice", "+447700900111", 1)]
    the_owner = [("email", owner.email, 0), ("text", "+447700900500", 0), ("voice", "+447700900500", 1)]
    contact = [("text", "+441632960222", 0), ("voice", "+441632960222", 1)]
    keepers = [*the_owner, ("email", ghillie.email, 0)]
    assert told(1) == sorted(angler + keepers)
    assert told(2) == sorted(angler + keepers)  # nobody keeps a list of duties, so all are by
    assert told(3) == sorted(keepers + contact)


def test_the_ghillie_on_duty_is_told_and_the_one_at_home_is_not(beat, outing, owner):
    on, home = (keeper(beat.fishery, "ghillie") for _ in range(2))
    DutyFactory(fishery=beat.fishery, user=on)
    sweep_minutes(0, 10)
    emails = {recipient for _, recipient, _ in told(2)}
    assert emails == {"una@example.org", on.email, owner.email}
    assert home.email in {recipient for _, recipient, _ in told(1)}


def test_whom_nothing_reaches_is_named_on_the_alarm(beat, owner):
    OutingFactory(beat=beat, guest__emergency_contact_phone="")
    sweep_minutes(0, 10, 20)
    first, _, third = Alarm.objects.order_by("id").values_list("unreached", flat=True)
    assert first == "the angler has no address or number that we can use"
    assert third == "no emergency contact is known"


def test_an_emergency_contact_who_is_the_angler_is_not_rung_as_one(beat, owner, gateway):
    guest = GuestFactory(fishery=beat.fishery, phone="+447700900111", emergency_contact_phone="+447700900111")
    OutingFactory(beat=beat, guest=guest)
    sweep_minutes(0, 10, 20)
    assert Alarm.objects.get(stage=3).unreached == "the emergency contact has the angler's own number or address"
    assert "+447700900111" not in {recipient for _, recipient, _ in told(3)}


def test_a_named_answer_holds_the_ladder_until_its_promise_and_no_longer(outing, owner):
    sweep_minutes(0)
    ack = answer_for(Alarm.objects.get(), minutes=25, note="driving down", by=owner, now=DUE + MINUTE)
    assert (ack.name, ack.promised_until) == (owner.name, DUE + 26 * MINUTE)
    assert sweep_minutes(10, 20, 25) == [0, 0, 0]
    assert sweep_minutes(26, 27, 30, 40) == [1, 1, 1, 0]
    assert [stage for _, stage, _ in stages()] == [1, 2, 3, 4]


def bodies(stage, turn=0):
    return [row.body for row in Delivery.objects.filter(alarm__stage=stage, turn=turn, channel="log")]


def test_after_a_promise_has_run_out_the_alarm_says_who_answered_and_until_when(outing, owner):
    sweep(now=DUE)
    answer_for(Alarm.objects.get(), minutes=15, by=owner, now=DUE + 2 * MINUTE)
    sweep(now=DUE + 17 * MINUTE)
    (body,) = bodies(2)
    assert "nobody has answered" not in body
    news = f"This is stage 2 of 4: {owner} answered at 16:02 and was to know by 16:17. That time has run out"
    assert news in body
    (text,) = Delivery.objects.filter(alarm__stage=2, channel="email", recipient=owner.email).values_list(
        "body", flat=True
    )
    assert text == body


def test_a_stage_nobody_answered_says_so(outing, owner):
    sweep_minutes(0, 10)
    assert "nobody has answered for it yet" in bodies(2)[0]


def test_at_the_top_a_broken_promise_says_the_last_stage_again(beat, owner):
    beat.watch_policy = {"ladder": {"stages": [{"after_minutes": 0, "who": ["keeper"]}]}}
    beat.save()
    OutingFactory(beat=beat)
    sweep_minutes(0)
    answer_for(Alarm.objects.get(), minutes=10, by=owner, now=DUE)
    assert sweep_minutes(9, 10, 11, 60) == [0, 0, 0, 0]
    assert stages() == [("overdue", 1, 1)]
    assert told(1, turn=1) == [("email", owner.email, 0)]


def test_an_answer_to_a_lower_stage_holds_the_highest(outing, owner):
    sweep_minutes(0, 10)
    answer_for(Alarm.objects.get(stage=1), minutes=30, by=owner, now=DUE + 11 * MINUTE)
    assert sweep_minutes(20, 40) == [0, 0]
    assert Acknowledgement.objects.get().alarm.stage == 2


def test_a_receipt_stops_no_ladder(outing, owner):
    sweep_minutes(0)
    Delivery.objects.update(state="delivered")
    assert sweep_minutes(10) == [1]


@pytest.mark.parametrize("minutes", [0, 1, 61, -5])
def test_a_promise_too_short_or_too_long_is_refused(outing, owner, minutes):
    sweep_minutes(0)
    with pytest.raises(BadPromise):
        answer_for(Alarm.objects.get(), minutes=minutes, by=owner, now=DUE)
    assert Acknowledgement.objects.count() == 0


def test_a_guest_cannot_answer_and_nobody_can_once_it_is_over(beat, outing, owner):
    sweep_minutes(0)
    guest = guest_with_account(beat.fishery)
    with pytest.raises(NotYours):
        answer_for(Alarm.objects.get(), minutes=10, by=guest.user, now=DUE)
    check_out(outing, by=owner, now=DUE + MINUTE)
    sweep_minutes(1)
    with pytest.raises(AlarmOver):
        answer_for(Alarm.objects.get(), minutes=10, by=owner, now=DUE + 2 * MINUTE)


def test_the_last_stage_carries_the_card_and_the_first_does_not(outing, owner):
    sweep_minutes(0, 10, 20, 30)
    bodies = dict(Delivery.objects.filter(recipient=owner.email).values_list("alarm__stage", "body"))
    assert {stage: "EMERGENCY CARD" in body for stage, body in bodies.items()} == {
        1: False,
        2: False,
        3: False,
        4: True,
    }


def test_whoever_had_word_gets_one_all_clear_however_many_stages(outing, owner):
    sweep_minutes(0, 10, 20)
    check_out(outing, by=owner, now=DUE + 21 * MINUTE)
    assert sweep(now=DUE + 21 * MINUTE) == Swept(0, 3, 0)
    back = Delivery.objects.filter(about="all_clear", channel="email").values_list("recipient", flat=True)
    assert sorted(back) == sorted([owner.email, "una@example.org"])
    assert sweep_minutes(30, 60, 600) == [0, 0, 0]


def test_a_new_time_back_stops_the_old_ladder_and_is_watched_anew(outing, owner):
    sweep_minutes(0)
    extend(outing, due_back_at=DUE + HOUR, by=owner, now=DUE + 5 * MINUTE)
    assert sweep_minutes(10, 59, 60, 70) == [0, 0, 1, 1]
    assert list(Alarm.objects.order_by("id").values_list("deadline_number", "stage")) == [(1, 1), (2, 1), (2, 2)]


def test_a_missed_contact_asks_the_angler_first_and_the_others_ten_minutes_later(outing, owner):
    outing.contact_due_at, outing.contact_number = NOON + HOUR, 3
    outing.save()
    assert [sweep(now=NOON + HOUR + m * MINUTE).raised for m in (-1, 0, 1, 9, 10)] == [0, 1, 0, 0, 1]
    assert told(0) == [("email", "una@example.org", 0)]
    assert owner.email in {recipient for _, recipient, _ in told(1)}
    say_fine(outing, by=owner, now=NOON + HOUR + 11 * MINUTE)
    assert sweep(now=NOON + HOUR + 11 * MINUTE) == Swept(0, 2, 0)
    assert Delivery.objects.filter(about="all_clear", subject__startswith="Heard from").count() == 3


def test_saying_fine_does_not_quiet_a_missed_time_back(outing, owner):
    sweep_minutes(0)
    say_fine(outing, by=owner, now=DUE + MINUTE)
    assert sweep(now=DUE + MINUTE) == Swept(0, 0, 0)
    assert sweep_minutes(10) == [1]


def test_a_call_for_help_raises_the_ladder_at_once_and_once(outing, owner):
    first = ask_for_help(outing, by=owner, now=NOON)
    assert ask_for_help(outing, by=owner, now=NOON + MINUTE) == first
    assert stages() == [("help", 1, 0)]
    deliver(clock=lambda: NOON)
    assert "ASKS FOR HELP." in next(message.body for message in mail.outbox if message.to == [owner.email])
    assert sweep(now=NOON + 10 * MINUTE).raised == 1


def test_a_policy_that_cannot_be_read_does_not_silence_an_alarm(beat, outing, owner):
    type(beat).objects.filter(pk=beat.pk).update(watch_policy={"ladder": "broken"})
    assert sweep_minutes(0, 10) == [1, 1]


def test_nothing_that_is_said_says_safe(outing, owner, gateway):
    sweep_minutes(0, 10, 20, 30)
    check_out(outing, by=owner, now=DUE + HOUR)
    sweep_minutes(60)
    said = " ".join(f"{row.subject} {row.body}" for row in Delivery.objects.all())
    assert "safe" not in said.lower()
