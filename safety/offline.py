"""Which pages a person's phone holds for when there is no signal. Reads only."""

import datetime as dt
import hashlib
from dataclasses import dataclass, field

from django.urls import reverse

from beats.models import Beat, Fishery, Membership, User
from beats.queries import local_day
from bookings.models import Guest
from bookings.queries import lets_visible_to
from safety.days import beats_of, guests_of
from safety.models import Alarm
from sessions.models import Outing

MOST_PERMITS, MOST_BEATS, MOST_OUTINGS = 4, 3, 30


@dataclass
class Held:
    """`pages` are (path, address to fetch it from); `help` and `home` stand in for a page that is not held.

    `papers` are alike, and need no fetching while their address is the same.

    `state` changes whenever what the pages say of the watch changes, so that they are fetched again at once.
    """

    pages: list[tuple[str, str]] = field(default_factory=list)
    papers: list[tuple[str, str]] = field(default_factory=list)
    help: str = ""
    home: str = ""
    facts: list[str] = field(default_factory=list)

    def add(self, *paths: str) -> None:
        self.pages += [(path, path) for path in paths]

    @property
    def state(self) -> str:
        told = "\n".join([*(f"{path} {source}" for path, source in (*self.pages, *self.papers)), *self.facts])
        return hashlib.sha256(told.encode()).hexdigest()[:16]


def held_by(user: User, *, now: dt.datetime) -> Held:
    """The guest's help first, then their day; a keeper's tally and cards first of all."""
    held = Held()
    parts = Membership.objects.filter(user=user, role__in=Membership.KEEPERS).select_related("fishery")
    for part in parts.order_by("fishery__name"):
        _keeper(held, part.fishery)
    guests = guests_of(user)
    for guest in guests:
        _guest(held, guest, now)
    if guests:
        held.add(reverse("day"), reverse("my-papers"), reverse("my-fish"))
        held.home = held.home or reverse("day")
    return held


def _guest(held: Held, guest: Guest, now: dt.datetime) -> None:
    page = reverse("day-help", args=[guest.pk])
    held.help = held.help or page
    held.add(page, reverse("day-fish", args=[guest.pk]))
    today = local_day(guest.fishery, now)
    for beat in beats_of(guest, today)[:MOST_BEATS]:
        path = reverse("check-in", args=[guest.fishery.slug, beat.slug])
        held.pages.append((path, f"{path}?form=1"))  # the form itself, though they may be on the water now
    lets = lets_visible_to(guest.user).filter(
        status="confirmed", rod_days__guest=guest, beat__fishery=guest.fishery, last_on__gte=today
    )
    for let in lets.distinct().order_by("first_on")[:MOST_PERMITS]:
        path = reverse("my-permit", args=[let.pk])
        held.papers.append((path, f"{path}?edition={let.edition}"))
    outing = Outing.objects.filter(guest=guest).order_by("-checked_in_at").first()
    if outing:
        held.facts.append(_state_of(outing))


def _keeper(held: Held, fishery: Fishery) -> None:
    tally = reverse("water", args=[fishery.slug])
    held.home = held.home or tally
    held.add(tally, reverse("water-check-in", args=[fishery.slug]))
    out = Outing.objects.filter(beat__fishery=fishery, checked_out_at__isnull=True).order_by("alarm_at", "id")
    for outing in out[:MOST_OUTINGS]:
        held.add(reverse("water-outing", args=[fishery.slug, outing.pk]))
        held.facts.append(_state_of(outing))
    alarms = Alarm.objects.filter(outing__beat__fishery=fishery, cleared_at__isnull=True).order_by("-id")
    held.add(*(reverse("water-alarm", args=[fishery.slug, alarm.pk]) for alarm in alarms[:MOST_OUTINGS]))
    held.facts += [f"{alarm.pk} {alarm.stage} {alarm.turn}" for alarm in alarms[:MOST_OUTINGS]]
    beats = Beat.objects.filter(fishery=fishery).order_by("order", "id")[:MOST_BEATS]
    held.add(*(reverse("water-poster", args=[fishery.slug, beat.slug]) for beat in beats))


def _state_of(outing: Outing) -> str:
    return f"{outing.pk} {outing.deadline_number} {outing.contact_number} {outing.checked_out_at}"
