"""What the owner is asked when rods are let."""

from django import forms
from django.utils.translation import gettext_lazy as _

from beats.models import Beat, Fishery
from beats.pages.asked import DayField
from beats.pages.keyed import KeyForm
from bookings.models import Guest, Let
from bookings.pages.contact_forms import ContactFields

WEEKDAYS = [
    ("", _("Not season rods")), ("0", _("Monday")), ("1", _("Tuesday")), ("2", _("Wednesday")),
    ("3", _("Thursday")), ("4", _("Friday")), ("5", _("Saturday")),
]  # fmt: skip
KINDS = [
    (Let.Kind.DAY, _("Days as they come")),
    (Let.Kind.WEEK, _("The fishing days of one week")),
    (Let.Kind.WHOLE_BEAT, _("Every rod of the beat")),
    (Let.Kind.SEASON, _("One weekday, every week")),
]


class ShapeForm(KeyForm):
    """Where, when and how many rods."""

    beat = forms.ModelChoiceField(Beat.objects.none(), label=_("Beat"), empty_label=None)
    first_on = DayField(label=_("First day"))
    last_on = DayField(label=_("Last day fished"))
    rods = forms.IntegerField(label=_("Rods"), min_value=1, max_value=60, initial=1)
    kind = forms.ChoiceField(label=_("How the days hang together"), choices=KINDS, initial=Let.Kind.DAY)
    weekday = forms.ChoiceField(label=_("Which weekday, for season rods"), choices=WEEKDAYS, required=False)

    def __init__(self, *args, fishery: Fishery, **more) -> None:
        super().__init__(*args, **more)
        self.fields["beat"].queryset = Beat.objects.filter(fishery=fishery).order_by("name", "id")

    def clean_weekday(self) -> int | None:
        return int(self.cleaned_data["weekday"]) if self.cleaned_data["weekday"] else None


class LetForm(ShapeForm):
    """And whose."""

    booker = forms.ModelChoiceField(Guest.objects.none(), label=_("Who books"), empty_label=_("Choose a guest"))
    hold = forms.BooleanField(label=_("Only hold them until somebody confirms"), required=False)
    field_order = ("key", "beat", "booker")

    def __init__(self, *args, fishery: Fishery, **more) -> None:
        super().__init__(*args, fishery=fishery, **more)
        known = Guest.objects.filter(fishery=fishery, erased_at__isnull=True)
        self.fields["booker"].queryset = known.order_by("name", "id")


class GuestForm(ContactFields, KeyForm):
    """Enough of a guest to let rods to; contact details may follow."""

    field_order = ("name", "email")

    name = forms.CharField(label=_("Name"), max_length=120)
    email = forms.EmailField(
        label=_("E-mail address"), max_length=254, required=False, help_text=_("It gives them a way to sign in.")
    )
