"""Drills, incidents, duties, the board, the ping outside and the sweep by chance."""

import datetime as dt

import pytest
from django.test import Client

from beats.shared.refusals import NotYours
from safety import board
from safety.ladder import BadLadder
from safety.models import Alarm, Delivery, Drill, Pulse
from safety.queries import board_of, watch_health
from safety.services import ping as pinging
from safety.services.deliver import deliver
from safety.services.drills import answer_drill, start_drill, weekly_drills
from safety.services.duties import BadDuty, set_policy, stand_by
from safety.services.incidents import NotOfThisFishery, open_incident, timeline, without_numbers
from safety.services.opportunity import sweep_if_stale
from safety.services.pulse import beat_pulse
from safety.services.sweep import sweep
from sessions.services.outings import check_out
from tests.beats.feeds.server import playing
from tests.factories import NOON, BeatFactory, OutingFactory, client_of, guest_with_account, keeper

pytestmark = pytest.mark.django_db

HOUR, MINUTE, SECOND = dt.timedelta(hours=1), dt.timedelta(minutes=1), dt.timedelta(seconds=1)
DUE = NOON + 4 * HOUR


def test_a_drill_goes_the_whole_way_and_notes_every_step(beat, owner):
    drill, _ = start_drill(beat.fishery, by=owner, now=NOON)
    for seconds in (5, 10, 15):
        sweep(now=NOON + seconds * SECOND)
        deliver(clock=lambda seconds=seconds: NOON + (seconds + 2) * SECOND)
    answer_drill(drill, by=owner, now=NOON + MINUTE)
    drill.refresh_from_db()
    steps = [at - drill.asked_at for at in (drill.raised_at, drill.sent_at, drill.answered_at)]
    assert steps == [5 * SECOND, 7 * SECOND, MINUTE]
    assert Delivery.objects.filter(about="drill", subject__startswith="DRILL, nobody is missing").count() == 2
    assert Alarm.objects.count() == 0


def test_every_kept_water_is_drilled_once_a_week(beat, owner):
    keeper(BeatFactory().fishery)
    BeatFactory()
    days = [weekly_drills(now=NOON + day * 24 * HOUR) for day in (0, 1, 6, 7, 8)]
    assert days == [2, 0, 0, 2, 0]
    assert Drill.objects.count() == 4


def test_a_timeline_tells_the_story_by_time_and_without_numbers(beat, owner):
    outing = OutingFactory(beat=beat, guest__phone="+447700900111")
    sweep(now=DUE)
    deliver(clock=lambda: DUE + SECOND)
    check_out(outing, by=owner, now=DUE + HOUR)
    sweep(now=DUE + HOUR)
    told = timeline(outing)
    assert [moment["what"] for moment in told] == [
        "raise alarm", "overdue by email", "overdue by log", "check out", "clear alarm",
        "all_clear by email", "all_clear by log",
    ]  # fmt: skip
    assert not any("@" in str(moment) or "7700" in str(moment) for moment in told)


def test_an_incident_keeps_its_timeline_when_the_outing_s_facts_go(beat, owner):
    outing = OutingFactory(beat=beat)
    check_out(outing, by=owner, now=DUE)
    facts = {"kind": "near_miss", "title": "slipped\nat the tail", "what_happened": "Fell."}
    incident, made = open_incident(beat.fishery, **facts, outing=outing, by=owner, now=DUE)
    outing.delete()
    incident.refresh_from_db()
    assert (made, incident.outing, incident.title, len(incident.timeline)) == (
        True,
        None,
        "slipped at the tail",
        1,
    )
    with pytest.raises(NotOfThisFishery):
        open_incident(beat.fishery, **facts, outing=OutingFactory(), by=owner, now=DUE)


def test_an_incident_s_file_disarms_formulas(beat, owner):
    incident, _ = open_incident(
        beat.fishery, kind="near_miss", title="x", what_happened="", outing=None, by=owner, now=DUE
    )
    incident.timeline = [{"at": "2026", "what": "=1+1", "who": "", "facts": "@x"}]
    incident.save()
    body = client_of(owner).get(f"/api/v1/incidents/{incident.pk}/file/").content.decode()
    assert body == "at,what,who,facts\r\n2026,'=1+1,,'@x\r\n"


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("ring +44 7700 900111 now", "ring (number) now"),
        ("ring 01632 960222 now", "ring (number) now"),
        ("ring +447700900111 now", "ring (number) now"),
        ("to isla@example.org.", "to (address)"),
        ("due_back_at 2026-05-06 15:00:00+00:00", "due_back_at 2026-05-06 15:00:00+00:00"),
    ],
)
def test_numbers_and_addresses_are_taken_out_and_instants_stay(text, left):
    assert without_numbers(text) == left


def test_the_board_puts_first_who_needs_looking_for_first(beat, owner):
    def out(name, hours, **facts):
        due = NOON + hours * HOUR
        return OutingFactory(beat=beat, guest__name=name, due_back_at=due, alarm_at=due, **facts)

    for name, hours, alone in (
        ("Soon", 2, True),
        ("Later", 3, True),
        ("Company", 2, False),
        ("Overdue", 1, False),
    ):
        out(name, hours, alone=alone)
    now = NOON + HOUR + 5 * MINUTE
    sweep(now=now)
    rows = board_of(beat.fishery, now=now).rods
    assert [row["sentence"].partition(",")[0] for row in rows] == ["Overdue", "Soon", "Later", "Company"]
    assert rows[0]["sentence"] == (
        f"Overdue, in company, {beat.name}, DUE OFF THE WATER 13:00, 5 min ago; "
        "OVERDUE, stage 1, NOBODY HAS ANSWERED; last heard 65 min ago."
    )


def test_the_board_says_what_did_not_go_and_that_the_watch_is_stale(beat, owner):
    OutingFactory(beat=beat)
    sweep(now=DUE)
    Delivery.objects.filter(channel="email").update(state="given_up", last_fault="no such mailbox")
    board = board_of(beat.fishery, now=DUE + HOUR)
    (alarm,) = Alarm.objects.all()
    assert board.undelivered == [
        f"Alarm {alarm.pk}: the message to {owner.email} (Email) did not arrive: no such mailbox"
    ]
    assert board.watch[0].startswith("The watch has not swept since")


def test_a_sweep_by_chance_raises_and_leaves_the_dead_loop_in_sight(beat, owner):
    OutingFactory(beat=beat)
    assert [sweep_if_stale(now=DUE + s * SECOND) for s in (0, 1, 9, 10)] == [True, False, False, True]
    assert Alarm.objects.count() == 1
    assert watch_health(now=DUE + 10 * SECOND).faults[0].startswith("The watch has not swept yet.")
    beat_pulse("sweep", now=DUE + 20 * SECOND)
    assert not sweep_if_stale(now=DUE + 25 * SECOND)


def test_whoever_asks_after_the_watch_makes_a_stale_one_sweep():
    outing = OutingFactory()
    assert Client().get("/health/watch").status_code == 503
    assert Alarm.objects.get().outing == outing


def test_the_ping_goes_out_once_a_minute_while_all_is_well_and_not_else(settings):
    with playing("alive.example.org") as feed:
        settings.WATCH_PING_URL = feed.url("/ping", "alive.example.org")
        beat_pulse("sweep", now=NOON)
        said = [pinging.ping(now=NOON + s * SECOND, door=feed.door()) for s in (0, 30, 59, 60, 61)]
        stale = pinging.ping(now=NOON + 10 * MINUTE, door=feed.door())
        feed.status = 500
        Pulse.objects.filter(name="sweep").update(beaten_at=NOON + 20 * MINUTE)
        failed = pinging.ping(now=NOON + 20 * MINUTE, door=feed.door())
    assert (said, stale, failed) == ([True, False, False, True, False], False, False)
    assert [path for path, _ in feed.asked] == ["/ping"] * 3


@pytest.mark.parametrize(
    ("hours", "good"), [(0, False), (-1, False), (12, True), (24 * 14, True), (24 * 15, False)]
)
def test_a_duty_has_a_length_somebody_can_keep(beat, owner, hours, good):
    facts = {"user": owner.pk, "from_at": NOON, "until_at": NOON + hours * HOUR, "by": owner, "now": NOON}
    if good:
        assert stand_by(beat.fishery, **facts)[1]
        return
    with pytest.raises(BadDuty):
        stand_by(beat.fishery, **facts)


def test_a_guest_or_a_stranger_cannot_stand_by(beat, owner):
    for user in (guest_with_account(beat.fishery).user, keeper(BeatFactory().fishery)):
        with pytest.raises(BadDuty, match="Only the owner or a ghillie"):
            stand_by(beat.fishery, user=user.pk, from_at=NOON, until_at=DUE, by=owner, now=NOON)


def test_only_the_owner_sets_the_policy_and_a_bad_one_changes_nothing(beat, owner):
    facts = {"contact_minutes": 60, "warn_minutes": None, "version": 1, "now": NOON}
    with pytest.raises(NotYours):
        set_policy(beat, rules={}, by=keeper(beat.fishery, "ghillie"), **facts)
    for rules in (
        {"texts_an_hour": 0},
        {"recall_level_m": float("nan")},
        {"nonsense": 1},
        {"ladder": {"stages": []}},
    ):
        with pytest.raises(BadLadder):
            set_policy(beat, rules=rules, by=owner, **facts)
    assert set_policy(beat, rules={"texts_an_hour": 9}, by=owner, **facts).contact_minutes == 60


def test_the_grace_is_set_in_the_limits_of_a_fishery_file_and_left_out_it_stays(beat, owner):
    client, path = client_of(owner), f"/api/v1/beats/{beat.pk}/watch-policy/"
    told = client.post(path, {"policy": {}, "grace_minutes": 20, "lone_grace_minutes": 5}, format="json").json()
    assert (told["grace_minutes"], told["lone_grace_minutes"]) == (20, 5)
    assert client.post(path, {"policy": {}}, format="json").json() == told
    for wrong in ({"grace_minutes": 121}, {"lone_grace_minutes": 61}, {"grace_minutes": -1}):
        assert client.post(path, {"policy": {}} | wrong, format="json").status_code == 400
    assert client.get(path).json() == told


def test_what_the_policy_answers_with_can_be_sent_back(beat, owner):
    client, path = client_of(owner), f"/api/v1/beats/{beat.pk}/watch-policy/"
    beat.watch_policy = None
    beat.save()
    told = client.get(path).json()
    again = client.post(path, told, format="json")
    assert (again.status_code, again.json()) == (200, told)


def test_a_policy_set_since_it_was_read_is_not_overwritten(beat, owner):
    """Who names no version in If-Match, as programs of before did not, sets it as it stands."""
    client, path = client_of(owner), f"/api/v1/beats/{beat.pk}/watch-policy/"
    read = client.get(path)["ETag"]
    asked = {"policy": {"texts_an_hour": 9}}
    first, second = (client.post(path, asked, format="json", headers={"If-Match": read}) for _ in range(2))
    assert (first.status_code, first["ETag"], second.status_code) == (200, '"2"', 412)
    assert second.json()["type"].endswith("/stale")
    assert client.post(path, asked, format="json")["ETag"] == '"3"'
    assert client.post(path, asked, format="json", headers={"If-Match": "three"}).status_code == 400


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"stage": -1, "late": -30, "alone": False}, "Una: due 12:30"),
        ({"stage": -1, "late": 5, "alone": True}, "Una: LATE, due 11:55, ALONE"),
        ({"stage": 0, "late": 65, "alone": True}, "Una: OVERDUE 10:55, ALONE"),
        ({"stage": 0, "late": -30, "alone": False, "kind": "help"}, "Una: ASKS FOR HELP"),
    ],
)
def test_the_headline_of_a_rod_is_a_few_words(facts, said):
    now = dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)
    due = now - dt.timedelta(minutes=facts["late"])
    rod = board.Rod(
        outing=1, name="Una", phone="", where="Upper", alone=facts["alone"], unconfirmed=False, due_back_at=due,
        alarm_at=due, heard_at=due, kind=facts.get("kind", ""), stage=facts["stage"], answered_by="",
        answered_until=None, recalled=False, recall_answered=False,
    )  # fmt: skip
    assert board.headline(rod, now=now, zone=dt.UTC) == said
