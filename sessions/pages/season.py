"""The season's book: fish, effort, rates with their limits, pictures, and the whole of it on paper."""

import datetime as dt

from django import forms
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from beats.pages.asked import year_of
from beats.pages.door import OWNER, page
from beats.pages.house import PDF, PICTURE, made_file, shown_at
from sessions.queries import flagged_fish
from sessions.returns import season_return
from sessions.season_reports import report_of
from sessions.seasons import season_statistics

SPECIES = [("salmon", _("Salmon")), ("sea_trout", _("Sea trout"))]
PICTURES = [("weeks", _("Weeks")), ("level", _("Levels")), ("pools", _("Pools"))]


class PictureForm(forms.Form):
    species = forms.ChoiceField(choices=SPECIES)
    of = forms.ChoiceField(choices=PICTURES)


@page(OWNER)
def season(request, *, now, fishery, year):
    year = year_of(str(year), usual=now.year)
    kinds = [(key, name, season_statistics(fishery, year, species=key, now=now)) for key, name in SPECIES]
    made = season_return(fishery, year, now=now)
    facts = {
        "year": year, "before": year - 1, "after": year + 1, "kinds": kinds, "pictures": PICTURES,
        "made": made, "effort": [(dt.date(year, each.month, 1), each) for each in made.effort],
        "flagged": flagged_fish(fishery, year),
    }  # fmt: skip
    return shown_at(request, fishery, "season/season.html", facts)


@page(OWNER)
def picture(_request, *, now, fishery, year, species, of):
    """One picture of the season, for the page to show."""
    from sessions.papers.charts import picture as drawn  # noqa: PLC0415 - the plotting library loads slowly

    year = year_of(str(year), usual=now.year)
    if not PictureForm({"species": species, "of": of}).is_valid():
        raise Http404
    made = season_statistics(fishery, year, species=species, now=now)
    return made_file(drawn(made, of, water=fishery.name), kind=PICTURE)


@page(OWNER)
def report(_request, *, now, fishery, year):
    """The season on four pages, to keep and to print."""
    from sessions.papers import season_report  # noqa: PLC0415 - takes a second to load, and only printing needs it

    year = year_of(str(year), usual=now.year)
    made = season_report.pdf(report_of(fishery, year, now))
    return made_file(made, kind=PDF, name=f"season-{fishery.slug}-{year}.pdf")
