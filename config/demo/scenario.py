"""Setting the scene, through the same services the API uses. Each step is keyed, so a second run adds nothing."""

import datetime as dt
import math
import random
from dataclasses import dataclass
from decimal import Decimal
from importlib import resources
from typing import Any

from beats.close_times import close_time
from beats.fishery_faults import parse
from beats.models import Beat, Fishery, Gauge, Membership, User
from beats.queries import local_day, rulings, zone_of
from beats.season import Season, Status, season
from beats.services.fishery_loading import load_fishery
from beats.services.levels import note_by_keeper
from beats.services.observations import note_observation
from beats.services.tides import import_tides
from beats.shared.once import Once
from beats.water.feeds.levels import Level
from bookings.models import Guest, RodDay
from bookings.services.guests import add_guest
from bookings.services.invitations import accept_invitation
from bookings.services.lets import let_rods
from config.demo import people
from safety.models import Pulse
from safety.services.pulse import beat_pulse
from sessions.models import Catch, Outing, Rota
from sessions.services.catches import correct_catch, note_catch
from sessions.services.outings import check_in, check_out
from sessions.services.returns import decide_effort, set_due
from sessions.services.rotas import plan_rota, publish_rota

DUE_IN = dt.timedelta(seconds=100)
WEEK = dt.timedelta(weeks=1)
FLIES = ("Black and silver, size 8", "Yellow hair wing, size 6", "Dark shrimp, size 10", "Brass tube, 1 inch")
FISH_PER_ROD_DAY = 0.233
"""Salmon a rod-day in Scotland in 2024: 46,978 in 201,498 rod-days (published national statistics)."""


@dataclass(frozen=True)
class Scene:
    """Who and what the demo shows."""

    fishery: Fishery
    owner: User
    ghillie: User
    guest: Guest
    outing: Outing
    rotas: list[Rota]
    week: dt.date
    year: int


def set_scene(*, now: dt.datetime) -> Scene:
    """The fishery, a season behind it, this week's rota, and one lone angler due back in 100 seconds."""
    fishery = load_fishery(parse(example_file()), by=None, now=now).fishery
    owner, ghillie = (_keeper(fishery, role) for role in (Membership.Role.OWNER, Membership.Role.GHILLIE))
    guests = [_guest(fishery, number, by=owner, now=now) for number in range(len(people.GUESTS))]
    today = local_day(fishery, now)
    past = _last_season(fishery, today)
    week = week_to_show(fishery, today)
    mondays = [past.first_on - dt.timedelta(days=past.first_on.weekday()) + n * WEEK for n in range(53)]
    for monday in sorted({week, *(monday for monday in mondays if monday <= min(past.last_on, today))}):
        _lets(fishery, monday, guests, by=owner, now=now)
    _fish(fishery, past, by=ghillie, today=today, now=now)
    _keep_book(fishery, past.first_on.year, by=owner, ghillie=ghillie, now=now)
    _readings(fishery, by=ghillie, now=now)
    _water_of_the_day(fishery, by=ghillie, now=now)
    beats = fishery.beats.order_by("order")
    rotas = [_rota(beat, week, by=ghillie, now=now) for beat in beats]
    outing = _go_out(fishery, rotas, by=owner, now=now)
    _decide_close_season(fishery, past, by=owner, today=today, now=now)
    return Scene(fishery, owner, ghillie, outing.guest, outing, rotas, week, past.first_on.year)


def example_file() -> str:
    return resources.files("beats").joinpath("data/durrisk.toml").read_text(encoding="utf-8")


def week_to_show(fishery: Fishery, today: dt.date) -> dt.date:
    """The Monday of this week, or of the next week in which a day is open."""
    monday = today - dt.timedelta(days=today.weekday())
    while not open_days(fishery, monday):
        monday += WEEK
    return monday


def open_days(fishery: Fishery, monday: dt.date) -> list[dt.date]:
    days = [monday + dt.timedelta(days=n) for n in range(6)]
    return [ruling.day for ruling in rulings(fishery, days) if ruling.status is not Status.CLOSED]


def _keeper(fishery: Fishery, role: str) -> User:
    return fishery.memberships.select_related("user").filter(role=role).earliest("id").user


def _guest(fishery: Fishery, number: int, *, by: User, now: dt.datetime) -> Guest:
    name, handle, wading = people.GUESTS[number]
    facts = {
        "name": name,
        "email": people.email_of(handle),
        "phone": people.phone_of(number),
        "emergency_contact_name": f"{name.split()[-1]} household",
        "emergency_contact_phone": people.contact_phone_of(number),
        "wading_grade": wading,
    }
    guest, _ = add_guest(fishery, facts=facts, by=by, now=now, once=Once.of(f"demo-guest-{number:02}", handle))
    return accept_invitation(guest.pk, by=User.objects.get(email=facts["email"]), now=now)


def _last_season(fishery: Fishery, today: dt.date) -> Season:
    """The season under way, or the last one that was."""
    law = close_time(fishery.district)
    this = season(law, today.year)
    found = this if this and this.first_on <= today else season(law, today.year - 1)
    if found is None:
        raise RuntimeError("the demo's district has no season")
    return found


def _lets(fishery: Fishery, monday: dt.date, guests: list[Guest], *, by: User, now: dt.datetime) -> None:
    days = set(open_days(fishery, monday))
    start = monday.toordinal() // 7 * 3
    for number, (slug, rods, first, last, every) in enumerate(people.PARTIES):
        party = [guests[(start + 2 * number + n) % len(guests)] for n in range(rods)]
        span = [day for n in range(first, last + 1) if (day := monday + dt.timedelta(days=n)) in days]
        if not span or (monday.toordinal() // 7) % every:
            continue
        let_rods(
            fishery.beats.get(slug=slug), booker=party[0], guests=party, first_on=span[0], last_on=span[-1],
            rods=rods, by=by, now=now, once=Once.of(f"demo-let-{monday}-{number}", [slug, rods]),
        )  # fmt: skip


def _fish(fishery: Fishery, past: Season, *, by: User, today: dt.date, now: dt.datetime) -> None:
    """A season's fish over the rod-days let, the same fish every time."""
    claims = RodDay.objects.filter(beat__fishery=fishery, day__gte=past.first_on, day__lt=min(past.last_on, today))
    pools = {beat.pk: list(beat.pools.order_by("order")) for beat in fishery.beats.all()}
    for claim in claims.select_related("beat__fishery", "guest").order_by("day", "beat__order", "rod"):
        dice = _dice(f"{claim.day} {claim.beat.slug} {claim.rod}")
        if dice.random() > FISH_PER_ROD_DAY:
            continue
        kind, weight = _kind(claim.day, dice)
        released = claim.day.month < 4 or claim.day.month >= 9 or dice.random() < 0.9
        hour = dt.time(dice.choice((9, 10, 11, 14, 15, 16, 17)), dice.randrange(60))
        note_catch(
            claim.beat, pool=dice.choice(pools[claim.beat_id]), guest=claim.guest,
            caught_at=dt.datetime.combine(claim.day, hour, tzinfo=zone_of(fishery)), kind=kind,
            fate=Catch.Fate.RELEASED if released else Catch.Fate.KEPT, method="fly", fly=dice.choice(FLIES),
            **_size(weight, released=released, dice=dice), by=by, now=now,
            once=Once.of(f"demo-fish-{claim.day}-{claim.beat.slug}-{claim.rod}", kind),
        )  # fmt: skip


def _size(weight_kg: Decimal, *, released: bool, dice: random.Random) -> dict[str, Any]:
    """Who lets a fish go measures it in the water, or guesses; who keeps it has it on the scales."""
    if not released:
        return {"weight_kg": weight_kg, "weight_how": Catch.WeightHow.WEIGHED}
    if dice.random() < 0.4:
        return {"weight_kg": weight_kg, "weight_how": Catch.WeightHow.ESTIMATED}
    length = Decimal(f"{(float(weight_kg) * 1e5 / dice.uniform(0.92, 1.08)) ** (1 / 3):.1f}")
    return {"length_cm": length, "length_how": "measured", "weight_how": Catch.WeightHow.FROM_LENGTH}


def _keep_book(fishery: Fishery, year: int, *, by: User, ghillie: User, now: dt.datetime) -> None:
    """The last fish corrected, so that it has a history; and a date for the return, which is nobody's but ours."""
    last = Catch.objects.filter(beat__fishery=fishery, caught_on__year=year).order_by("caught_at", "id").last()
    if last and last.version == 1:
        changes = {"condition": Catch.Condition.SEA_LICE, "note": "Long tailed lice below the vent."}
        correct_catch(last, changes=changes, reason="The guest told me later.", version=1, by=ghillie, now=now)
    if not fishery.returns_due.filter(season=year).exists():
        set_due(
            fishery, year, due_on=dt.date(year + 1, 1, 31), anglers_due_on=dt.date(year, 12, 15), remind_days=14,
            by=by, now=now,
        )  # fmt: skip


def _decide_close_season(fishery: Fishery, past: Season, *, by: User, today: dt.date, now: dt.datetime) -> None:
    """In the close season the demo's anglers go out all the same; the owner says that none of them fished."""
    if past.first_on <= today <= past.last_on or today.year != past.first_on.year:
        return
    decide_effort(
        fishery, today.year, month=today.month, rod_days=0, reason="Nobody fished: these outings show the watch.",
        by=by, now=now, once=Once.of(f"demo-effort-{today:%Y-%m}", today.month),
    )  # fmt: skip


def _dice(seed: str) -> random.Random:
    """The same throws for the same seed."""
    return random.Random(seed)  # noqa: S311 - fish, not secrets


def _kind(day: dt.date, dice: random.Random) -> tuple[str, Decimal]:
    """Spring fish are salmon; grilse and sea trout come with the summer (common practice, no source)."""
    kinds = [Catch.Kind.MSW] if day.month < 6 else [Catch.Kind.MSW, Catch.Kind.GRILSE, Catch.Kind.SEA_TROUT]
    kind = dice.choice(kinds)
    middle = {Catch.Kind.MSW: 4.6, Catch.Kind.GRILSE: 2.5, Catch.Kind.SEA_TROUT: 1.0}[kind]
    return kind, Decimal(f"{middle * dice.uniform(0.75, 1.4):.2f}")


def _readings(fishery: Fishery, *, by: User, now: dt.datetime) -> None:
    """Since the day before yesterday, every half hour, up to twenty minutes ago: cool about dawn."""
    gauge = Gauge.objects.get(fishery=fishery, slug="stone-bridge")
    half_hour = dt.timedelta(minutes=30)
    newest = now - dt.timedelta(minutes=20)
    newest -= dt.timedelta(minutes=newest.minute % 15, seconds=newest.second, microseconds=newest.microsecond)
    levels = []
    for n in range(48 * 2 + 1):
        at = newest - n * half_hour
        dice, hour = _dice(f"{at:%Y%m%d%H}"), at.hour + at.minute / 60
        warmth = 9.5 - 1.5 * math.cos((hour - 5) / 24 * 2 * math.pi)
        levels.append(Level(at, round(0.62 + 0.05 * dice.random(), 2), round(warmth, 1)))
    note_by_keeper(gauge, levels, by=by, now=now)


def _water_of_the_day(fishery: Fishery, *, by: User, now: dt.datetime) -> None:
    """What the ghillie saw this morning, and a tide table about today; both invented."""
    for beat in fishery.beats.all():
        seen = {"wind_from_deg": 240.0, "wind_mps": 6.5, "thunder": False, "clarity": "clear", "water_c": 10.0}
        hour = now - dt.timedelta(minutes=50)
        once = Once.of(f"demo-seen-{beat.slug}-{now:%Y%m%d%H%M}", beat.slug)
        note_observation(beat, facts=seen, at=hour, by=by, now=now, once=once)
    lower = fishery.beats.get(slug="lower")
    import_tides(lower, _tide_file(now).encode(), by=by, now=now)


def _tide_file(now: dt.datetime) -> str:
    """High and low water by turns for a fortnight about today, the same every run: springs range over 4 m."""
    first = dt.datetime(2026, 1, 1, 5, 10, tzinfo=dt.UTC)
    half = dt.timedelta(hours=6, minutes=12, seconds=30)
    number = (now - dt.timedelta(days=3) - first) // half
    lines = ["at,height_m,kind"]
    for n in range(number, number + 56):
        swing = 1.6 + 0.4 * math.cos(2 * math.pi * n / 57)
        kind, height_m = ("high", 2.5 + swing) if n % 2 else ("low", 2.5 - swing)
        at = (first + n * half).replace(second=0)
        lines.append(f"{at:%Y-%m-%dT%H:%MZ},{height_m:.1f},{kind}")
    return "\n".join(lines)


def _rota(beat: Beat, week: dt.date, *, by: User, now: dt.datetime) -> Rota:
    once = Once.of(f"demo-rota-{beat.slug}-{week}", beat.slug)
    rota, _ = plan_rota(beat, first_on=week, by=by, now=now, once=once, effort=0.5, tries=3000)
    return publish_rota(rota, by=by, now=now) if rota.status == Rota.Status.DRAFT else rota


def _go_out(fishery: Fishery, rotas: list[Rota], *, by: User, now: dt.datetime) -> Outing:
    """Last run's anglers come back; two go out: one in company for hours, one alone and soon due."""
    for outing in Outing.objects.filter(beat__fishery=fishery, checked_out_at__isnull=True):
        check_out(outing, by=by, now=max(now, outing.checked_in_at))
    Pulse.objects.all().delete()  # the last run's clock ran ahead of this one
    beat_pulse("sweep", now=now)  # nobody goes out alone unwatched, and the demo's own watch begins now
    upper, lower = (
        rota.turns.select_related("guest__user", "pool__beat").earliest("day", "rod", "id") for rota in rotas
    )
    check_in(
        lower.guest, beat=lower.pool.beat, pool=lower.pool, alone=False, due_back_at=now + dt.timedelta(hours=3),
        plan="with the ghillie", by=by, now=now,
    )  # fmt: skip
    outing, _ = check_in(
        upper.guest, beat=upper.pool.beat, pool=upper.pool, alone=True, due_back_at=now + DUE_IN,
        plan="down the pool once, then straight out", by=upper.guest.user, now=now,
    )  # fmt: skip
    return outing
