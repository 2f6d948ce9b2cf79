"""Two rods change places: pick them, see what it does, then do it."""

import datetime as dt

from django import forms
from django.http import HttpResponse
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import KeyedForm, once_of
from beats.pages.show import shown
from beats.pages.told import or_english
from beats.queries import local_day
from beats.shared.refusals import Refusal
from sessions.models import Turn
from sessions.pages.grids import dated, who
from sessions.pages.rota import seen_rota
from sessions.services.mending import preview_swap, swap
from sessions.turn_warnings import forbidden


def _label(turn: Turn) -> str:
    told = f"{turn.part.name}: {who(turn)}, {turn.pool.name}"
    return f"{told} ({_('do not fish it')})" if forbidden([turn]) else told


class PickForm(forms.Form):
    """Two turns of one day, each part of it its own row of tiles."""

    turn = forms.TypedMultipleChoiceField(
        label=_("Tap two rods of the same part"), coerce=int, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args, turns: list[Turn], **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["turn"].choices = [(turn.pk, _label(turn)) for turn in turns]

    def clean_turn(self):
        if len(self.cleaned_data["turn"]) != 2:
            raise forms.ValidationError(_("Tap two, not more and not fewer."))
        return self.cleaned_data["turn"]


class SwapForm(KeyedForm):
    turn = forms.ModelChoiceField(None, widget=forms.HiddenInput)
    other = forms.ModelChoiceField(None, widget=forms.HiddenInput)

    def __init__(self, *args, turns, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["turn"].queryset = self.fields["other"].queryset = turns


@page(*KEEPERS, methods=("GET", "POST"))
def swapping(request, *, now, fishery, pk):
    """GET picks and previews, and changes nothing; POST makes the draft."""
    rota = seen_rota(request, fishery, pk, now=now)
    if request.method == "POST":
        return _swap(request, rota, fishery, now)
    return _pick(request, rota, fishery, now)


def _pick(request, rota, fishery, now) -> HttpResponse:
    day = _day(request.GET.get("day", ""), rota, local_day(fishery, now))
    turns = [turn for turn in rota.seen_turns if turn.day == day]
    form = PickForm(request.GET if "picked" in request.GET else None, turns=turns)
    facts = {"fishery": fishery, "rota": rota, "day": day, "form": form,
             "days": sorted({turn.day for turn in rota.seen_turns})}  # fmt: skip
    if not form.is_bound:
        return shown(request, "rota/pick.html", facts)
    if form.is_valid():
        pair = [turn for turn in turns if turn.pk in form.cleaned_data["turn"]]
        try:
            told = preview_swap(rota, turn=pair[0], other=pair[1], by=request.user, now=now)
        except Refusal as refusal:
            form.add_error(None, or_english(refusal.sentence))
        else:
            chosen = SwapForm(initial={"turn": pair[0], "other": pair[1]}, turns=rota.turns.all())
            return shown(
                request,
                "rota/swap.html",
                facts | {"form": chosen, "moves": dated(told["moves"]), "effect": told["effect"]},
            )
    return shown(request, "rota/pick.html", facts, status=422)


def _swap(request, rota, fishery, now) -> HttpResponse:
    def make(data):
        asked = once_of(
            {"key": data["key"], "rota": rota.pk, "turn": data["turn"].pk, "other": data["other"].pk}, "swap"
        )
        return swap(rota, turn=data["turn"], other=data["other"], by=request.user, now=now, once=asked)[0]

    form = SwapForm(request.POST, turns=rota.turns.select_related("part", "pool"))
    return acted(
        request, form, make, then=lambda draft: reverse("water-rota-week", args=[fishery.slug, draft.pk]),
        template="rota/swap.html", facts={"fishery": fishery, "rota": rota, "moves": [], "effect": []},
    )  # fmt: skip


def _day(asked: str, rota, today: dt.date) -> dt.date:
    """The day asked for, today, or the first of the rota."""
    days = sorted({turn.day for turn in rota.seen_turns})
    try:
        wanted = dt.date.fromisoformat(asked)
    except ValueError:
        wanted = today
    return wanted if wanted in days or not days else days[0]
