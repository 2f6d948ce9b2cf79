"""How heavy and how long, in the units the hand has: kilograms or pounds, centimetres or inches."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from beats.pages.told import or_english
from sessions.old_books import figures

FIGURES = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
LEAST = Decimal("0.01")


def _figure(label: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, required=False, max_digits=5, decimal_places=2, min_value=LEAST, widget=FIGURES
    )


def _unit(label: Any, units: list[tuple[str, Any]], *, usual: str) -> forms.ChoiceField:
    return forms.ChoiceField(choices=units, label=label, initial=usual, required=False, widget=forms.RadioSelect)


class SizesForm(forms.Form):
    """A weight and a length as they were read; the book keeps kilograms and centimetres.

    `length_cm`, as pages of earlier versions asked for it, is still read: a phone may have kept one.
    """

    columns = {"weight_kg": "weight", "length_cm": "length"}
    weight = _figure(_("Weight, if known"))
    unit = _unit(_("The weight is in"), [("kg", _("kilograms")), ("lb", _("pounds"))], usual="lb")
    length = _figure(_("Length, if known"))
    length_unit = _unit(_("The length is in"), [("cm", _("centimetres")), ("in", _("inches"))], usual="cm")

    def __init__(self, data: Any = None, *args: Any, **more: Any) -> None:
        if data is not None and "length_cm" in data and "length" not in data:
            data = data.copy()
            data["length"], data["length_unit"] = data["length_cm"], "cm"
        super().__init__(data, *args, **more)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        data["weight_kg"] = self._reckoned("weight", figures.weight, data.get("unit") or "kg")
        data["length_cm"] = self._reckoned("length", figures.length, data.get("length_unit") or "cm")
        return data

    def _reckoned(self, name: str, reckon: Callable[[Decimal, str], Decimal], unit: str) -> Decimal | None:
        """In the book's own unit; a figure that no fish has is a fault beside the field."""
        figure = self.cleaned_data.get(name)
        if figure is None:
            return None
        try:
            return reckon(figure, unit)
        except figures.Fault as fault:
            self.add_error(name, or_english(fault.args[0]))
            return None
