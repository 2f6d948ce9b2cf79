"""Each page and paper names the emergency service of the beat it is about, at a fishery with both kinds.

On tidal water it is the Coastguard: Natural Resources Wales, "Report emergencies in the Dee estuary", and
nidirect, "Keeping safe on waterways and the coast". Inland the police lead a search for a missing angler in
Scotland (from memory).
"""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from bookings import permits
from bookings.papers.permit import sections
from safety.services.pulse import beat_pulse
from tests.factories import (
    AlarmFactory,
    BeatFactory,
    LetFactory,
    OutingFactory,
    RodDayFactory,
    client_of,
    guest_with_account,
    keeper,
)
from tests.pages import text

pytestmark = pytest.mark.django_db
HOUR = dt.timedelta(hours=1)
SERVICE = {True: "the Coastguard", False: "the police"}


class Water:
    """A tidal beat and one inland, and a guest whose rod is on the beat that is not opened."""

    def __init__(self, opened_tidal: bool):
        self.inland = BeatFactory(name="Upper", tidal=False, order=1)
        self.tidal = BeatFactory(fishery=self.inland.fishery, name="Estuary", tidal=True, order=2)
        self.opened, self.own = (self.tidal, self.inland) if opened_tidal else (self.inland, self.tidal)
        self.fishery = self.inland.fishery
        self.guest = guest_with_account(self.fishery)
        self.ghillie = keeper(self.fishery, "ghillie")
        beat_pulse("sweep", now=timezone.now())
        let = LetFactory(beat=self.own, booker=self.guest)
        RodDayFactory(beat=self.own, let=let, guest=self.guest, day=timezone.localdate())

    def go_out(self, **facts):
        now = timezone.now()
        due = now + HOUR
        return OutingFactory(
            guest=self.guest, beat=self.opened, checked_in_at=now - HOUR, due_back_at=due, alarm_at=due, **facts
        )

    def page(self, client, name, *args, by=None):
        client.force_login(by or self.guest.user)
        return text(client.get(reverse(name, args=args)))


@pytest.fixture(params=[True, False], ids=["tidal beat opened", "inland beat opened"])
def water(request):
    return Water(request.param)


def names_only(words, water):
    assert SERVICE[water.opened.tidal] in words
    assert SERVICE[water.own.tidal] not in words


def test_the_check_in_page(client, water):
    names_only(water.page(client, "check-in", water.fishery.slug, water.opened.slug), water)


def test_the_page_at_the_hut_of_somebody_not_signed_in(client, water):
    names_only(text(client.get(reverse("check-in", args=[water.fishery.slug, water.opened.slug]))), water)


def test_the_day_and_the_help_page_of_somebody_on_the_water(client, water):
    water.go_out()
    for name, args in (("day", ()), ("day-help", (water.guest.pk,))):
        page = water.page(client, name, *args)
        danger = page.split("In danger ring 999 or 112", 1)[1]
        assert f"ask for {SERVICE[water.opened.tidal]}" in danger[:60]
        assert f"ask for {SERVICE[water.own.tidal]}" not in page


def test_the_answer_to_a_check_in(water):
    body = {
        "guest": water.guest.pk, "beat": water.opened.pk, "alone": True,
        "due_back_at": (timezone.now() + HOUR).isoformat(),
    }  # fmt: skip
    told = client_of(water.guest.user).post("/api/v1/outings/", body, format="json").json()["told"]
    assert any(f"ask for {SERVICE[water.opened.tidal]}" in line for line in told)
    assert not any(f"ask for {SERVICE[water.own.tidal]}" in line for line in told)


def test_the_card_on_the_alarm_page_and_over_the_api(client, water):
    alarm = AlarmFactory(outing=water.go_out())
    names_only(water.page(client, "water-alarm", water.fishery.slug, alarm.pk, by=water.ghillie), water)
    names_only(client_of(water.ghillie).get(f"/api/v1/alarms/{alarm.pk}/card/").json()["text"], water)


def test_the_poster(client, water):
    names_only(water.page(client, "water-poster", water.fishery.slug, water.opened.slug, by=water.ghillie), water)


def test_the_permit(water):
    let = LetFactory(beat=water.opened, booker=water.guest)
    words = str([each.lines for each in sections(permits.permit(let, now=timezone.now()))])
    names_only(words, water)


def test_the_conditions_of_a_beat(water):
    told = client_of(water.guest.user).get(f"/api/v1/beats/{water.opened.pk}/conditions/").json()
    assert ("the Coastguard" in str(told)) == water.opened.tidal
    assert SERVICE[water.own.tidal] not in str(told)


def test_help_before_a_check_in_names_both_where_the_beats_differ(client):
    water = Water(opened_tidal=True)
    water.guest.rod_days.all().delete()
    for name, args in (("day", ()), ("day-help", (water.guest.pk,))):
        page = water.page(client, name, *args)
        assert "On Estuary ask for the Coastguard, elsewhere for the police." in page


def test_help_before_a_check_in_names_the_one_of_the_beat_with_a_rod_today(client):
    water = Water(opened_tidal=False)
    assert "ask for the Coastguard" in water.page(client, "day-help", water.guest.pk)
