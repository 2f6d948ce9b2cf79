"""A fish of the book corrected or struck out, with a reason."""

import datetime as dt

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from beats.models import Fishery
from beats.pages.acts import acted, or_stands, posted
from beats.pages.door import KEEPERS, OWNER, page
from beats.pages.keyed import KeyForm, VersionForm
from beats.pages.told import or_english
from beats.queries import role_in, zone_of
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from sessions.models import Catch
from sessions.pages.fish_fields import FishFields
from sessions.queries import catches_visible_to
from sessions.services.catches import correct_catch, strike_out

BOTH = ("GET", "POST")


class NothingChanges(Refusal):
    """A correction that changes nothing."""

    code = "nothing-changes"
    title = say("Nothing changes")


class CorrectForm(KeyForm, VersionForm, FishFields):
    field_order = ("key", "version", *FishFields.asked, "pool", "day", "time", "reason")

    pool = forms.ModelChoiceField(None, label=_("Pool"), empty_label=_("not known"), required=False)
    day = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    time = forms.TimeField(label=_("Time"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    reason = forms.CharField(label=_("Why it is corrected"), max_length=200)

    def __init__(self, *args, fish: Catch, **more) -> None:
        self.fish, self.zone = fish, zone_of(fish.beat.fishery)
        self.local = fish.caught_at.astimezone(self.zone)
        initial = {name: getattr(fish, name) for name in ("kind", "fate", "method", "fly", "pool", "version")}
        initial |= {
            "weight": fish.weight_kg, "unit": "kg", "length": fish.length_cm, "length_unit": "cm",
            "weight_how": fish.weight_how, "length_how": fish.length_how,
            "day": self.local.date(), "time": self.local.time(),
        }  # fmt: skip
        super().__init__(*args, initial=initial, **more)
        self.fields["pool"].queryset = fish.beat.pools.order_by("order", "id")
        if fish.weight_how == Catch.WeightHow.FROM_LENGTH:
            how = self.fields["weight_how"]
            how.choices = [*how.choices, (fish.weight_how, _("reckoned from the length"))]

    def changes(self) -> dict:
        """The columns that are not as the book has them."""
        told = self.fish_facts() | {"pool": self.cleaned_data["pool"]}
        changed = {name: value for name, value in told.items() if value != getattr(self.fish, name)}
        at = dt.datetime.combine(self.cleaned_data["day"], self.cleaned_data["time"], self.zone)
        if at != self.local.replace(second=0, microsecond=0):
            changed["caught_at"] = at.astimezone(dt.UTC)
        return changed


def _fish(request, fishery: Fishery, pk: int) -> Catch:
    return get_object_or_404(catches_visible_to(request.user), pk=pk, beat__fishery=fishery)


@page(*KEEPERS, methods=BOTH)
def correct(request, *, now, fishery, pk):
    fish = _fish(request, fishery, pk)
    form = CorrectForm(posted(request), fish=fish)

    def do(data):
        if not (changes := form.changes()):
            raise NothingChanges(say("The book has the fish just so. Change what is wrong, then send it."))
        return correct_catch(
            fish, changes=changes, reason=data["reason"], version=data["version"], by=request.user, now=now
        )

    facts = _facts(request, fishery, fish) | {"title": gettext("Correct a fish"), "button": gettext("Correct it")}
    return acted(
        request, form, lambda data: or_stands(lambda: do(data), lambda: _as_asked(form)), then=facts["back"],
        template="book/correct_fish.html", facts=facts,
    )  # fmt: skip


def _as_asked(form: CorrectForm) -> Catch | None:
    """The fish, where an earlier tap of the same form has corrected it so."""
    form.fish.refresh_from_db()
    return None if form.changes() else form.fish


class StrikeForm(KeyForm):
    reason = forms.CharField(label=_("Why it is struck out"), max_length=200)


@page(*KEEPERS, methods=BOTH)
def strike(request, *, now, fishery, pk):
    fish = _fish(request, fishery, pk)
    facts = _facts(request, fishery, fish) | {
        "title": gettext("Strike a fish out"), "button": gettext("Strike it out"), "rusty": True,
        "lead": gettext("It leaves every figure, and can still be read in its history."),
    }  # fmt: skip
    return acted(
        request, StrikeForm(posted(request)),
        lambda data: strike_out(fish, reason=data["reason"], by=request.user, now=now), then=facts["back"],
        facts=facts,
    )  # fmt: skip


def _facts(request, fishery: Fishery, fish: Catch) -> dict:
    """The owner comes from the review and goes back to it; a ghillie to the tally."""
    owner = role_in(request.user, fishery) == OWNER
    season = reverse("house-return", args=[fishery.slug, fish.caught_on.year])
    return {
        "fishery": fishery, "fish": fish, "what": or_english(fish.get_kind_display()),
        "back": season if owner else reverse("water", args=[fishery.slug]),
    }  # fmt: skip
