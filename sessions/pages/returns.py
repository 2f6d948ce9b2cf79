"""The return of a season: what to look at first, the figures, the signature, and what was signed before."""

import datetime as dt

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.asked import year_of
from beats.pages.door import OWNER, page
from beats.pages.house import PDF, made_file
from beats.pages.keyed import KeyForm
from beats.shared.once import Once
from beats.shared.phrases import joined, say
from sessions.models import Catch, Return
from sessions.papers import return_files
from sessions.queries import last_signed
from sessions.returns import SeasonReturn, season_return
from sessions.season_reports import standing_words
from sessions.services.returns import BookChanged, sign_return
from sessions.snapshot import differences

ROD_DAYS = say("Rod-days")
FIGURES = {"number": say("number"), "weight_kg": say("weight in kg"), "unweighed": say("not weighed")}


class SignForm(KeyForm):
    """The figures that were read, by their hash, travel with the form."""

    content_hash = forms.CharField(max_length=64, widget=forms.HiddenInput)
    reason = forms.CharField(
        label=_("Why it is amended"),
        help_text=_("Only when this season is signed already."),
        max_length=300,
        required=False,
    )


@page(OWNER, methods=("GET", "POST"))
def season_return_page(request, *, now, fishery, season):
    """Read the list, read the figures, sign what was read."""
    season = year_of(str(season), usual=now.year)
    made, last = season_return(fishery, season, now=now), last_signed(fishery, season)
    form = SignForm(posted(request), initial={"content_hash": made.content_hash})
    if last is None:
        form.fields["reason"].widget = forms.HiddenInput()

    def do(data):
        asked = {"season": season, "content_hash": data["content_hash"], "reason": data["reason"]}
        try:
            return sign_return(
                fishery, season, content_hash=data["content_hash"], reason=data["reason"],
                by=request.user, now=now, once=Once.of(data["key"], asked),
            )  # fmt: skip
        except BookChanged:  # the page that follows shows the figures of now, so its form must name those
            form.data = form.data.copy()
            form.data["content_hash"] = made.content_hash
            raise

    facts = _facts(fishery, made, last) | {"button": _t("Sign these figures"), "title": _t("Return of a season")}
    return acted(
        request, form, do, then=reverse("house-return", args=[fishery.slug, season]),
        template="season/return.html", facts=facts,
    )  # fmt: skip


def _facts(fishery, made: SeasonReturn, last: Return | None) -> dict:
    rows = Return.objects.filter(fishery=fishery, season=made.year).select_related("signed_by").defer("fish")
    found = differences(last.snapshot, made.snapshot) if last else []
    return {
        "fishery": fishery, "made": made, "last": last,
        "same": bool(last and last.content_hash == made.content_hash),
        "differences": [named(each) for each in found], "before": made.year - 1, "after": made.year + 1,
        "versions": [(row, [named(each) for each in row.differences]) for row in rows.order_by("-version")],
    }  # fmt: skip


def named(difference: dict) -> dict:
    """A difference as it is read: its month as a day of it, and what was counted."""
    kind, _space, rest = difference["what"].partition(" ")
    fate, _space, figure = rest.partition(" ")
    counted = [Catch.Kind(kind).label, Catch.Fate(fate).label, FIGURES[figure]] if figure else [ROD_DAYS]
    return difference | {"month": dt.date(2000, difference["month"], 1), "what": joined(counted, ", ")}


@page(OWNER)
def paper(_request, *, now, fishery, season):
    """The return as the book stands, on paper."""
    season = year_of(str(season), usual=now.year)
    made, last = season_return(fishery, season, now=now), last_signed(fishery, season)
    findings = [one.sentence for one in made.findings]
    data = return_files.pdf(return_files.Paper(made.snapshot, standing_words(made, last), findings, now))
    return made_file(data, kind=PDF, name=f"return-{fishery.slug}-{season}.pdf")
