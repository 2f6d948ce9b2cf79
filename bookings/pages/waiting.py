"""The waiting list by page: who waits and since when, one more, and one taken off."""

import datetime as dt

from django.db.models import Exists, OuterRef, QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.models import Fishery
from beats.pages.acts import acted, posted
from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from beats.pages.keyed import KeyForm
from beats.pages.told import or_english
from beats.queries import local_day
from beats.shared import words
from beats.shared.once import Once
from bookings import queries
from bookings.models import Let, Offer, Waiting
from bookings.pages.lets import let_of
from bookings.pages.waiting_form import WaitingForm
from bookings.reckoning import season_starts
from bookings.season_weeks import WEEK, monday_of, week_of
from bookings.services.waiting import join_waiting, leave_waiting

BOTH = ("GET", "POST")
TEMPLATE = "house/waiting.html"


@page(OWNER)
def waiting(request, *, now, fishery):
    """In the order in which they are asked."""
    rows = queries.waiting_visible_to(request.user).filter(fishery=fishery)
    return shown_at(request, fishery, TEMPLATE, {"entries": _entries(rows, fishery, local_day(fishery, now))})


@page(OWNER)
def for_let(request, *, now, fishery, pk):
    """Who would take rods as a let has them, should it come free."""
    let = let_of(request, fishery, pk)
    first, last = (week_of(day, season_starts(fishery.district, day.year)) for day in (let.first_on, let.last_on))
    rows = queries.waiting_for(let, request.user, weeks=range(first, last + 1))
    return shown_at(
        request, fishery, TEMPLATE, {"entries": _entries(rows, fishery, local_day(fishery, now)), "let": let}
    )


@page(OWNER, methods=BOTH)
def join(request, *, now, fishery):
    form = WaitingForm(posted(request), fishery=fishery)

    def do(data):
        facts = {"guest": data["guest"], "beat": data["beat"], "week": form.week(), "rods": data["rods"]}
        asked = {name: getattr(value, "pk", value) for name, value in facts.items()}
        return join_waiting(fishery, **facts, by=request.user, now=now, once=Once.of(data["key"], asked))

    facts = {"title": _("Put somebody on the waiting list"), "button": _("Put them on it"),
             "lead": _("They come last in line. Who is on it longest is asked first.")}  # fmt: skip
    return acted(request, form, do, then=reverse("house-waiting", args=[fishery.slug]), facts=facts)


@page(OWNER, methods=BOTH)
def leave(request, *, now, fishery, pk):
    """Asked once: their place in line is lost."""
    entry = get_object_or_404(queries.waiting_visible_to(request.user), pk=pk, fishery=fishery)
    told = {"who": entry.guest.name, "since": or_english(words.day(local_day(fishery, entry.since)))}
    lead = _("%(who)s waits since %(since)s. That place in line is lost; an offer already made stands.") % told
    facts = {
        "title": _("Take them off the waiting list?"), "button": _("Take them off"), "rusty": True,
        "lead": lead,
    }  # fmt: skip
    return acted(
        request, KeyForm(posted(request)), lambda _data: leave_waiting(entry, by=request.user, now=now),
        then=reverse("house-waiting", args=[fishery.slug]), facts=facts,
    )  # fmt: skip


def _entries(rows: QuerySet[Waiting], fishery: Fishery, today: dt.date) -> list[tuple[Waiting, dt.date | None]]:
    """Each with the Monday of the week they want, the next time that it comes. One query."""
    thinking = Offer.objects.filter(waiting=OuterRef("pk"), let__status=Let.Status.HELD)
    rows = rows.select_related("guest", "beat").annotate(is_asked=Exists(thinking)).order_by("since", "id")
    return [(row, _next_time(row.week, fishery, today) if row.week else None) for row in rows]


def _next_time(week: int, fishery: Fishery, today: dt.date) -> dt.date:
    this_year = monday_of(week, season_starts(fishery.district, today.year))
    return (
        this_year if this_year + WEEK > today else monday_of(week, season_starts(fishery.district, today.year + 1))
    )
