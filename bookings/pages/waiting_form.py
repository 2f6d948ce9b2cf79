"""What the owner is asked about somebody who waits."""

import datetime as dt

from django import forms
from django.utils.translation import gettext as _t
from django.utils.translation import gettext_lazy as _

from beats.models import Beat, Fishery
from beats.pages.asked import DayField
from beats.pages.keyed import KeyForm
from bookings.openings import closed_days
from bookings.pages.let_forms import GuestField, guests_known
from bookings.reckoning import season_starts
from bookings.season_weeks import days_of_week, week_of


class WaitingForm(KeyForm):
    """For whom, where, when, and for how many rods."""

    guest = GuestField(_("Who waits"))
    beat = forms.ModelChoiceField(Beat.objects.none(), label=_("Where"), empty_label=_("Any beat"), required=False)
    day = DayField(label=_("A day of the week they want"), required=False, help_text=_("Left empty: any week."))
    rods = forms.IntegerField(label=_("Rods"), min_value=1, max_value=60, initial=1)

    def __init__(self, *args, fishery: Fishery, **more) -> None:
        super().__init__(*args, **more)
        self.fishery = fishery
        self.fields["guest"].queryset = guests_known(fishery)
        self.fields["beat"].queryset = Beat.objects.filter(fishery=fishery).order_by("name", "id")

    def clean_day(self) -> dt.date | None:
        """Whoever waits for a week in which nothing is let would wait for ever."""
        day = self.cleaned_data["day"]
        if day and len(closed_days(self.fishery, week := days_of_week(day))) == len(week):
            raise forms.ValidationError(
                _t("The water is closed all that week. Choose another, or leave it empty.")
            )
        return day

    def week(self) -> int | None:
        """Of the season: it comes again every year."""
        day = self.cleaned_data["day"]
        return week_of(day, season_starts(self.fishery.district, day.year)) if day else None
