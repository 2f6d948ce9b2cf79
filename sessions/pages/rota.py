"""Today's rota, by pool and by rod; a week planned, a draft looked at and published; the sheet."""

import datetime as dt
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import KeyedForm, once_of
from beats.pages.show import shown
from beats.queries import local_day
from beats.shared.made import NOTHING_FETCHED, PRIVATE
from beats.water.limits import Grade
from sessions import queries
from sessions.models import Rota, Turn
from sessions.pages.grids import by_pool, by_rod, dated, days_of
from sessions.services.rotas import plan_rota, publish_rota
from sessions.sheets import gather
from sessions.sheets.page import page as sheet_page
from sessions.turn_conditions import add_conditions
from sessions.turn_warnings import forbidden

WEEK = dt.timedelta(days=7)


class PlanForm(KeyedForm):
    beat = forms.ModelChoiceField(None, label=_("Beat"), empty_label=None, widget=forms.RadioSelect)
    week = forms.TypedChoiceField(
        label=_("Week"),
        choices=[(0, _("this week")), (1, _("next week"))],
        coerce=int,
        initial=0,
        widget=forms.RadioSelect,
    )

    def __init__(self, *args, fishery, **kwargs):
        super().__init__(*args, **kwargs)
        beats = fishery.beats.select_related("fishery", "gauge").order_by("order", "id")
        self.fields["beat"].queryset, self.fields["beat"].initial = beats, beats.first()


@page(*KEEPERS)
def rota(request, *, now, fishery):
    today = local_day(fishery, now)
    days = queries.rotas_of_day(fishery, today)
    add_conditions([turn for day in days for turn in day.turns], now=now)
    beats = [
        {
            "day": day,
            "by_pool": by_pool(day.turns),
            "by_rod": by_rod(day.turns),
            "forbidden": forbidden(day.turns),
            "not_known": _not_known(day.turns),
        }
        for day in days
    ]
    return shown(request, "rota/today.html", {"fishery": fishery, "today": today, "beats": beats})


def _not_known(turns: list[Turn]) -> str:
    """The pools of turns that could not be held against today's river, by name."""
    unknown = [turn for turn in turns if turn.conditions and turn.conditions.wading == Grade.NOT_KNOWN]
    return ", ".join(dict.fromkeys(turn.pool.name for turn in unknown))


@page(*KEEPERS, methods=("GET", "POST"))
def plan(request, *, now, fishery):
    def work_out(data):
        today = local_day(fishery, now)
        first_on = today - dt.timedelta(days=today.weekday()) + data["week"] * WEEK
        asked = once_of({"key": data["key"], "beat": data["beat"].pk, "first_on": first_on}, "plan")
        return plan_rota(data["beat"], first_on=first_on, by=request.user, now=now, once=asked)[0]

    facts = {
        "title": _("Plan a week"),
        "lead": _("It takes some seconds. Nobody sees the draft until you publish it."),
        "button": _("Work it out"),
    }
    return acted(
        request, PlanForm(posted(request), fishery=fishery), work_out,
        then=lambda made: reverse("water-rota-week", args=[fishery.slug, made.pk]), facts=facts,
    )  # fmt: skip


@page(*KEEPERS, methods=("GET", "POST"))
def week(request, *, now, fishery, pk):
    """A rota: who moves and why, what that does, all turns; a draft has a button that publishes it."""
    row = seen_rota(request, fishery, pk, now=now)
    form = forms.Form(posted(request))
    return acted(
        request, form, lambda _data: publish_rota(row, by=request.user, now=now),
        then=reverse("water-rota", args=[fishery.slug]), template="rota/week.html", facts=_told(row, fishery),
    )  # fmt: skip


@page(*KEEPERS)
def sheet(request, *, now, fishery, pk):
    paper = sheet_page(gather.sheet(_rota_of(request, fishery, pk), now=now))
    return HttpResponse(paper, headers=NOTHING_FETCHED | PRIVATE)


def seen_rota(request, fishery, pk: int, *, now: dt.datetime) -> Rota:
    """A rota of this water with its turns and what is known of each; 404 for another's."""
    rota = _rota_of(request, fishery, pk)
    add_conditions(rota.seen_turns, now=now)
    return rota


def _rota_of(request, fishery, pk: int) -> Rota:
    get_object_or_404(queries.rotas_visible_to(request.user), pk=pk, beat__fishery=fishery)
    return queries.rota_as_seen_by(request.user, pk)


def _told(row: Rota, fishery) -> dict[str, Any]:
    paper = row.certificate
    return {
        "title": _("%(beat)s: the week's rota") % {"beat": row.beat.name},
        "fishery": fishery,
        "rota": row,
        "moves": dated(paper.get("moves", [])),
        "effect": paper.get("effect", []),
        "goals": paper["goals"],
        "notes": paper["notes"],
        "closed": sorted(paper["closed_pools"].items()),
        "days": days_of(row.seen_turns),
        "forbidden": forbidden(row.seen_turns),
        "is_draft": row.status == Rota.Status.DRAFT,
        "is_old": row.status == Rota.Status.SUPERSEDED,
    }
