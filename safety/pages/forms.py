"""What a guest is asked, in as few taps as it takes."""

import datetime as dt

from django import forms
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext_lazy as _

from beats.models import Beat, Pool
from beats.pages.keyed import AgedForm, KeyForm
from beats.queries import zone_of
from beats.shared.rest import of_this_age
from beats.water.limits import Grade
from beats.water.restrictions import is_waded
from beats.water.told import Conditions, PoolToday
from safety.days import times_back
from sessions.pages.fish_fields import FishFields
from sessions.services.by_phone import Said, age_of

OTHER = "other"


def next_at(time: dt.time, since: dt.datetime) -> dt.datetime:
    """The next instant after `since` (local) at which the clock shows `time`."""
    at = since.replace(hour=time.hour, minute=time.minute, second=0, microsecond=0)
    return at if at > since else at + dt.timedelta(days=1)


class PhoneForm(KeyForm, AgedForm):
    """A double tap is one deed, and a phone that kept it adds when it was told."""

    said_at = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def said(self) -> Said:
        """The phone's clock is only kept."""
        try:
            told = parse_datetime(self.cleaned_data.get("said_at") or "")
        except ValueError:
            told = None
        age_s = age_of(self.cleaned_data.get("said_age_s") or "")
        return Said(self.cleaned_data["key"], told if told and told.tzinfo else None, age_s)


def _pool_label(pool: PoolToday) -> str:
    """Its name, and that the conditions grade it to stay out of; it can be chosen all the same."""
    if pool.wading.grade is Grade.STAY_OUT and is_waded(pool):
        return _("%(pool)s: stay out of the water today") % {"pool": pool.name}
    return pool.name


def _tiles(choices, label, **more):
    return forms.ChoiceField(choices=choices, label=label, widget=forms.RadioSelect, **more)


class OfferedField(forms.ChoiceField):
    """Tiles that were offered when the page was made; what a phone kept may have been offered hours ago."""

    def valid_value(self, value) -> bool:  # noqa: ARG002 - whatever was offered is judged where it is used
        return True


class CheckInForm(PhoneForm):
    """Where, alone or not, back by when; then what would help those who look."""

    def __init__(self, *args, beat: Beat, water: Conditions | None, now: dt.datetime, ask_meeting: bool = False,
                 **kwargs):  # fmt: skip
        super().__init__(*args, **kwargs)
        self.beat, self.now = beat, now
        pools = [(str(pool.id), _pool_label(pool)) for pool in (water.pools if water else ()) if not pool.closed]
        self.times = times_back(beat, water, now=now)
        times = [(at.isoformat(), f"{at:%H:%M}") for at in self.times]
        self.fields["pool"] = OfferedField(
            choices=[*pools, ("", _("Up and down the beat"))], label=_("Where?"), required=False,
            widget=forms.RadioSelect,
        )  # fmt: skip
        self.fields["alone"] = _tiles([("yes", _("Alone")), ("no", _("In company"))], _("Alone?"))
        self.fields["back_by"] = OfferedField(
            choices=[*times, (OTHER, _("Another time"))], label=_("Off the water by?"), widget=forms.RadioSelect
        )
        self.fields["other_time"] = forms.TimeField(
            label=_("Another time"), required=False, widget=forms.TimeInput(attrs={"type": "time"})
        )
        self.fields["wearing"] = forms.MultipleChoiceField(
            choices=[("life jacket", _("Life jacket on")), ("wading staff", _("Wading staff"))],
            label=_("With you?"), required=False, widget=forms.CheckboxSelectMultiple,
        )  # fmt: skip
        self.fields["vehicle"] = forms.CharField(
            label=_("Car and where it stands (helps those who look)"), max_length=80, required=False
        )
        if ask_meeting:
            self.fields["meeting_person"] = forms.CharField(
                label=_("Who expects you off the water, and where?"), max_length=120, required=False
            )
            self.fields["meeting_time"] = forms.TimeField(
                label=_("At what time?"), required=False, widget=forms.TimeInput(attrs={"type": "time"})
            )

    def clean_back_by(self) -> str:
        text = self.cleaned_data["back_by"]
        if text == OTHER:
            return text
        try:
            at = dt.datetime.fromisoformat(text)
        except ValueError:
            at = None
        if at is None or at.tzinfo is None or not of_this_age(at):
            raise forms.ValidationError(_("Choose a time from the list, or give another one."))
        return text

    def clean_pool(self) -> str:
        text = self.cleaned_data["pool"]
        if text and not Pool.objects.filter(pk=text if text.isdecimal() else 0, beat=self.beat).exists():
            raise forms.ValidationError(_("That pool is not on this beat. Choose again."))
        return text

    def clean(self):
        data = super().clean()
        if data.get("back_by") == OTHER and not data.get("other_time"):
            self.add_error("other_time", _("Give the time you will be off the water."))
        return data

    def due_back_at(self) -> dt.datetime:
        """At the river's clock; an hour that is past, when it was said, is tomorrow's."""
        data = self.cleaned_data
        if data["back_by"] != OTHER:
            return dt.datetime.fromisoformat(data["back_by"])
        return self._next(data["other_time"])

    def meeting_at(self) -> dt.datetime | None:
        """When they are expected; a time is never a reason to refuse a check-in."""
        time = self.cleaned_data.get("meeting_time")
        return self._next(time) if time else None

    def _next(self, time: dt.time) -> dt.datetime:
        said = self.said().happened_at(self.now).astimezone(zone_of(self.beat.fishery))
        return next_at(time, said)


class LateForm(PhoneForm):
    """One tap: a time that the page offered, and the number of the deadline that held then."""

    due_back_at = forms.DateTimeField(widget=forms.HiddenInput)
    number = forms.IntegerField(min_value=1, widget=forms.HiddenInput)


class FishForm(PhoneForm, FishFields):
    """One fish in ten seconds: what, kept or back; the rest only where it is known."""

    field_order = ("key", "said_at", "said_age_s", *FishFields.asked, "pool")

    def __init__(self, *args, pools=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["pool"] = _tiles(
            [*((str(pool.pk), pool.name) for pool in pools), ("", _("Not sure"))], _("Which pool?"), required=False
        )
