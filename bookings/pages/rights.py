"""Last year's tenants and those who wait: whose week is held for an answer, and what became of the others."""

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import posted
from beats.pages.asked import DayField
from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from beats.pages.keyed import KeyForm
from beats.pages.seen_first import seen_first
from beats.pages.told import or_english
from beats.queries import local_day
from beats.shared import words
from bookings import queries
from bookings.models import Let, LettingSeason
from bookings.services.seasons import open_season


@page(OWNER)
def rights(request, *, now, fishery):
    """Soonest to answer first; each opens the let, where it is taken or given up for the tenant."""
    offers = queries.offers_visible_to(request.user).filter(same_week__season__fishery=fishery)
    offers = offers.select_related("let__booker", "let__beat", "same_week__season", "notice", "reminder")
    weeks = queries.same_weeks_visible_to(request.user).filter(season__fishery=fishery).exclude(fault="")
    facts = {
        "now": now,
        "open": offers.filter(let__status=Let.Status.HELD).order_by("let__expires_at", "id"),
        "answered": offers.exclude(let__status=Let.Status.HELD).order_by("-id")[:50],
        "faults": weeks.select_related("season", "last_let__booker", "last_let__beat").order_by("week", "id"),
    }
    return shown_at(request, fishery, "house/rights.html", facts)


class SeasonForm(KeyForm):
    """Which year is let, and until when last year's tenants come first."""

    year = forms.TypedChoiceField(label=_("Which season"), coerce=int, widget=forms.RadioSelect)
    answer_by = DayField(label=_("Their week is held until the end of"))

    def __init__(self, *args, this_year: int, **more) -> None:
        super().__init__(*args, **more)
        years = (this_year, this_year + 1)
        self.fields["year"].choices = [
            (year, _t("%(year)s, after the tenants of %(before)s") % {"year": year, "before": year - 1})
            for year in years
        ]
        self.fields["year"].initial = this_year + 1


@page(OWNER, methods=("GET", "POST"))
def opening(request, *, now, fishery):
    """Each let of last year gets its week again, held for an answer."""
    standing = {row.year: row for row in fishery.letting_seasons.order_by("-year")[:10]}

    def do(data):
        return open_season(fishery, year=data["year"], answer_by=data["answer_by"], by=request.user, now=now)[0]

    facts = {
        "title": _t("Open a season"), "button": _t("Show whose weeks are held"), "fishery": fishery,
        "back": reverse("house-rights", args=[fishery.slug]), "opened": list(standing.values()),
    }  # fmt: skip
    form = SeasonForm(posted(request), this_year=local_day(fishery, now).year)
    return seen_first(
        request, form, do, tell=lambda made: {"effect": _opened(made, again=made.year in standing)},
        then=reverse("house-rights", args=[fishery.slug]), go=_t("Open the season"), facts=facts,
        template="house/open_season.html",
    )  # fmt: skip


def _opened(made: LettingSeason, *, again: bool) -> list[str]:
    until = {"year": made.year, "day": or_english(words.day(made.answer_by))}
    if again:
        return [_t("%(year)s is open already; tenants answer until %(day)s. Nothing changes.") % until]
    lets = list(queries.lets_of_the_year_before(made).order_by("first_on", "pk"))
    if not lets:
        return [_t("%(year)s is opened. No let of the year before has a week to be held.") % until]
    held = _t("Until the end of %(day)s these tenants' weeks are held; then the waiting list is asked.") % until
    return [held, *(_t("%(who)s, %(where)s, as from %(first)s") % _tenant(let) for let in lets)]


def _tenant(let: Let) -> dict[str, str]:
    return {"who": let.booker.name, "where": let.beat.name, "first": or_english(words.day(let.first_on))}
