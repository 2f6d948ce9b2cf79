"""The return of a season: what to look at first, the figures, the signature, and what was signed before."""

import datetime as dt

from django import forms
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.asked import year_of
from beats.pages.door import OWNER, page
from beats.pages.house import PDF, made_file
from beats.pages.keyed import KeyForm
from beats.pages.told import or_english
from beats.shared.once import Once
from beats.shared.phrases import joined, say
from sessions.declaration import DECLARATION, Signer
from sessions.models import Catch, Return
from sessions.month_records import WORDS, Record
from sessions.papers import return_files
from sessions.queries import last_signed
from sessions.returns import SeasonReturn, season_return
from sessions.season_reports import standing_words
from sessions.services.returns import BookChanged, sign_return
from sessions.snapshot import differences

NOT_OF_FISH = {"rod": say("Rod-days"), "record": say("what is on record")}
NOT_KNOWN = say("not known")
FIGURES = {"number": say("number"), "weight_kg": say("weight in kg"), "unweighed": say("not weighed")}


CAPACITIES = [
    (Return.Capacity.OWNER, _("Owner")),
    (Return.Capacity.OCCUPIER, _("Occupier")),
    (Return.Capacity.AGENT, _("Agent")),
]


class SignForm(KeyForm):
    """The figures that were read, by their hash, travel with the form."""

    content_hash = forms.CharField(max_length=64, widget=forms.HiddenInput)
    signer_name = forms.CharField(label=_("Name of the person who signs"), max_length=120)
    signer_capacity = forms.ChoiceField(label=_("Signs as"), choices=CAPACITIES, widget=forms.RadioSelect)
    signer_address = forms.CharField(
        label=_("Postal address"), max_length=400, widget=forms.Textarea(attrs={"rows": 3})
    )
    declared = forms.BooleanField(label=_("I make this declaration"))
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
    form = SignForm(
        posted(request), initial={"content_hash": made.content_hash} | _signed_before(fishery, request)
    )
    if last is None:
        form.fields["reason"].widget = forms.HiddenInput()

    def do(data):
        signer = Signer(data["signer_name"], data["signer_capacity"], data["signer_address"], data["declared"])
        asked = {
            "season": season,
            "content_hash": data["content_hash"],
            "reason": data["reason"],
            "by": vars(signer),
        }
        try:
            return sign_return(
                fishery, season, content_hash=data["content_hash"], reason=data["reason"], signer=signer,
                by=request.user, now=now, once=Once.of(data["key"], asked),
            )  # fmt: skip
        except BookChanged:  # the page that follows shows the figures of now, so its form must name those
            form.data = form.data.copy()
            form.data["content_hash"] = made.content_hash
            raise

    facts = _facts(fishery, made, last) | {
        "button": gettext("Sign these figures"),
        "title": gettext("Return of a season"),
    }
    return acted(
        request, form, do, then=reverse("house-return", args=[fishery.slug, season]),
        template="season/return.html", facts=facts,
    )  # fmt: skip


def _signed_before(fishery, request) -> dict:
    """Who signed last, for the owner to confirm or change; the declaration is made each time."""
    before = (
        Return.objects.filter(fishery=fishery).exclude(signer_name="").order_by("-id").defer("fish", "snapshot")
    )
    if (last := before.first()) is None:
        return {"signer_name": request.user.name}
    names = ("signer_name", "signer_capacity", "signer_address")
    return {name: getattr(last, name) for name in names}


def _facts(fishery, made: SeasonReturn, last: Return | None) -> dict:
    rows = Return.objects.filter(fishery=fishery, season=made.year).select_related("signed_by").defer("fish")
    found = differences(last.snapshot, made.snapshot) if last else []
    return {
        "fishery": fishery, "made": made, "last": last, "declaration": DECLARATION,
        "questions": [(one, answer_link(fishery, made.year, one)) for one in made.questions],
        "answered": [one for one in made.findings if one.answer],
        "same": bool(last and last.content_hash == made.content_hash),
        "differences": [named(each) for each in found], "before": made.year - 1, "after": made.year + 1,
        "versions": [(row, [named(each) for each in row.differences]) for row in rows.order_by("-version")],
    }  # fmt: skip


def named(difference: dict) -> dict:
    """A difference as it is read: its month as a day of it, and what was counted."""
    kind, _space, rest = difference["what"].partition(" ")
    fate, _space, figure = rest.partition(" ")
    counted = [Catch.Kind(kind).label, Catch.Fate(fate).label, FIGURES[figure]] if figure else [NOT_OF_FISH[kind]]
    told = {side: _figure(difference[side]) for side in ("before", "after")}
    return difference | told | {"month": dt.date(2000, difference["month"], 1), "what": joined(counted, ", ")}


def _figure(figure: str | None) -> str:
    if figure is None:
        return or_english(NOT_KNOWN)
    return or_english(WORDS[Record(figure)]) if figure in set(Record) else figure


def answer_link(fishery, season: int, question) -> str:
    """Where a question is answered."""
    if question.code == "no-record":
        return reverse("house-return-months", args=[fishery.slug, season])
    return reverse("house-return-question", args=[fishery.slug, season, question.code, question.month or 0])


@page(OWNER)
def paper(_request, *, now, fishery, season):
    """The return as the book stands, on paper."""
    season = year_of(str(season), usual=now.year)
    made, last = season_return(fishery, season, now=now), last_signed(fishery, season)
    data = return_files.pdf(return_files.of_book(made, standing_words(made, last), at=now))
    return made_file(data, kind=PDF, name=f"return-{fishery.slug}-{season}.pdf")
