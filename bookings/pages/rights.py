"""Last year's tenants and those who wait: whose week is held for an answer, and what became of the others."""

from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from bookings import queries
from bookings.models import Let


@page(OWNER)
def rights(request, *, now, fishery):
    """Soonest to answer first; each opens the let, where it is taken or given up for the tenant."""
    offers = queries.offers_visible_to(request.user).filter(same_week__season__fishery=fishery)
    offers = offers.select_related("let__booker", "let__beat", "same_week__season")
    weeks = queries.same_weeks_visible_to(request.user).filter(season__fishery=fishery).exclude(fault="")
    facts = {
        "now": now,
        "open": offers.filter(let__status=Let.Status.HELD).order_by("let__expires_at", "id"),
        "answered": offers.exclude(let__status=Let.Status.HELD).order_by("-id")[:50],
        "faults": weeks.select_related("season", "last_let__booker", "last_let__beat").order_by("week", "id"),
    }
    return shown_at(request, fishery, "house/rights.html", facts)
