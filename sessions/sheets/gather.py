"""The facts of a rota's sheet, calendar and picture, from the database, as one person may see them."""

import datetime as dt
from collections.abc import Iterable

from django.http import Http404

from beats.conditions import CANNOT_SEE, TIDE, conditions
from beats.emergency import NOT_AN_EMERGENCY_SERVICE, in_danger
from beats.light import DARKER_THAN_TOLD
from beats.models import Beat, Fishery, Membership, User
from beats.queries import light_on, local_day, rulings, zone_of
from beats.season import Ruling, Status
from beats.shared import words
from bookings.models import Guest
from sessions import queries
from sessions.models import Rota
from sessions.models import Turn as TurnRow
from sessions.sheets.ical import Entry, Feed
from sessions.sheets.picture import Panel
from sessions.sheets.sheet import Day, Keeper, Sheet, Turn
from sessions.turn_conditions import add_conditions, what_to_do
from sessions.turn_warnings import calendar_warning

WEEK = range(7)
STANDING = {Status.OPEN: "open", Status.RELEASE_ONLY: "release only", Status.CLOSED: "CLOSED"}
VERSION_WORDS = {"draft": "draft", "published": "the week's rota", "superseded": "replaced"}


def sheet(rota: Rota, *, now: dt.datetime) -> Sheet:
    """Everything on the sheet of a rota that came from `rota_as_seen_by`.

    Three queries; three or four more in the week itself, for the water as it is, and those of `add_conditions`.
    """
    beat, fishery = rota.beat, rota.beat.fishery
    add_conditions(rota.seen_turns, now=now)
    laws = rulings(fishery, [rota.first_on + dt.timedelta(days=n) for n in WEEK])
    turns = tuple(_turn(row) for row in rota.seen_turns)
    return Sheet(
        fishery=fishery.name,
        river=fishery.river,
        beat=beat.name,
        first_on=rota.first_on,
        version=rota.version,
        status=rota.status,
        meeting_point=beat.meeting_point,
        tidal=beat.tidal,
        latitude=fishery.latitude,
        longitude=fishery.longitude,
        phone=fishery.phone,
        keepers=_keepers(fishery),
        turns=turns,
        days=tuple(_day(fishery, law) for law in laws),
        cautions=(*_today(rota, now), *_cautions(beat, laws)),
        only_for="" if rota.certificate is not None else turns[0].guest,
        printed_at=now.astimezone(zone_of(fishery)),
        ask=what_to_do(fishery),
    )


def calendar(
    rota: Rota, user: User, *, guest: Guest | None, rod: int | None, now: dt.datetime
) -> tuple[Feed, list[Entry], list[Entry]]:
    """What all events share, the turns in force, and turns of replaced versions; for a guest or a rod.

    Of a replaced rota it is the calendar of the one in force. Nobody's turns at all are a 404.
    """
    force = queries.rota_in_force(rota)
    if force.pk != rota.pk:
        force = queries.rota_as_seen_by(user, force.pk)
    rows = [row for row in force.seen_turns if _is_of(row, guest, rod)]
    add_conditions(rows, now=now)
    gone: list[TurnRow] = []
    if force.status == Rota.Status.PUBLISHED:
        gone = [row for row in queries.turns_withdrawn(user, force) if _is_of(row, guest, rod)]
    if not rows and not gone:
        raise Http404
    whose = guest.name if guest else f"rod {rod}"
    at = now.astimezone(zone_of(rota.beat.fishery))
    return _feed(force, whose), [_entry(row, at) for row in rows], [_entry(row) for row in gone]


def panels(rota: Rota) -> tuple[str, list[Panel]]:
    """The picture's title, and a panel for the rota and for the one before or after it. One query."""
    title = f"{rota.beat.name}, week of {words.day(rota.first_on)}"
    if rota.status == Rota.Status.SUPERSEDED:
        pair: Iterable[Rota] = dict.fromkeys((rota, queries.rota_in_force(rota)))
    else:
        pair = [one for one in (queries.rota_before(rota), rota) if one]
    return title, [_panel(one) for one in pair]


def _is_of(row: TurnRow, guest: Guest | None, rod: int | None) -> bool:
    return bool(row.guest_id == guest.pk if guest else row.rod == rod)


def _turn(row: TurnRow) -> Turn:
    part = row.part
    name = row.guest.name if row.guest else ""
    known = row.conditions
    warning = " ".join(known.reasons) if known is not None else ""
    return Turn(row.day, part.name, part.starts, part.ends, row.rod, row.guest_id, name, row.pool.name, warning)


def _day(fishery: Fishery, law: Ruling) -> Day:
    zone, light = zone_of(fishery), light_on(fishery, law.day)
    rise, fall = (at.astimezone(zone).time() if at else None for at in (light.sunrise_at, light.sunset_at))
    reason = "" if law.status is Status.OPEN else law.reasons[0].text
    return Day(law.day, STANDING[law.status], reason, rise, fall)


def _keepers(fishery: Fishery) -> tuple[Keeper, ...]:
    """The ghillies first: they are at the water."""
    rows = fishery.memberships.filter(role__in=Membership.KEEPERS).select_related("user").order_by("role", "id")
    return tuple(Keeper(str(row.user), row.role, row.user.phone) for row in rows)


def _today(rota: Rota, now: dt.datetime) -> tuple[str, ...]:
    """The water as it is while the sheet is printed, if that is in its week: its age is in the words."""
    day = local_day(rota.beat.fishery, now)
    if not 0 <= (day - rota.first_on).days < len(WEEK):
        return ()
    return (f"When printed, {words.weekday(day)}: {conditions(rota.beat, day=day, now=now).summary}",)


def _cautions(beat: Beat, laws: list[Ruling]) -> tuple[str, ...]:
    doubts = dict.fromkeys(doubt for law in laws for doubt in law.cautions)
    return (CANNOT_SEE, DARKER_THAN_TOLD, *doubts, *([TIDE] if beat.tidal else []))


def _feed(rota: Rota, whose: str) -> Feed:
    beat, fishery = rota.beat, rota.beat.fishery
    return Feed(
        name=f"{beat.name}: {whose}",
        fishery=fishery.name,
        fishery_slug=fishery.slug,
        beat=beat.name,
        beat_slug=beat.slug,
        first_on=rota.first_on,
        version=rota.version,
        status=rota.status,
        stamp=rota.published_at or rota.made_at,
        zone=zone_of(fishery),
        meeting_point=beat.meeting_point,
        cautions=(
            *_cautions(beat, []),
            f"{in_danger(tidal=beat.tidal)} {NOT_AN_EMERGENCY_SERVICE}",
        ),
    )


def _entry(row: TurnRow, at: dt.datetime | None = None) -> Entry:
    """With why it must not be fished, as known `at` the river's time; of a turn withdrawn nothing is asked."""
    pool, part = row.pool, row.part
    known = pool.latitude is not None and pool.longitude is not None
    return Entry(
        day=row.day,
        part=part.slug,
        part_name=part.name,
        starts=part.starts,
        ends=part.ends,
        rod=row.rod,
        pool=pool.name,
        position=(pool.latitude, pool.longitude) if known else None,
        access=pool.access,
        warning=calendar_warning(row, at) if at is not None else "",
    )


def _panel(rota: Rota) -> Panel:
    worth = tuple((row["rod"], row["worth_per_turn"]) for row in rota.certificate.get("worth_by_rod", []))
    return Panel(f"Version {rota.version}: {VERSION_WORDS[rota.status]}", worth)
