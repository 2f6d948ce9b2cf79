"""The one form of a fish: what is asked of it, whoever enters it, and the columns that come of the answers."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from sessions.models import Catch
from sessions.pages.sizes import SizesForm

KINDS = [
    (Catch.Kind.MSW, _("salmon (multi-sea-winter)")),
    (Catch.Kind.GRILSE, _("grilse (one sea winter)")),
    (Catch.Kind.SEA_TROUT, _("sea trout")),
    (Catch.Kind.FINNOCK, _("finnock")),
    (Catch.Kind.KELT, _("kelt (noted, not counted)")),
    (Catch.Kind.FARMED_MSW, _("farmed-origin salmon")),
    (Catch.Kind.FARMED_GRILSE, _("farmed-origin grilse")),
    (Catch.Kind.NON_NATIVE, _("non-native fish (noted, not counted)")),
]
FATES = [(Catch.Fate.RELEASED, _("put back")), (Catch.Fate.KEPT, _("kept"))]
NOT_STATED = ("", _("not stated"))
WEIGHT_HOW = [NOT_STATED, (Catch.WeightHow.WEIGHED, _("weighed")), (Catch.WeightHow.ESTIMATED, _("estimated"))]
LENGTH_HOW = [NOT_STATED, (Catch.LengthHow.MEASURED, _("measured")), (Catch.LengthHow.ESTIMATED, _("estimated"))]
METHODS = [
    NOT_STATED,
    (Catch.Method.FLY, _("fly")),
    (Catch.Method.SPINNER, _("spinner")),
    (Catch.Method.BAIT, _("bait")),
    (Catch.Method.OTHER, _("another method")),
]


class FishFields(SizesForm):
    """What is not stated stays unknown: no method, and no way of weighing or measuring, is taken for granted."""

    facts = ("kind", "fate", "weight_kg", "weight_how", "length_cm", "length_how", "method", "fly")
    asked = (
        "kind", "fate", "length", "length_unit", "length_how", "weight", "unit", "weight_how", "method", "fly",
    )  # fmt: skip

    kind = forms.ChoiceField(label=_("What"), choices=KINDS, widget=forms.RadioSelect)
    fate = forms.ChoiceField(label=_("Kept or released?"), choices=FATES, widget=forms.RadioSelect)
    length_how = forms.ChoiceField(label=_("The length was"), choices=LENGTH_HOW, required=False)
    weight_how = forms.ChoiceField(label=_("The weight was"), choices=WEIGHT_HOW, required=False)
    method = forms.ChoiceField(label=_("Caught on"), choices=METHODS, required=False)
    fly = forms.CharField(label=_("Fly or lure, if known"), max_length=80, required=False)

    def fish_facts(self) -> dict[str, Any]:
        """Columns of the fish by name, in kilograms and centimetres."""
        return {name: self.cleaned_data[name] for name in self.facts}
