"""The facts of a let's papers, from the database. Reads only."""

import datetime as dt

from django.conf import settings

from beats.models import Beat, Fishery, Membership
from beats.queries import local_day, rulings, zone_of
from beats.shared import words
from bookings import reckoning
from bookings.models import Guest, Let
from bookings.papers.code import picture
from bookings.papers.parts import Section, one_line
from bookings.papers.permit import Contact, Permit, RodOnDay, sections, span
from bookings.text_codes import number_for_texts, standing_code


def permit(let: Let, *, now: dt.datetime, only_for: Guest | None = None) -> Permit:
    """The permit of a let whose beat, fishery and booker are at hand; for one guest of it, their own days."""
    beat, fishery = let.beat, let.beat.fishery
    rods = _rods(let, only_for)
    return Permit(
        let=let.pk,
        edition=let.edition,
        fishery=fishery.name,
        river=fishery.river,
        beat=beat.name,
        booker=let.booker.name,
        rods=rods,
        law=tuple(rulings(fishery, sorted({rod.day for rod in rods}))),
        water_rules=reckoning.terms_of(fishery).water_rules,
        meeting_point=beat.meeting_point,
        mobile_signal=beat.mobile_signal,
        tidal=beat.tidal,
        longest_outing_minutes=beat.longest_outing_minutes,
        contacts=_contacts(fishery),
        check_in=check_in_address(beat),
        contact_details=f"{settings.PUBLIC_URL}/day/contact/",
        printed_on=local_day(fishery, now),
        only_for=only_for.name if only_for else "",
        text_to=number_for_texts(),
        text_code=standing_code(only_for.pk) if only_for else "",
    )


def printed(paper: Permit, *, now: dt.datetime) -> bytes:
    """The permit as PDF, with the code that opens the check-in page."""
    from bookings.papers.printed import pdf  # noqa: PLC0415 - takes a second to load, and only printing needs it

    return pdf(paper.title, sections(paper), printed_at=now, code=picture(paper.check_in))


def cancellation(let: Let, *, now: dt.datetime) -> tuple[str, list[Section]]:
    """The letter that a let is off: its title, and what it says."""
    fishery = let.beat.fishery
    title = f"Cancelled: {one_line(let.beat.name)}, {one_line(fishery.name)}, {span([let.first_on, let.last_on])}"
    account = reckoning.account_of(let, terms=reckoning.terms_of(fishery), today=local_day(fishery, now))
    phone = f" Questions: {fishery.phone}." if fishery.phone else ""
    lines = [
        f"Let {let.pk} of {one_line(let.booker.name)} was called off. It permits nobody to fish any more.",
        _money(account) + phone,
    ]
    if let.cancelled_at:
        lines.insert(1, f"Noted at {words.instant(let.cancelled_at.astimezone(zone_of(fishery)))}.")
    return title, [Section("What this means", tuple(lines))]


def check_in_address(beat: Beat) -> str:
    """Opens a page that tells how to check in; it holds no secret and by itself does nothing."""
    return f"{settings.PUBLIC_URL}/check-in/{beat.fishery.slug}/{beat.slug}/"


def _money(account: reckoning.Account) -> str:
    balance, currency = account.balance, account.currency
    if balance > 0:
        return f"By the terms {balance} {currency} of the price stays due."
    return f"You are owed {-balance} {currency}." if balance < 0 else "Nothing is owed either way."


def _rods(let: Let, only_for: Guest | None) -> tuple[RodOnDay, ...]:
    rows = let.rod_days.select_related("guest", "sharer").order_by("day", "rod")
    if only_for is not None and only_for.pk != let.booker_id:
        rows = [row for row in rows if only_for.pk in (row.guest_id, row.sharer_id)]
    return tuple(
        RodOnDay(row.day, row.rod, row.guest.name if row.guest else "", row.sharer.name if row.sharer else "")
        for row in rows
    )


def _contacts(fishery: Fishery) -> tuple[Contact, ...]:
    """The ghillies first: they are at the water."""
    rows = fishery.memberships.filter(role__in=Membership.KEEPERS).select_related("user").order_by("role", "id")
    kept = [Contact(str(row.user), row.role, row.user.phone) for row in rows]
    return (*kept, Contact(fishery.name, "fishery", fishery.phone))
