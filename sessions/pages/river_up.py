"""The river's up: which pools, why, and the draft that moves their rods."""

import datetime as dt

from django import forms
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.choices import PoolsField, pools_of
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import KeyedForm, once_of
from beats.queries import local_day
from sessions.services.river_up import river_up

REASONS = {
    "up": ("the river is up", _("The river is up")),
    "coloured": ("the water is coloured", _("The water is coloured")),
    "debris": ("trees are coming down", _("Trees are coming down")),
}
"""What is written in the book and on the rota, and what the ghillie presses."""


class RiverUpForm(KeyedForm):
    pools = PoolsField(label=_("Pools to close"))
    until = forms.ChoiceField(
        label=_("Until"),
        choices=[("today", _("the end of today")), ("week", _("the end of the week"))],
        initial="today",
        widget=forms.RadioSelect,
    )
    reason = forms.ChoiceField(
        label=_("Why"),
        choices=[(key, words) for key, (_written, words) in REASONS.items()],
        initial="up",
        widget=forms.RadioSelect,
    )
    words = forms.CharField(label=_("Or in your own words"), max_length=200, required=False)

    def __init__(self, *args, fishery, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["pools"].queryset = pools_of(fishery)

    def asked(self, today: dt.date) -> dict:
        """What the service is asked, but for who and when."""
        data = self.cleaned_data
        sunday = today + dt.timedelta(days=6 - today.weekday())
        return {
            "from_on": today,
            "to_on": today if data["until"] == "today" else sunday,
            "reason": data["words"].strip() or REASONS[data["reason"]][0],
        }


@page(*KEEPERS, methods=("GET", "POST"))
def up(request, *, now, fishery):
    form = RiverUpForm(posted(request), fishery=fishery)

    def close(data):
        asked, pools = form.asked(local_day(fishery, now)), list(data["pools"])
        once = once_of({"key": data["key"], "pools": [pool.pk for pool in pools]} | asked, "river up")
        return river_up(pools, **asked, by=request.user, now=now, once=once)

    def onward(draft) -> str:
        if draft is None:
            return reverse("water-rota", args=[fishery.slug])
        return reverse("water-rota-week", args=[fishery.slug, draft.pk])

    facts = {"title": _("River's up"), "button": _("Close them and mend the rota"), "fishery": fishery}
    return acted(request, form, close, then=onward, template="rota/river_up.html", facts=facts)
