"""Last year's tenant first: opening a season, and asking for each week one person at a time.

A right and an offer are holds: the week is claimed for whoever is asked, so nobody can be sold it
meanwhile, and saying yes, saying no and not answering are the doors of a let. `ask_next` looks for
what is due and not done, so it may be run by anybody, twice at once, or not for a week.
"""

import datetime as dt

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from beats import close_times, season
from beats.audit import record
from beats.models import Fishery, User
from beats.queries import Role, local_day, require_role, zone_of
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked_unless_busy
from bookings.models import Let, LettingSeason, Offer, SameWeek, Waiting
from bookings.openings import closed_days
from bookings.queries import lets_of_the_year_before
from bookings.season_weeks import days_of_let, same_day, week_of, within
from bookings.services.claims import refuse_closed_days
from bookings.services.holds import policy_of
from bookings.services.lets import Shape, refuse_nonsense, take

BATCH = 100


class BadSeason(Refusal):
    """The season cannot be opened like that."""

    code = "bad-season"
    title = say("This season cannot be opened")
    status = 400


def open_season(
    fishery: Fishery, *, year: int, answer_by: dt.date, by: User, now: dt.datetime
) -> tuple[LettingSeason, bool]:
    """Open a year: each confirmed let of the year before gets its week again, held until `answer_by`.

    Opening it again changes nothing. Returns (season, new?). Raises BadSeason, NotYours.
    """
    require_role(by, fishery, Role.OWNER)
    lawful = season.season(close_times.close_time(fishery.district), year)
    if lawful is None:
        raise BadSeason(
            say("No law is held here for {year}.", year=year), errors={"year": [say("No season known.")]}
        )
    if not local_day(fishery, now) <= answer_by <= lawful.last_on:
        raise BadSeason(
            say("Tenants need a day to answer by, from today to {lawful_last_on}.", lawful_last_on=lawful.last_on),
            errors={"answer_by": [say("Past, or after the season.")]},
        )
    with transaction.atomic():
        opened, made = LettingSeason.objects.get_or_create(
            fishery=fishery, year=year, defaults={"answer_by": answer_by, "opened_at": now}
        )
        if made:
            facts = {"year": year, "answer_by": answer_by}
            record("open season", opened, by=by, now=now, fishery=fishery, after=facts)
    return opened, made


def ask_next(now: dt.datetime) -> int:
    """Give tenants their weeks, then ask the waiting list for each unclaimed one. Returns offers made."""
    for let, opened in lets_to_look_at(now):
        _make_week(let, opened)
    return sum(_ask(pk, now) for pk in list(_unasked(now).values_list("pk", flat=True)[:BATCH]))


def lets_to_look_at(now: dt.datetime) -> list[tuple[Let, LettingSeason]]:
    """Lets of last year that an opened season has not looked at yet, each with that season."""
    found = []
    for opened in LettingSeason.objects.filter(year__gte=now.year).select_related("fishery"):
        seen = SameWeek.objects.filter(season=opened, last_let=OuterRef("pk"))
        rows = lets_of_the_year_before(opened).exclude(Exists(seen)).order_by("made_at", "pk")
        found += [(let, opened) for let in rows[:BATCH]]
    return found


def _make_week(let: Let, opened: LettingSeason) -> None:
    """Write down which week a let becomes; a second hand at the same let finds it there."""
    close_time = close_times.close_time(opened.fishery.district)
    was, now = (season.season(close_time, year) for year in (opened.year - 1, opened.year))
    facts: dict = {"week": 1, "fault": "No season is known to find the week in."}
    if was and now:
        days = [
            same_day(day, was=was.first_on, now=now.first_on)
            for day in days_of_let(let.first_on, let.last_on, let.weekday)
        ]
        span = within(days, closed_days(opened.fishery, days))
        facts = {"week": max(week_of(let.first_on, was.first_on), 1)}
        facts |= {"first_on": span[0], "last_on": span[1]} if span else {"fault": "The water is closed that week."}
    try:
        with transaction.atomic():
            SameWeek.objects.create(season=opened, last_let=let, **facts)
    except IntegrityError:
        return


def _unasked(now: dt.datetime) -> QuerySet[SameWeek]:
    """Weeks to come that nobody has or is thinking about, and for which there is somebody to ask."""
    alive = Offer.objects.filter(same_week=OuterRef("pk")).exclude(let__status=Let.Status.CANCELLED)
    never = ~Exists(Offer.objects.filter(same_week=OuterRef("pk")))
    open_weeks = SameWeek.objects.filter(fault="", first_on__gt=now.date()).exclude(Exists(alive))
    return open_weeks.filter(never | Exists(_who_waits())).order_by("pk")


def _who_waits() -> QuerySet[Waiting]:
    """Of the week outside: who would take it, was not asked for it and is thinking about no other."""
    asked = Offer.objects.filter(waiting=OuterRef("pk"), same_week=OuterRef(OuterRef("pk")))
    thinking = Offer.objects.filter(waiting=OuterRef("pk"), let__status=Let.Status.HELD)
    return (
        Waiting.objects.filter(
            Q(beat=None) | Q(beat=OuterRef("last_let__beat")),
            Q(week=None) | Q(week=OuterRef("week")),
            fishery=OuterRef("season__fishery"),
            left_at=None,
            rods__lte=OuterRef("last_let__rods"),
        )
        .exclude(Exists(asked))
        .exclude(Exists(thinking))
        .order_by("since", "pk")
    )


@transaction.atomic
def _ask(pk: int, now: dt.datetime) -> bool:
    """Hold one week for the next in line. False when another hand is at it or nobody is left."""
    weeks = SameWeek.objects.select_related("season__fishery", "last_let__beat__fishery", "last_let__booker")
    week = locked_unless_busy(weeks, pk=pk, fault="")
    if week is None or not _unasked(now).filter(pk=pk).exists():
        return False
    number = week.offers.count()
    answer_by = _end_of(week.season)
    if number == 0 and answer_by > now:
        return _offer(week, number, None, answer_by, now)
    entry = _next_in_line(week)
    if entry is None:
        return False
    until = now + dt.timedelta(minutes=policy_of(week.season.fishery).offer_minutes)
    return _offer(week, max(number, 1), entry, until, now)


def _next_in_line(week: SameWeek) -> Waiting | None:
    """The first in line, their row held, so that two weeks cannot be offered to one person at once.

    Asked again once the row is held: another hand may have offered them a week between the two.
    """
    entry = _first_of(week)
    held = entry and locked_unless_busy(Waiting.objects.select_related("guest"), pk=entry, left_at=None)
    return held if held and _first_of(week) == held.pk else None


def _first_of(week: SameWeek) -> int | None:
    here = SameWeek.objects.filter(pk=week.pk)
    return here.values_list(Subquery(_who_waits().values("pk")[:1]), flat=True)[0]


def _end_of(opened: LettingSeason) -> dt.datetime:
    """The instant at which the answer date is over at the river."""
    midnight = dt.datetime.combine(opened.answer_by + dt.timedelta(days=1), dt.time(), zone_of(opened.fishery))
    return midnight.astimezone(dt.UTC)


def _offer(week: SameWeek, number: int, entry: Waiting | None, until: dt.datetime, now: dt.datetime) -> bool:
    """Hold the week and note for whom; a week that cannot be held says why and is left to the owner."""
    let = week.last_let
    kind = let.kind if entry is None or entry.rods == let.rods else Let.Kind.DAY
    if let.kind == Let.Kind.SEASON:
        kind = let.kind
    shape = Shape(let.beat, week.first_on, week.last_on, entry.rods if entry else let.rods, kind, let.weekday)
    try:
        refuse_nonsense(shape)
        refuse_closed_days(let.beat, shape.days)
        booker = entry.guest if entry else let.booker
        held, _ = take(shape, booker=booker, company=let.company, expires_at=until, by=None, now=now)
    except Refusal as refusal:
        week.fault = refusal.sentence[:300]
        week.save(update_fields=["fault"])
        return False
    Offer.objects.create(same_week=week, number=number, waiting=entry, let=held)
    return True
