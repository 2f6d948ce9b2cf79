"""What the gauges say now, a level recorded at one of them, and the last readings put right."""

import datetime as dt
from dataclasses import dataclass

from django import forms
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.models import Gauge
from beats.pages.acts import acted, posted
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import AgedForm
from beats.queries import gauges_now, last_readings, zone_of
from beats.queries.gauges import GaugeNow
from beats.services.plausible_level import LevelUnlikely
from beats.services.river import Doubts, note_reading
from beats.water.feeds.levels import COLDEST_C, HIGHEST_M, LOWEST_M, WARMEST_C
from beats.water.wading import BELOW_A_DAM, SHOWS_A_RISE_M_PER_H

KEPT = dt.timedelta(minutes=1)
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

    def doubts(self) -> Doubts:
        """What was kept in the phone is stored, marked where need be: there is nobody to ask any more."""
        return Doubts.NONE if self.age() > KEPT else Doubts.ALL


@dataclass(frozen=True)
class Told:
    """One gauge in words."""

    words: str
    trend: str
    attribution: str | None
    flat_hours: int | None


@page(*KEEPERS, methods=("GET", "POST"))
def level(request, *, now, fishery):
    form = LevelForm(posted(request), fishery=fishery)

    def note(data):
        # To the minute: a second tap within it notes the same again, which changes nothing.
        said = (now - form.age()).replace(second=0, microsecond=0)
        at = said - dt.timedelta(minutes=data["ago"])
        level_m = data["level_m"]
        confirmed = request.POST.get("confirmed") == f"{level_m:g}"
        try:
            return note_reading(
                data["gauge"], level_m=level_m, at=at, water_c=data["water_c"], by=request.user, now=now,
                confirmed=confirmed, doubts=form.doubts(),
            )  # fmt: skip
        except LevelUnlikely:
            facts["confirm"] = {"value": f"{level_m:g}", "level_m": f"{level_m:.2f}"}
            raise

    facts = {
        "title": _("Note a level"),
        "button": _("Note it"),
        "fishery": fishery,
        "keep": _("A level"),
        "below_a_dam": BELOW_A_DAM,
        "readings": last_readings(fishery),
        "zone": zone_of(fishery),
        "gauges": [
            Told(each.words, _trend(each), each.attribution, each.flat_hours) for each in gauges_now(fishery, now)
        ],
    }
    return acted(
        request, form, note,
        then=reverse("water-level", args=[fishery.slug]), template="pages/level.html", facts=facts,
    )  # fmt: skip


def _trend(gauge: GaugeNow) -> str:
    """Whether the river rises or falls, in a sentence. It holds only where enough fresh readings say so."""
    rise_m_per_h = gauge.rise_m_per_h
    shown = rise_m_per_h is not None and rise_m_per_h > SHOWS_A_RISE_M_PER_H
    if gauge.rising and not shown:
        return _("RISING, and no reading yet shows that it has stopped.")
    if gauge.unconfirmed and not shown:
        return _(
            "Whether it rises is not known until the next reading. Look at the river, and read the gauge again."
        )
    if rise_m_per_h is None:
        return _("Whether it rises is not known: too few fresh readings. Put a stone at the edge and watch it.")
    moved = {"rate": f"{abs(rise_m_per_h):.2f}"}
    if abs(rise_m_per_h) <= SHOWS_A_RISE_M_PER_H:
        return _("Holding, by the last readings.")
    if rise_m_per_h > 0:
        return _("RISING %(rate)s m an hour, by the last readings.") % moved
    return _("Falling %(rate)s m an hour, by the last readings.") % moved
