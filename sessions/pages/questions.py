"""The questions of a season's review, each answered where it is asked."""

import datetime as dt

from django import forms
from django.db import transaction
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.asked import year_of
from beats.pages.door import OWNER, page
from beats.pages.keyed import KeyForm
from beats.pages.told import or_english
from beats.queries import zone_of
from beats.shared.once import Once
from sessions.month_records import Record, month_name
from sessions.returns import SeasonReturn, season_return, statements
from sessions.review import CODES
from sessions.review_fish import fish_in_question, open_outings
from sessions.services.month_statements import answer_question, state_month
from sessions.services.returns import decide_effort

EFFORT = frozenset({"no-effort", "effort-differs"})
MOST = 200
RECORDS = [
    ("no_fishing", _("no fishing")),
    ("none_caught", _("fished, none caught")),
    ("no_record", _("no record")),
]


class MonthsForm(KeyForm):
    """A choice for each month without fish."""

    def __init__(self, *args, made: SeasonReturn, stated: dict[int, str], **more) -> None:
        super().__init__(*args, **more)
        self.months = [month.month for month in made.months if month.record != Record.CAUGHT]
        for month in self.months:
            self.fields[f"month_{month}"] = forms.ChoiceField(
                label=or_english(month_name(month)), choices=RECORDS, widget=forms.RadioSelect,
                initial=stated.get(month, "no_record"), required=False,
            )  # fmt: skip

    def changed(self, stated: dict[int, str]) -> list[tuple[int, str]]:
        """What was chosen and is not what stands."""
        chosen = [(month, self.cleaned_data[f"month_{month}"]) for month in self.months]
        return [(month, record) for month, record in chosen if record and record != stated.get(month, "no_record")]


@page(OWNER, methods=("GET", "POST"))
def months(request, *, now, fishery, season):
    """State what happened in each month without fish."""
    season = year_of(str(season), usual=now.year)
    made, stated = season_return(fishery, season, now=now), statements(fishery, season)
    form = MonthsForm(posted(request), made=made, stated=stated)

    def do(data):
        with transaction.atomic():
            for month, record in form.changed(stated):
                once = Once.of(f"{data['key']}-{month}"[:80], [season, month, record])
                state_month(fishery, season, month=month, record=record, by=request.user, now=now, once=once)

    facts = {
        "title": gettext("Months without fish, %(season)s") % {"season": season}, "fishery": fishery,
        "button": gettext("State this"), "back": reverse("house-return", args=[fishery.slug, season]),
    }  # fmt: skip
    return acted(request, form, do, then=facts["back"], template="season/months.html", facts=facts)


class ReasonForm(KeyForm):
    reason = forms.CharField(
        label=_("It is right as it stands, because"), max_length=300, min_length=3,
        help_text=_("It is kept with the return, and printed on it."),
    )  # fmt: skip


class RodDaysForm(KeyForm):
    rod_days = forms.IntegerField(
        label=_("Rod-days fished for salmon"), min_value=0, max_value=100_000,
        help_text=_("One rod on one day is one, whatever the hours. Blank days count."),
    )  # fmt: skip
    reason = forms.CharField(label=_("How you know"), max_length=300)


@page(OWNER, methods=("GET", "POST"))
def question(request, *, now, fishery, season, code, month):
    """One question: what it is about, where each thing is put right, and an answer where it is right already."""
    season, of_month = year_of(str(season), usual=now.year), month or None
    back = reverse("house-return", args=[fishery.slug, season])
    made = season_return(fishery, season, now=now)
    found = next((one for one in made.findings if (one.code, one.month) == (code, of_month)), None)
    if code not in CODES - {"no-record"}:
        raise Http404
    by_effort = code in EFFORT and of_month is not None
    form = (RodDaysForm if by_effort else ReasonForm)(posted(request))

    def do(data):
        key, asked = data["key"], {name: str(value) for name, value in data.items() if name != "key"}
        common = {"by": request.user, "now": now, "once": Once.of(key, [season, code, of_month, asked])}
        if by_effort:
            return decide_effort(
                fishery, season, month=of_month, rod_days=data["rod_days"], reason=data["reason"], **common
            )
        return answer_question(fishery, season, code=code, month=of_month, reason=data["reason"], **common)

    facts = {
        "title": gettext("A question of the review"), "fishery": fishery, "back": back, "question": found,
        "button": gettext("Set the rod-days") if by_effort else gettext("Answer"), "zone": zone_of(fishery),
        "fish": fish_in_question(fishery, season, code, of_month)[:MOST],
        "outings": _open(fishery, season, of_month, now) if code == "open-outing" else (),
    }  # fmt: skip
    return acted(request, form, do, then=back, template="season/question.html", facts=facts)


def _open(fishery, season: int, month: int | None, now: dt.datetime) -> list:
    rows = open_outings(fishery, season, now=now).order_by("checked_in_at", "id")
    zone = zone_of(fishery)
    return [row for row in rows if row.checked_in_at.astimezone(zone).month == month]
