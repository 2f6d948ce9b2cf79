"""A beat closed for some days and opened again: what becomes of rods out now and of the rota is told first."""

import datetime as dt

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from beats.models import Beat, Fishery
from beats.pages.acts import acted, posted
from beats.pages.asked import DayField
from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from beats.pages.keyed import KeyForm
from beats.pages.seen_first import seen_first
from beats.pages.told import or_english
from beats.queries import local_day
from beats.shared import words
from bookings.models import BeatClosure
from bookings.queries import beat_closures_visible_to
from bookings.services.closures import close_beat, reopen_beat
from bookings.services.holds import release_lapsed
from sessions.queries import outings_visible_to, turns_visible_to

BOTH = ("GET", "POST")
TEMPLATE = "closing/close.html"


class ClosingForm(KeyForm):
    """The limits are those of the API."""

    beat = forms.ModelChoiceField(Beat.objects.none(), label=_("Beat"), empty_label=None, widget=forms.RadioSelect)
    from_on = DayField(label=_("First day closed"))
    to_on = DayField(label=_("Last day closed"))
    reason = forms.CharField(
        label=_("Why"), min_length=3, max_length=200, help_text=_("Guests read it, such as: the bridge is out.")
    )

    def __init__(self, *args, fishery: Fishery, **more) -> None:
        super().__init__(*args, **more)
        self.fields["beat"].queryset = fishery.beats.select_related("fishery").order_by("order", "id")

    def clean(self):
        data = super().clean()
        first, last = data.get("from_on"), data.get("to_on")
        if first and last and last < first:
            self.add_error("to_on", _t("This is before the first day. Swap them."))
        return data


@page(OWNER)
def closings(request, *, now, fishery):
    """Those that stand or are to come."""
    today = local_day(fishery, now)
    rows = beat_closures_visible_to(request.user).filter(beat__fishery=fishery, to_on__gte=today)
    facts = {"rows": rows.order_by("from_on", "id"), "today": today}
    return shown_at(request, fishery, "closing/closings.html", facts)


@page(OWNER, methods=BOTH)
def close(request, *, now, fishery):
    form = ClosingForm(posted(request), fishery=fishery)
    if form.is_valid():  # what runs out goes before the deed is tried, in a transaction of its own
        release_lapsed(now, beat=form.cleaned_data["beat"])

    def do(data):
        facts = {name: value for name, value in data.items() if name != "key"}
        return close_beat(**facts, by=request.user, now=now)

    def tell(done: tuple[BeatClosure, bool]):
        closure, made = done
        span = _told(closure)
        if not made:
            return {"effect": [_t("%(beat)s is closed %(span)s already: %(reason)s. Nothing changes.") % span]}
        shut = _t("%(beat)s is closed %(span)s: nobody can be let a rod there. Guests read why: %(reason)s.")
        return {"effect": [shut % span, *_on_the_water(request.user, closure, local_day(fishery, now))]}

    back = reverse("house-closings", args=[fishery.slug])
    facts = {"title": _t("Close a beat"), "button": _t("Show what it does"), "fishery": fishery, "back": back}
    return seen_first(
        request, form, do, tell=tell, then=back, go=_t("Close the beat"), facts=facts, template=TEMPLATE,
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def reopen(request, *, now, fishery, pk):
    """Asked once."""
    closure = get_object_or_404(beat_closures_visible_to(request.user), pk=pk, beat__fishery=fishery)
    told = _told(closure)
    facts = {
        "title": _t("Open %(beat)s again?") % told, "button": _t("Open it again"),
        "lead": _t("Closed %(span)s: %(reason)s. Rods can be let on all these days again, at once.") % told,
    }  # fmt: skip
    return acted(
        request, KeyForm(posted(request)), lambda _data: reopen_beat(closure, by=request.user, now=now),
        then=reverse("house-closings", args=[fishery.slug]), facts=facts,
    )  # fmt: skip


def _told(closure: BeatClosure) -> dict[str, str]:
    days = {"first": or_english(words.day(closure.from_on)), "last": or_english(words.day(closure.to_on))}
    span = _t("on %(first)s") if closure.from_on == closure.to_on else _t("from %(first)s until %(last)s")
    return {"beat": closure.beat.name, "span": span % days, "reason": closure.reason}


def _on_the_water(user, closure: BeatClosure, today: dt.date) -> list[str]:
    """What closing leaves as it is: rods that are out, and turns of a published rota from today on."""
    days = (max(closure.from_on, today), closure.to_on)
    turns = turns_visible_to(user).filter(rota__beat=closure.beat, rota__status="published", day__range=days)
    sent = turns.values("day", "rod").distinct().count()
    out = outings_visible_to(user).filter(beat=closure.beat, checked_out_at__isnull=True).count()
    lines = [_rota_line(sent)]
    if closure.from_on <= today <= closure.to_on:
        lines.append(_out_line(out))
    return lines


def _rota_line(sent: int) -> str:
    if not sent:
        return _t("No published rota sends anybody there on these days.")
    told = ngettext(
        "The rota still sends rods there on %(count)s rod-day. Plan it anew afterwards.",
        "The rota still sends rods there on %(count)s rod-days. Plan it anew afterwards.",
        sent,
    )
    return told % {"count": sent}


def _out_line(out: int) -> str:
    if not out:
        return _t("Nobody has checked in there who has not checked out.")
    told = ngettext(
        "%(count)s rod is on the water there now. Closing calls nobody in: call them in yourself.",
        "%(count)s rods are on the water there now. Closing calls nobody in: call them in yourself.",
        out,
    )
    return told % {"count": out}
