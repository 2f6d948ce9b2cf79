"""What a guest is reached by, and how deep they may wade: the same fields for guests and keepers."""

from django import forms
from django.utils.translation import gettext_lazy as _

from beats.models import Pool
from beats.pages.keyed import KeyForm, VersionForm
from bookings.models import Guest

GRADES = [
    ("", _("Not known")),
    (str(Pool.Wading.BANK.value), _("From the bank only")),
    (str(Pool.Wading.EASY.value), _("To the knee, firm bed")),
    (str(Pool.Wading.FAIR.value), _("To the thigh")),
    (str(Pool.Wading.HARD.value), _("Deep, fast or rough")),
]
FIELDS = (
    "phone", "emergency_contact_name", "emergency_contact_phone", "emergency_contact_email", "wading_grade",
)  # fmt: skip


def _number(label, **more) -> forms.CharField:
    widget = forms.TextInput(attrs={"type": "tel", "inputmode": "tel", "autocomplete": "off"})
    return forms.CharField(label=label, max_length=30, required=False, widget=widget, **more)


class ContactFields(forms.Form):
    """A number is checked where it is stored, since it depends on the fishery's country."""

    phone = _number(_("Mobile number of the angler"), help_text=_("The one carried on the water."))
    emergency_contact_name = forms.CharField(
        label=_("Emergency contact: name"), max_length=120, required=False,
        help_text=_("Somebody who stays on the bank."),
    )  # fmt: skip
    emergency_contact_phone = _number(_("Emergency contact: telephone"))
    emergency_contact_email = forms.EmailField(
        label=_("Or their e-mail address"), max_length=254, required=False,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip
    wading_grade = forms.TypedChoiceField(
        label=_("How deep may the angler wade?"), choices=GRADES, required=False, coerce=int, empty_value=None,
        widget=forms.RadioSelect, help_text=_("Not known is treated as the most careful answer."),
    )  # fmt: skip

    def contact_facts(self) -> dict[str, object]:
        return {name: self.cleaned_data[name] for name in FIELDS}


class ContactForm(ContactFields, VersionForm, KeyForm):
    """The details as they stand, to be changed."""


def as_stands(guest: Guest) -> dict[str, object]:
    """What the form shows when it is opened."""
    known = {name: getattr(guest, name) for name in FIELDS}
    grade = guest.wading_grade
    return known | {"version": guest.version, "wading_grade": "" if grade is None else str(grade)}
