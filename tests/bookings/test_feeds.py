"""Calendar feeds, read back by two libraries that did not write them: vobject and recurring-ical-events.

RFC 5545: UID and SEQUENCE (3.8.4.7, 3.8.7.4), STATUS (3.8.1.11). The clocks of Europe/London change on
29 March and 25 October 2026 (Directive 2000/84/EC's last Sundays, kept in UK law; IANA time zone data).
"""

import datetime as dt
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
import vobject
from django.utils import timezone

from beats.models import Membership
from bookings.models import CalendarFeed, DiaryDay
from bookings.services.diary import keep_diary
from bookings.services.lets import cancel_let, let_rods, share_rod
from tests.factories import (
    NOON,
    DayPartFactory,
    GuestFactory,
    LetFactory,
    PoolFactory,
    RotaFactory,
    TurnFactory,
    client_of,
    guest_with_account,
    keeper,
)

pytestmark = pytest.mark.django_db
LONDON = ZoneInfo("Europe/London")
SPRING, AUTUMN = dt.date(2026, 3, 28), dt.date(2026, 10, 24)  # Saturdays before the clocks change
DAY = dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def parts(beat):
    DayPartFactory(fishery=beat.fishery, slug="morning", starts=dt.time(9), ends=dt.time(13))
    DayPartFactory(fishery=beat.fishery, slug="evening", starts=dt.time(17), ends=dt.time(21))


@pytest.fixture
def una(beat):
    return guest_with_account(beat.fishery, name="Una")


def opened(user, **of):
    response = client_of(user).post("/api/v1/feeds/", {"label": "phone"} | of, format="json")
    assert response.status_code == 201, response.json()
    return response.json()


def read(address, client):
    response = client.get(address)
    assert (response.status_code, response["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    return response.content.decode()


def events(text):
    """By vobject: who it is, how it stands, and its version."""
    found = vobject.readOne(text).contents.get("vevent", [])
    return {event.uid.value: (event.status.value, int(event.sequence.value)) for event in found}


def make_let(beat, guest, owner, first_on, last_on=None, **other):
    facts = {"rods": 1, "guests": [guest], "by": owner, "now": NOON - 90 * DAY} | other
    return let_rods(beat, booker=guest, first_on=first_on, last_on=last_on or first_on, **facts)[0]


@pytest.mark.parametrize("change", [(SPRING, 9, 8), (AUTUMN, 8, 9)], ids=["spring", "autumn"])
def test_the_hours_at_the_river_stay_the_same_over_a_clock_change(beat, una, owner, client, change):
    saturday, before, after = change
    for day in (saturday, saturday + 2 * DAY):  # nobody fishes on the Sunday itself
        make_let(beat, una, owner, day)
    calendar = icalendar.Calendar.from_ical(read(opened(una.user, guest=una.pk)["address"], client))
    shown = recurring_ical_events.of(calendar).between(saturday, saturday + 3 * DAY)
    starts = sorted(event["DTSTART"].dt for event in shown)
    assert [at.astimezone(dt.UTC).hour for at in starts] == [before, after]
    assert [at.astimezone(LONDON).time() for at in starts] == [dt.time(9), dt.time(9)]
    assert {event["DTEND"].dt.astimezone(LONDON).time() for event in shown} == {dt.time(21)}


def test_a_cancelled_let_becomes_cancelled_and_does_not_vanish(beat, una, owner, client):
    let = make_let(beat, una, owner, dt.date(2026, 5, 11), dt.date(2026, 5, 12))
    address = opened(una.user, guest=una.pk)["address"]
    before = events(read(address, client))
    cancel_let(let, by=owner, now=NOON)
    after = events(read(address, client))
    assert set(before.values()) == {("CONFIRMED", 0)}
    assert (set(after), set(after.values())) == (set(before), {("CANCELLED", 1)})


def test_days_fished_before_the_let_was_called_off_stay(beat, una, owner, client):
    let = make_let(beat, una, owner, dt.date(2026, 5, 5), dt.date(2026, 5, 6))
    cancel_let(let, by=owner, now=NOON)
    stands = sorted(
        status for status, _ in events(read(opened(una.user, guest=una.pk)["address"], client)).values()
    )
    assert stands == ["CANCELLED", "CONFIRMED"]


def test_a_guest_s_feed_holds_their_own_days_and_nobody_else_s(beat, una, owner, client):
    ben = guest_with_account(beat.fishery, name="Ben")
    make_let(beat, una, owner, dt.date(2026, 5, 11))
    make_let(beat, ben, owner, dt.date(2026, 5, 12))
    text = read(opened(ben.user, guest=ben.pk)["address"], client)
    assert len(events(text)) == 1
    assert "20260512" in text
    assert "Una" not in text


def test_who_shares_a_rod_has_its_days_too(beat, una, owner, client):
    let = make_let(beat, una, owner, dt.date(2026, 5, 11))
    ben = guest_with_account(beat.fishery, name="Ben")
    share_rod(let, rod=1, guest=ben, by=owner, now=NOON)
    assert len(events(read(opened(ben.user, guest=ben.pk)["address"], client))) == 1


def test_a_beat_and_a_ghillie_see_every_let_of_their_water_and_no_telephone(beat, una, owner, client):
    ghillie = keeper(beat.fishery, "ghillie")
    make_let(beat, una, owner, dt.date(2026, 5, 11))
    LetFactory()
    for of in ({"beat": beat.pk}, {"fishery": beat.fishery.slug}):
        text = read(opened(ghillie, **of)["address"], client)
        assert (len(events(text)), "Una" in text, una.phone in text) == (1, True, False)


def test_a_ghillie_who_has_left_reads_no_more(beat, una, owner, client):
    ghillie = keeper(beat.fishery, "ghillie")
    addresses = [opened(ghillie, **of)["address"] for of in ({"beat": beat.pk}, {"fishery": beat.fishery.slug})]
    Membership.objects.filter(user=ghillie).delete()
    assert [client.get(address).status_code for address in addresses] == [404, 404]


def test_a_guest_s_turns_come_from_the_rota_without_a_second_address(beat, una, client):
    rota = RotaFactory(beat=beat, first_on=dt.date(2026, 5, 4), status="published", published_at=NOON)
    part = beat.fishery.parts.get(slug="morning")
    TurnFactory(rota=rota, guest=una, part=part, rod=1, pool=PoolFactory(beat=beat, name="Long Alder"))
    TurnFactory(rota=rota, guest=GuestFactory(), part=part, rod=2, pool=PoolFactory(beat=beat, name="Neck"))
    text = read(opened(una.user, guest=una.pk)["address"], client)
    assert ("Long Alder" in text, "Neck" in text, len(events(text))) == (True, False, 1)


def test_a_turn_of_a_replaced_rota_is_told_as_cancelled(beat, una, client):
    part = beat.fishery.parts.get(slug="morning")
    old = RotaFactory(beat=beat, version=1, status="superseded", published_at=NOON)
    TurnFactory(rota=old, guest=una, part=part, rod=1, pool=PoolFactory(beat=beat))
    RotaFactory(beat=beat, version=2, status="published", published_at=NOON)
    assert list(events(read(opened(una.user, guest=una.pk)["address"], client)).values()) == [("CANCELLED", 2)]


class TestTheAddress:
    def test_the_secret_is_kept_nowhere_and_shown_once(self, beat, una):
        client = client_of(una.user)
        asked = {"path": "/api/v1/feeds/", "data": {"label": "phone", "guest": una.pk}, "format": "json"}
        first, again = (client.post(**asked, headers={"Idempotency-Key": "feed-key-1"}) for _ in range(2))
        secret = first.json()["address"].rpartition("/")[2].removesuffix(".ics")
        assert (len(secret), again.status_code, again.json()["address"]) == (43, 200, None)
        assert secret not in str(list(CalendarFeed.objects.values()))

    def test_a_closed_feed_and_a_wrong_secret_are_not_there(self, una, client):
        feed = opened(una.user, guest=una.pk)
        assert client.get(feed["address"][:-5] + "x.ics").status_code == 404
        client_of(una.user).delete(f"/api/v1/feeds/{feed['id']}/")
        assert client.get(feed["address"]).status_code == 404

    def test_it_is_private_and_its_use_is_noted(self, una, client):
        feed = opened(una.user, guest=una.pk)
        response = client.get(feed["address"])
        assert (response["Cache-Control"], response["Referrer-Policy"]) == ("no-store", "no-referrer")
        assert timezone.now() - CalendarFeed.objects.get(pk=feed["id"]).last_used_at < dt.timedelta(minutes=1)

    def test_it_opens_nothing_else_and_takes_nothing(self, una, client):
        feed = opened(una.user, guest=una.pk)
        secret = feed["address"].rpartition("/")[2].removesuffix(".ics")
        assert client.get("/api/v1/me/", headers={"Authorization": f"Bearer {secret}"}).status_code == 401
        assert client.post(feed["address"]).status_code in (403, 405)

    @pytest.mark.parametrize("of", [{}, {"beat": 1, "guest": 1}])
    def test_a_feed_is_of_one_thing(self, una, of):
        response = client_of(una.user).post("/api/v1/feeds/", {"label": "phone"} | of, format="json")
        assert response.status_code == 400


def test_a_day_that_comes_back_is_the_same_event(beat, una, owner):
    let = make_let(beat, una, owner, dt.date(2026, 5, 11))
    row = DiaryDay.objects.get(guest=una)
    for day in (12, 11):
        let.rod_days.update(day=dt.date(2026, 5, day))
        keep_diary(let, now=NOON)
    row.refresh_from_db()
    assert (row.gone_at, row.sequence, DiaryDay.objects.filter(guest=una).count()) == (None, 2, 2)
