"""Rods called off the water: in one press, who has answered, and the end of it."""

import uuid

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.choices import PoolsField, pools_of
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import KeyedForm, once_of
from beats.queries import zone_of
from beats.shared.phrases import say
from safety import queries
from safety.models import Recall
from safety.services.calling import call_in, end_recall
from safety.services.channels_available import channels_available

REASONS = {
    "river": (say("The river is rising."), _("The river is rising")),
    "thunder": (say("Thunder is about: put the rod down."), _("Thunder is about")),
    "dark": (say("It is getting dark."), _("It is getting dark")),
    "needed": (say("Somebody needs help: come to the hut."), _("Somebody needs help")),
}
"""What the anglers are sent, and what the ghillie presses."""


class RecallForm(KeyedForm):
    beat = forms.ModelChoiceField(None, label=_("Who is called"), empty_label=None, widget=forms.RadioSelect)
    reason = forms.ChoiceField(
        label=_("Why"),
        choices=[(key, words) for key, (_sent, words) in REASONS.items()],
        initial="river",
        widget=forms.RadioSelect,
    )
    pools = PoolsField(
        label=_("Only these pools"), help_text=_("None pressed: every rod of the beat."), required=False
    )
    words = forms.CharField(label=_("Or in your own words"), max_length=180, required=False)

    def __init__(self, *args, fishery, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["beat"].queryset = beats = fishery.beats.select_related("fishery").order_by("order", "id")
        self.fields["beat"].initial = beats.first()
        self.fields["pools"].queryset = pools_of(fishery)

    def sentence(self) -> str:
        """What the anglers are sent."""
        return self.cleaned_data["words"].strip() or REASONS[self.cleaned_data["reason"]][0]


@page(*KEEPERS, methods=("GET", "POST"))
def recall(request, *, now, fishery):
    form = RecallForm(posted(request), fishery=fishery)

    def call(data):
        pools = [pool.pk for pool in data["pools"]]
        asked = once_of(
            {"key": data["key"], "beat": data["beat"].pk, "pools": pools, "reason": form.sentence()}, "recall"
        )
        return call_in(data["beat"], reason=form.sentence(), pools=pools, by=request.user, now=now, once=asked)

    standing = queries.recalls_visible_to(request.user).filter(beat__fishery=fishery, ended_at__isnull=True)
    standing = standing.order_by("id")
    facts = {
        "title": _("Call rods in"),
        "button": _("Call them in now"),
        "rusty": True,
        "fishery": fishery,
        "zone": zone_of(fishery),
        "recalls": standing,
        "at_once": _at_once(form, standing),
        "no_way": not (channels_available().ways or channels_available().push),
    }
    return acted(
        request, form, call, then=reverse("water-recall", args=[fishery.slug]),
        template="safety/recall.html", facts=facts,
    )  # fmt: skip


def _at_once(form: RecallForm, standing) -> list[tuple]:
    """The beats not called in by hand yet, each with the key of its own press."""
    called = {row.beat_id for row in standing if row.cause == Recall.Cause.HAND}
    return [(beat, uuid.uuid4()) for beat in form.fields["beat"].queryset if beat.pk not in called]


@page(*KEEPERS, methods=("GET", "POST"))
def recall_end(request, *, now, fishery, pk):
    """Asked for once: a recall ended by a slip of the thumb would leave rods on a rising river."""
    row: Recall = get_object_or_404(queries.recalls_visible_to(request.user), pk=pk, beat__fishery=fishery)
    facts = {
        "title": _("End the recall of %(beat)s?") % {"beat": row.beat.name},
        "lead": _("Rods that have not answered are asked no longer. Look at the river and the tally first."),
        "button": _("End it"),
        "rusty": True,
    }
    form = forms.Form(posted(request))
    return acted(
        request, form, lambda _data: end_recall(row, by=request.user, now=now),
        then=reverse("water-recall", args=[fishery.slug]), facts=facts,
    )  # fmt: skip
