"""A fish written down for a guest, and the next one at once."""

import datetime as dt

from django import forms
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.models import Beat
from beats.pages.acts import acted, posted
from beats.pages.choices import pools_of
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import KeyedForm, once_of
from beats.queries import zone_of
from sessions import queries
from sessions.pages.fish_fields import FishFields
from sessions.services.catches import cautions_of, note_catch


class FishForm(KeyedForm, FishFields):
    field_order = ("key", "guest", "where", *FishFields.asked, "day", "time")

    guest = forms.ModelChoiceField(
        None, label=_("Whose fish"), empty_label=_("nobody named"), required=False,
        help_text=_("Those with a rod, or on the water, in the last seven days."),
    )  # fmt: skip
    where = forms.ChoiceField(label=_("Where"))
    day = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    time = forms.TimeField(label=_("Time"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))

    def __init__(self, *args, fishery, local, **kwargs):
        super().__init__(*args, **kwargs)
        self.fishery = fishery
        self.beats = list(fishery.beats.select_related("fishery", "gauge").order_by("order", "id"))
        self.pools = list(pools_of(fishery))
        self.fields["guest"].queryset = queries.anglers_about(fishery, day=local.date())
        self.fields["where"].choices = [(beat.name, self._places(beat)) for beat in self.beats]
        self.fields["day"].initial, self.fields["time"].initial = local.date(), local.time()

    def _places(self, beat: Beat) -> list:
        pools = [(f"pool {pool.pk}", pool.name) for pool in self.pools if pool.beat_id == beat.pk]
        return [*pools, (f"beat {beat.pk}", _("%(beat)s, pool not known") % {"beat": beat.name})]

    def told(self) -> dict:
        """What `note_catch` is told, but for who and when it was told."""
        data = self.cleaned_data
        what, pk = data["where"].split()
        pool = next((pool for pool in self.pools if what == "pool" and pool.pk == int(pk)), None)
        wanted = pool.beat_id if pool else int(pk)
        beat = next(beat for beat in self.beats if beat.pk == wanted)
        at = dt.datetime.combine(data["day"], data["time"], zone_of(self.fishery)).astimezone(dt.UTC)
        return {"beat": beat, "pool": pool, "guest": data["guest"], "caught_at": at} | self.fish_facts()


@page(*KEEPERS, methods=("GET", "POST"))
def fish(request, *, now, fishery):
    form = FishForm(posted(request), fishery=fishery, local=now.astimezone(zone_of(fishery)))

    def note(data):
        told = form.told()
        return note_catch(**told, by=request.user, now=now, once=once_of(data, "fish"))[0]

    path = reverse("water-fish", args=[fishery.slug])
    facts = {
        "title": _("Add a fish"),
        "button": _("Write it down"),
        "fishery": fishery,
        "zone": zone_of(fishery),
        "keep": _("A fish"),
    }
    if request.method != "POST":
        facts |= _noted(request, fishery)
    return acted(
        request,
        form,
        note,
        then=lambda made: f"{path}?noted={made.pk}",
        template="book/add_fish.html",
        facts=facts,
    )


def _noted(request, fishery) -> dict:
    """The fish just written down, and what somebody should look at."""
    asked = request.GET.get("noted", "")
    if not asked:
        return {}
    seen = queries.catches_visible_to(request.user).filter(beat__fishery=fishery)
    made = seen.filter(pk=asked).first() if asked.isdecimal() and len(asked) < 12 else None
    if made is None:
        raise Http404
    return {"noted": made, "cautions": cautions_of(made)}
