"""A guest's day, put together for one screen: what is next, the water, whom to ring. Reads only."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field

from beats.conditions import Conditions, conditions
from beats.emergency import in_danger_on
from beats.models import Beat, User
from beats.queries import local_day, zone_of
from beats.water.told import PoolToday
from bookings.models import Guest, RodDay
from bookings.text_codes import standing_code
from safety.contact_gaps import gaps_of
from safety.models import RecallCall
from safety.off_water import Ended, ended_lately
from safety.queries import sweep_fault
from safety.services.channels_available import text_number
from safety.services.limits_told import limits_told
from safety.services.people import Crew, Person
from sessions.deadlines import alarm_at
from sessions.guards import GoingOut, limits_of
from sessions.models import Outing, Turn
from sessions.queries import open_outing, standing
from sessions.services.outings import policy_of
from sessions.turn_conditions import add_conditions
from sessions.turn_warnings import do_not_fish, forbidden
from sessions.waders import who_wades
from sessions.watch_limits import alarm_is_promised

HALF_HOUR = dt.timedelta(minutes=30)
TIMES_OFFERED = 12


@dataclass(frozen=True)
class GuestDay:
    """Everything on the screen of one guest at one fishery. Times are local to the river."""

    guest: Guest
    zone: dt.tzinfo
    today: dt.date
    outing: Outing | None
    standing: str
    calls: list[RecallCall]
    turns: list[Turn]
    beats: list[Beat]
    water: Conditions | None
    pool: PoolToday | None
    fault: str
    keepers: list[Person]
    danger: str
    more: list[dt.datetime] = field(default_factory=list)
    on_the_water: list[str] = field(default_factory=list)
    """Why the pool they checked in to must not be fished."""
    limits: list[str] = field(default_factory=list)
    alarm_promised: bool = True
    gaps: list[str] = field(default_factory=list)
    text_to: str = ""
    ended: Ended | None = None

    @property
    def next_turn(self) -> Turn | None:
        return self.turns[0] if self.turns else None

    @property
    def text_code(self) -> str:
        """What they send with ON."""
        return standing_code(self.guest.pk)

    @property
    def forbidden(self) -> list[Turn]:
        """The next turn if it must not be fished, and any later one today."""
        return forbidden(self.turns)

    @property
    def next_is_forbidden(self) -> bool:
        return bool(self.forbidden) and self.forbidden[0] is self.next_turn

    @property
    def beat(self) -> Beat | None:
        return self.outing.beat if self.outing else (self.beats[0] if self.beats else None)


def guests_of(user: User) -> list[Guest]:
    """The person as each fishery knows them; where they are on the water comes first."""
    rows = Guest.objects.filter(user=user, erased_at__isnull=True).select_related("fishery").order_by("id")
    out = set(Outing.objects.filter(guest__user=user, checked_out_at__isnull=True).values_list("guest", flat=True))
    return sorted(rows, key=lambda guest: guest.pk not in out)


def day_of(guest: Guest, *, now: dt.datetime) -> GuestDay:
    """Where they fish next, what the water is like for them, and who to ring."""
    zone, today = zone_of(guest.fishery), local_day(guest.fishery, now)
    outing = open_outing(guest)
    turns = _turns(guest, today, now.astimezone(zone).time())
    add_conditions(turns, now=now)
    beats = beats_of(guest, today)
    beat = outing.beat if outing else (beats[0] if beats else None)
    water = (
        conditions(beat, day=None, now=now, who=who_wades(guest, alone=outing is None or outing.alone))
        if beat
        else None
    )
    there = (turns[0].pool_id if turns else None) or (outing and outing.pool_id)
    pool = next((each for each in water.pools if each.id == there), None) if water else None
    calls = RecallCall.objects.filter(outing=outing, recall__ended_at__isnull=True).select_related("recall")
    limits = limits_of(GoingOut(guest, outing.beat, outing.alone, now)) if outing else []
    return GuestDay(
        guest, zone, today, outing, standing(outing, now) if outing else "",
        list(calls) if outing else [], turns, beats, water, pool, sweep_fault(now=now)[0],
        Crew(now).on_duty(guest.fishery), in_danger_at([outing.beat] if outing else beats),
        later_times(outing, now) if outing else [], do_not_fish(outing, now=now) if outing else [],
        limits=limits_told(guest, outing.beat, alone=outing.alone, now=now, outing=outing) if limits else [],
        alarm_promised=alarm_is_promised(limits), gaps=gaps_of(guest), text_to=text_number(guest),
        ended=None if outing else ended_lately(guest, now=now),
    )  # fmt: skip


def in_danger_at(beats: Iterable[Beat]) -> str:
    """What to ring on these beats."""
    return in_danger_on([(beat.name, beat.tidal) for beat in beats])


def danger_of(guest: Guest, *, now: dt.datetime) -> str:
    """What to ring where the guest is on the water, or on any beat they may go to today."""
    outing = open_outing(guest)
    return in_danger_at([outing.beat] if outing else beats_of(guest, local_day(guest.fishery, now)))


def beat_of(guest: Guest, *, now: dt.datetime) -> Beat | None:
    """Where they are on the water, or the first beat they may go to today."""
    outing = open_outing(guest)
    if outing is not None:
        return outing.beat
    return next(iter(beats_of(guest, local_day(guest.fishery, now))), None)


def promise(
    beat: Beat, *, due_back_at: dt.datetime, alone: bool, now: dt.datetime, guest: Guest | None = None
) -> list[str]:
    """The beat's ladder in plain words, for `guest`, or anybody of whom all is known, due back then."""
    at = alarm_at(policy_of(beat), due_back_at=due_back_at, alone=alone)
    return Crew(now).promise(beat, alarm_at=at, alone=alone, guest=guest)


def times_back(beat: Beat, water: Conditions | None, *, now: dt.datetime) -> list[dt.datetime]:
    """Half hours to choose from, an hour from now at least, within the longest outing."""
    zone = zone_of(beat.fishery)
    first = now + 2 * HALF_HOUR
    first = first - (first - first.replace(minute=0, second=0, microsecond=0)) % HALF_HOUR
    latest = now + dt.timedelta(minutes=beat.longest_outing_minutes)
    dark = water.light.off_water_by_at if water else None
    if dark is not None and dark > first + HALF_HOUR:
        latest = min(latest, dark)
    step = HALF_HOUR
    while (latest - first) / step > TIMES_OFFERED:
        step += HALF_HOUR
    times = [first + n * step for n in range(TIMES_OFFERED + 1)]
    return [at.astimezone(zone) for at in times if at <= latest]


def later_times(outing: Outing, now: dt.datetime) -> list[dt.datetime]:
    """Later times back within one tap."""
    start = max(outing.due_back_at, now)
    start += -(start - start.replace(minute=0, second=0, microsecond=0)) % dt.timedelta(minutes=5)
    latest = outing.checked_in_at + dt.timedelta(minutes=outing.beat.longest_outing_minutes)
    zone = zone_of(outing.beat.fishery)
    times = [start + n * HALF_HOUR for n in (1, 2, 3)]
    return [at.astimezone(zone) for at in times if at <= latest]


def _turns(guest: Guest, today: dt.date, clock: dt.time) -> list[Turn]:
    """Published turns of today that are not over."""
    mine = Turn.objects.filter(rota__status="published", day=today, part__ends__gt=clock)
    mine = mine.filter(guest=guest) | mine.filter(sharer=guest)
    return list(
        mine.select_related("part", "pool__beat", "rota", "guest", "sharer").order_by("part__starts").distinct()
    )


def beats_of(guest: Guest, today: dt.date) -> list[Beat]:
    """Where they have a rod today; else every beat of the fishery."""
    own = RodDay.objects.filter(day=today).filter(guest=guest) | RodDay.objects.filter(day=today, sharer=guest)
    beats = Beat.objects.select_related("fishery", "gauge")
    return list(beats.filter(pk__in=own.values("beat")).order_by("order")) or list(
        beats.filter(fishery=guest.fishery).order_by("order")
    )
