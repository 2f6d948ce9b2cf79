"""One reading put right by a keeper: another level, or whether it is to be trusted."""

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.door import KEEPERS, page
from beats.queries import readings_visible_to, zone_of
from beats.services.plausible_level import LevelUnlikely
from beats.services.trust import correct_reading, judge_reading
from beats.water.feeds.levels import HIGHEST_M, LOWEST_M


class CorrectionForm(forms.Form):
    """`shown_m`: the level that was on the page, so that nobody overwrites another's correction."""

    level_m = forms.FloatField(
        label=_("The right level in metres"),
        min_value=LOWEST_M,
        max_value=HIGHEST_M,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    shown_m = forms.FloatField(widget=forms.HiddenInput)


class TrustForm(forms.Form):
    trusted = forms.TypedChoiceField(choices=[("yes", "yes"), ("no", "no")], coerce=lambda told: told == "yes")


@page(*KEEPERS, methods=("GET", "POST"))
def reading(request, *, now, fishery, pk):
    """Correct a reading's level, vouch for the reading, or distrust it. All of it is in the audit trail."""
    found = get_object_or_404(readings_visible_to(request.user).filter(gauge__fishery=fishery), pk=pk)
    judging = "trusted" in request.POST
    facts = {
        "title": _("Correct a reading"),
        "button": _("Correct it"),
        "fishery": fishery,
        "reading": found,
        "zone": zone_of(fishery),
    }

    def correct(data):
        level_m = data["level_m"]
        confirmed = request.POST.get("confirmed") == f"{level_m:g}"
        try:
            return correct_reading(
                found, level_m=level_m, shown_m=data["shown_m"], confirmed=confirmed, by=request.user, now=now
            )
        except LevelUnlikely:
            facts["confirm"] = {"value": f"{level_m:g}", "level_m": f"{level_m:.2f}"}
            raise

    def judge(data):
        return judge_reading(found, trusted=data["trusted"], by=request.user, now=now)

    kind = TrustForm if judging else CorrectionForm
    form = kind(posted(request), initial={"shown_m": found.level_m})
    do = judge if judging else correct
    back = reverse("water-level", args=[fishery.slug])
    return acted(request, form, do, then=back, template="pages/reading.html", facts=facts)
