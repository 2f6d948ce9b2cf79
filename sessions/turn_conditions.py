"""Whether a turn may be fished, asked of the closures, the law and the conditions of the day. Reads only.

Today's turns are judged by `beats.water.restrictions`, which answers as `GET conditions/` does for that angler.
Of a later day only what is dated is known: a pool or beat closed, a pool retired, the law. Turns that are over
have none.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

from beats.conditions import restrictions_today
from beats.models import Beat, Fishery, Pool, PoolClosure, User
from beats.phones import spaced
from beats.queries import local_day, rulings, zone_of
from beats.season import Ruling
from beats.shared.phrases import say
from beats.water.facts import Who
from beats.water.restrictions import Kind, Restriction, Span, Today, closed_words, dated
from beats.water.wading_depths import WadingGrade, known_grade
from bookings.models import BeatClosure, Guest
from sessions import queries
from sessions.beat_calls import BeatCall, calls_in_force
from sessions.models import Outing, Rota, Turn

ONE_DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Ask:
    """A turn to judge: `guests` share the rod; with none it is a rod without a name."""

    key: Hashable
    day: dt.date
    starts: dt.time
    ends: dt.time
    pool: int
    guests: tuple[int, ...]


@dataclass(frozen=True)
class TurnConditions:
    """What is known of one turn at the moment. `wading` is the grade of the conditions; None on another day."""

    restrictions: tuple[Restriction, ...]
    what_to_do: str
    wading: str | None
    level_age_minutes: int | None

    @property
    def do_not_fish(self) -> bool:
        return bool(self.restrictions)

    @property
    def reasons(self) -> list[str]:
        """Each once, closures first."""
        return list(dict.fromkeys(one.sentence for one in sorted(self.restrictions, key=_rank)))


RANKS = {kind: rank for rank, kind in enumerate(Kind)}


def _rank(one: Restriction) -> int:
    return RANKS[one.kind]


def what_to_do(fishery: Fishery) -> str:
    """Whom to ask where to fish instead."""
    if fishery.phone:
        return say("Ask the ghillie where to fish instead: {phone}.", phone=spaced(fishery.phone))
    return say("Ask the ghillie where to fish instead.")


def conditions_of(asks: Iterable[Ask], *, now: dt.datetime) -> dict[Hashable, TurnConditions]:
    """What is known of each turn that is not over; turns of which nothing is known are left out.

    No query where all turns are over. Else six, three for each beat with turns today, and three for later days.
    """
    asks = [ask for ask in asks if ask.day >= now.date() - ONE_DAY]
    if not asks:
        return {}
    pools = {pool.pk: pool for pool in Pool.objects.filter(pk__in={ask.pool for ask in asks})}
    rows = Beat.objects.filter(pk__in={pool.beat_id for pool in pools.values()})
    beats = {beat.pk: beat for beat in rows.select_related("fishery", "gauge")}
    found = _Judge(now, pools, beats)
    return found.judged([ask for ask in asks if found.span(ask).end > now])


def rota_with_conditions(user: User, pk: int, *, now: dt.datetime) -> Rota:
    """`rota_as_seen_by`, with what is known of each of its turns."""
    rota = queries.rota_as_seen_by(user, pk)
    add_conditions(rota.seen_turns, now=now)
    return rota


def add_conditions(turns: Iterable[Turn], *, now: dt.datetime) -> None:
    """Set `conditions` on each turn, None where nothing is known of it. Their parts are at hand."""
    turns = list(turns)
    known = conditions_of((ask_of(turn) for turn in turns), now=now)
    for turn in turns:
        turn.conditions = known.get(turn.pk)


def ask_of(turn: Turn) -> Ask:
    guests = tuple(guest for guest in (turn.guest_id, turn.sharer_id) if guest)
    return Ask(turn.pk, turn.day, turn.part.starts, turn.part.ends, turn.pool_id, guests)


class _Judge:
    """The questions asked once for all turns: of each beat its day, then what is closed by date."""

    def __init__(self, now: dt.datetime, pools: dict[int, Pool], beats: dict[int, Beat]) -> None:
        self.now, self.pools, self.beats = now, pools, beats
        self.today = {pk: local_day(beat.fishery, now) for pk, beat in beats.items()}

    def span(self, ask: Ask) -> Span:
        """What is left of the turn."""
        beat = self._beat(ask)
        zone = zone_of(beat.fishery)
        start, end = (dt.datetime.combine(ask.day, at, zone).astimezone(dt.UTC) for at in (ask.starts, ask.ends))
        if end <= start:  # an hour that the clocks skip, or past midnight
            end = max(end, start + ONE_DAY / 24)
        return Span(max(start, self.now), end)

    def judged(self, asks: Sequence[Ask]) -> dict[Hashable, TurnConditions]:
        """Of turns that are not over."""
        if not asks:
            return {}
        now = [ask for ask in asks if self._is_today(ask)]
        later = [ask for ask in asks if not self._is_today(ask)]
        self.days = {
            pk: restrictions_today(self.beats[pk], now=self.now) for pk in {self._beat(ask).pk for ask in now}
        }
        self.grades, self.alone = self._people(now)
        self.calls = calls_in_force(self.days, self.now)
        self.closures = self._closures(later)
        self.laws = self._laws(later)
        shut = BeatClosure.objects.filter(beat__in=self.beats, to_on__gte=min(ask.day for ask in asks))
        self.shut = list(shut.order_by("id"))
        found = {ask.key: self._today(ask) for ask in now}
        found |= {ask.key: told for ask in later if (told := self._later(ask)).do_not_fish}
        return found

    def _beat(self, ask: Ask) -> Beat:
        return self.beats[self.pools[ask.pool].beat_id]

    def _is_today(self, ask: Ask) -> bool:
        return ask.day == self.today[self._beat(ask).pk]

    def _people(self, asks: Sequence[Ask]) -> tuple[dict[int, int | None], dict[int, bool]]:
        """The wading grades (None: not known) of those who fish today, and who on the water is alone."""
        ids = {guest for ask in asks for guest in ask.guests}
        if not ids:
            return {}, {}
        grades = dict(Guest.objects.filter(pk__in=ids).values_list("pk", "wading_grade"))
        out = Outing.objects.filter(guest__in=ids, checked_out_at__isnull=True)
        return grades, dict(out.values_list("guest_id", "alone"))

    def _who(self, ask: Ask) -> Who:
        """The easier of two who share a rod. Alone, unless they are on the water in company."""
        grades = [self.grades[guest] for guest in ask.guests if guest in self.grades]
        heard = [self.alone[guest] for guest in ask.guests if guest in self.alone]
        grade = min(grades, key=known_grade) if grades else None
        return Who(grade=None if grade is None else WadingGrade(grade), alone=any(heard) if heard else True)

    def _today(self, ask: Ask) -> TurnConditions:
        beat, pool = self._beat(ask), self.pools[ask.pool]
        day: Today = self.days[beat.pk]
        who = self._who(ask)
        found = (
            *day.restrictions(pool.pk, pool.name, who, self.span(ask)),
            *self._of_the_beat(ask),
            *(
                _called(call)
                for call in self.calls
                if call.beat == beat.pk and pool.pk in (call.pools or {pool.pk})
            ),
        )
        grade = day.grade(pool.pk, who)
        return TurnConditions(found, what_to_do(beat.fishery), grade and str(grade), day.level_age_minutes)

    def _later(self, ask: Ask) -> TurnConditions:
        beat, pool = self._beat(ask), self.pools[ask.pool]
        closed = self.closures.get((pool.pk, ask.day), "")
        law = self.laws[beat.fishery_id, ask.day]
        found = (*dated(pool.name, retired=pool.retired, closed=closed, law=law), *self._of_the_beat(ask))
        return TurnConditions(found, what_to_do(beat.fishery), None, None)

    def _of_the_beat(self, ask: Ask) -> list[Restriction]:
        beat = self._beat(ask)
        return [
            Restriction(Kind.BEAT_CLOSED, closed_words(beat.name, one.reason))
            for one in self.shut
            if one.beat_id == beat.pk and one.from_on <= ask.day <= one.to_on
        ]

    def _closures(self, asks: Sequence[Ask]) -> dict[tuple[int, dt.date], str]:
        if not asks:
            return {}
        days = [ask.day for ask in asks]
        rows = PoolClosure.objects.filter(
            pool__in={ask.pool for ask in asks}, from_on__lte=max(days), to_on__gte=min(days)
        )
        closed: dict[tuple[int, dt.date], str] = {}
        for row in rows.order_by("id"):
            closed |= {(row.pool_id, day): row.reason for day in set(days) if row.from_on <= day <= row.to_on}
        return closed

    def _laws(self, asks: Sequence[Ask]) -> dict[tuple[int, dt.date], Ruling]:
        days: dict[int, set[dt.date]] = defaultdict(set)
        fisheries: dict[int, Fishery] = {}
        for ask in asks:
            fishery = self._beat(ask).fishery
            fisheries[fishery.pk] = fishery
            days[fishery.pk].add(ask.day)
        return {(pk, law.day): law for pk, on in days.items() for law in rulings(fisheries[pk], sorted(on))}


def _called(call: BeatCall) -> Restriction:
    return Restriction(Kind.RECALL, say("Called off the water: {reason}.", reason=call.reason.rstrip(". ")))
