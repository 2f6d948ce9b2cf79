"""What the gauges say now, and a level noted at one of them."""

import datetime as dt
from dataclasses import dataclass

from django import forms
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.models import Gauge
from beats.pages.acts import acted, posted
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import AGE_UNKNOWN, AgedForm
from beats.queries import gauges_now
from beats.services.river import note_reading
from beats.water.feeds.levels import COLDEST_C, HIGHEST_M, LOWEST_M, WARMEST_C

AGO = [(0, _("now")), (15, _("15 minutes ago")), (30, _("30 minutes ago")), (60, _("an hour ago"))]


class LevelForm(AgedForm):
    gauge = forms.ModelChoiceField(None, label=_("Gauge"), empty_label=None, widget=forms.RadioSelect)
    level_m = forms.FloatField(
        label=_("Level in metres, as the board reads"),
        min_value=LOWEST_M,
        max_value=HIGHEST_M,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    ago = forms.TypedChoiceField(label=_("Read"), choices=AGO, coerce=int, initial=0, widget=forms.RadioSelect)
    water_c = forms.FloatField(
        label=_("Water in °C, if you measured it"),
        min_value=COLDEST_C,
        max_value=WARMEST_C,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )

    def __init__(self, *args, fishery, **kwargs):
        super().__init__(*args, **kwargs)
        gauges = Gauge.objects.filter(fishery=fishery).select_related("fishery").order_by("name", "id")
        self.fields["gauge"].queryset = gauges
        self.fields["gauge"].initial = gauges.first()

    def clean(self):
        """A reading of unknown age is not taken: it would be shown as fresh."""
        data = super().clean()
        if data.get("said_age_s") == AGE_UNKNOWN:
            self.add_error(
                None, _("Your phone cannot say when this was read: its clock was changed. Read the board again.")
            )
        return data


@dataclass(frozen=True)
class Told:
    """One gauge in words."""

    words: str
    trend: str
    attribution: str | None


@page(*KEEPERS, methods=("GET", "POST"))
def level(request, *, now, fishery):
    form = LevelForm(posted(request), fishery=fishery)

    def note(data):
        # To the minute: a second tap within it notes the same again, which changes nothing.
        said = (now - form.age()).replace(second=0, microsecond=0)
        at = said - dt.timedelta(minutes=data["ago"])
        return note_reading(
            data["gauge"], level_m=data["level_m"], at=at, water_c=data["water_c"], by=request.user, now=now
        )

    facts = {
        "title": _("Note a level"),
        "button": _("Note it"),
        "fishery": fishery,
        "keep": _("A level"),
        "gauges": [
            Told(each.words, _trend(each.rise_m_per_h), each.attribution) for each in gauges_now(fishery, now)
        ],
    }
    return acted(
        request, form, note,
        then=reverse("water-level", args=[fishery.slug]), template="pages/level.html", facts=facts,
    )  # fmt: skip


def _trend(rise_m_per_h: float | None) -> str:
    if rise_m_per_h is None:
        return _("Whether it rises is not known: too few fresh readings. Put a stone at the edge and watch it.")
    moved = {"rate": f"{abs(rise_m_per_h):.2f}"}
    if moved["rate"] == "0.00":
        return _("Holding, by the last readings.")
    if rise_m_per_h > 0:
        return _("RISING %(rate)s m an hour, by the last readings.") % moved
    return _("Falling %(rate)s m an hour, by the last readings.") % moved
