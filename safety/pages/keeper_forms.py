"""What a keeper enters for an angler: check-in, more time, off the water, and on whose report."""

import datetime as dt

from django import forms
from django.utils.translation import gettext_lazy as _

from beats.models import Beat, Fishery
from beats.pages.choices import pools_of
from beats.queries import local_day, zone_of
from beats.shared.rest import of_this_age
from bookings.models import Guest, RodDay
from safety.pages.forms import PhoneForm
from sessions.models import Outing, OutingEntry
from sessions.services.entries import Report

Via = OutingEntry.Via
SEEN = ""
HOW = [
    (SEEN, _("I see them")),
    (Via.TELEPHONE, _("Phone")),
    (Via.TEXT, _("Text message")),
    (Via.RADIO, _("Radio")),
    (Via.IN_PERSON, _("In person")),
]


class ReportForm(PhoneForm):
    """How the keeper knows; with a report, who told them. The service refuses half a report."""

    reported_via = forms.ChoiceField(
        label=_("How do you know?"), choices=HOW, required=False, widget=forms.RadioSelect
    )
    reported_by = forms.CharField(label=_("Who told you? (not if you see them)"), max_length=80, required=False)

    def report(self) -> Report:
        return Report(by=self.cleaned_data["reported_by"].strip(), via=self.cleaned_data["reported_via"])


class OffForm(ReportForm):
    """Off the water."""


class MoreTimeForm(ReportForm):
    """A new time off the water, and the number of the deadline that was read."""

    number = forms.IntegerField(min_value=1, widget=forms.HiddenInput)
    due_back_at = forms.ChoiceField(label=_("Off the water by?"), widget=forms.RadioSelect)
    field_order = ("key", "said_age_s", "said_at", "number", "due_back_at")

    def __init__(self, *args, times: list[dt.datetime], outing: Outing, **kwargs):
        kwargs["initial"] = {"number": outing.deadline_number}
        super().__init__(*args, **kwargs)
        self.fields["due_back_at"].choices = [(at.isoformat(), f"{at:%H:%M}") for at in times]
        self.fields["due_back_at"].valid_value = lambda _value: True  # offered when the page was made

    def clean_due_back_at(self) -> dt.datetime:
        return instant_of(self.cleaned_data["due_back_at"])


def instant_of(text: str) -> dt.datetime:
    try:
        at = dt.datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None or not of_this_age(at):
        raise forms.ValidationError(_("Choose a time from the list."))
    return at


class CheckInGuestForm(ReportForm):
    """Any guest of the fishery, or somebody who is not in the list yet."""

    guest = forms.ModelChoiceField(None, label=_("Who"), empty_label=_("not in the list"), required=False)
    name = forms.CharField(label=_("Not in the list: their name"), max_length=120, required=False)
    phone = forms.CharField(label=_("and their telephone, if known"), max_length=20, required=False)
    where = forms.ChoiceField(label=_("Where?"))
    alone = forms.ChoiceField(
        label=_("Alone?"), choices=[("yes", _("Alone")), ("no", _("In company"))], widget=forms.RadioSelect
    )
    off_by = forms.TimeField(label=_("Off the water by?"), widget=forms.TimeInput(attrs={"type": "time"}))
    vehicle = forms.CharField(
        label=_("Car and where it stands (helps those who look)"), max_length=80, required=False
    )
    field_order = ("key", "said_age_s", "said_at", "guest", "name", "phone", "where", "alone", "off_by", "vehicle")

    def __init__(self, *args, fishery: Fishery, now: dt.datetime, **kwargs):
        super().__init__(*args, **kwargs)
        self.fishery, self.now = fishery, now
        self.beats = list(fishery.beats.select_related("fishery").order_by("order", "id"))
        self.pools = list(pools_of(fishery))
        guests = Guest.objects.filter(fishery=fishery, erased_at__isnull=True).order_by("name", "id")
        self.fields["guest"].queryset = guests
        self.fields["guest"].choices = _by_rod_today(guests, fishery, now)
        self.fields["where"].choices = [(beat.name, self._places(beat)) for beat in self.beats]

    def _places(self, beat: Beat) -> list:
        pools = [(f"pool {pool.pk}", pool.name) for pool in self.pools if pool.beat_id == beat.pk]
        return [(f"beat {beat.pk}", _("%(beat)s, up and down") % {"beat": beat.name}), *pools]

    def clean(self):
        data = super().clean()
        if not data.get("guest") and not (data.get("name") or "").strip() and "guest" not in self.errors:
            self.add_error("guest", _("Choose who it is, or give the name of somebody not in the list."))
        return data

    def place(self) -> tuple:
        """(beat, pool or None)."""
        what, pk = self.cleaned_data["where"].split()
        pool = next((each for each in self.pools if what == "pool" and each.pk == int(pk)), None)
        wanted = pool.beat_id if pool else int(pk)
        return next(beat for beat in self.beats if beat.pk == wanted), pool

    def due_back_at(self) -> dt.datetime:
        """At the river's clock; an hour that is past, when it was entered, is tomorrow's."""
        entered = self.said().happened_at(self.now).astimezone(zone_of(self.fishery))
        at = self.cleaned_data["off_by"]
        due = entered.replace(hour=at.hour, minute=at.minute, second=0, microsecond=0)
        return due if due > entered else due + dt.timedelta(days=1)


def _by_rod_today(guests, fishery: Fishery, now: dt.datetime) -> list:
    """Those with a rod today first; those on the water are left out."""
    days = RodDay.objects.filter(beat__fishery=fishery, day=local_day(fishery, now))
    today = set(days.values_list("guest_id", flat=True)) | set(days.values_list("sharer_id", flat=True))
    on_the_water = Outing.objects.filter(beat__fishery=fishery, checked_out_at__isnull=True)
    out = set(on_the_water.values_list("guest_id", flat=True))
    rows = [(pk, name) for pk, name in guests.values_list("pk", "name") if pk not in out]
    return [
        ("", _("not in the list")),
        (_("With a rod today"), [row for row in rows if row[0] in today]),
        (_("Other guests"), [row for row in rows if row[0] not in today]),
    ]
