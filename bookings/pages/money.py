"""The owner's takings: what came in, what is to come."""

from beats.pages.asked import year_of
from beats.pages.door import OWNER, page
from beats.pages.house import PICTURE, made_file, shown_at
from beats.queries import local_day
from bookings import accounts
from bookings import takings as pure


@page(OWNER)
def takings(request, *, now, fishery):
    told = _told(request, fishery, now)
    facts = {"told": told, "before": told["year"] - 1, "after": told["year"] + 1}
    return shown_at(request, fishery, "house/takings.html", facts)


@page(OWNER)
def picture(request, *, now, fishery):
    told = _told(request, fishery, now)
    title = f"{fishery.name}, {told['year']}"
    made = pure.picture(title, told["months"], currency=told["currency"])
    return made_file(made, kind=PICTURE)


def _told(request, fishery, now) -> dict:
    today = local_day(fishery, now)
    return accounts.takings(fishery, year_of(request.GET.get("year", ""), usual=today.year), today=today)
