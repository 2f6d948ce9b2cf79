"""What the owner is asked about a let that stands: money, names, another tenant, a part of it."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from beats.models import Fishery
from beats.pages.asked import DayField
from beats.pages.keyed import KeyForm
from bookings.let_prices import Payer
from bookings.models import Guest, LedgerEntry, Let
from bookings.pages.forms import ShapeForm
from bookings.tariff import MOST

SUMS = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
STAYS, NOBODY = "", "nobody"
Kind = LedgerEntry.Kind
ENTRIES = [
    (Kind.PAYMENT, _("Paid by the guest")), (Kind.REFUND, _("Paid back to the guest")),
    (Kind.CHARGE, _("Put on the price")), (Kind.CREDIT, _("Taken off the price")),
]  # fmt: skip


def guests_known(fishery: Fishery):
    """Those somebody may be chosen from, by name."""
    return Guest.objects.filter(fishery=fishery, erased_at__isnull=True).order_by("name", "id")


class EntryForm(KeyForm):
    """One sum, always above nothing: what it is says which way it goes."""

    kind = forms.ChoiceField(
        label=_("What is it?"), choices=ENTRIES, initial=Kind.PAYMENT, widget=forms.RadioSelect
    )
    amount = forms.DecimalField(
        max_digits=9, decimal_places=2, min_value=Decimal("0.01"), max_value=MOST, widget=SUMS
    )
    booked_on = DayField(label=_("On which day"), required=False, help_text=_("Left empty: today."))
    reference = forms.CharField(label=_("What the bank calls it"), max_length=80, required=False)
    note = forms.CharField(label=_("A note for the book"), max_length=200, required=False)

    def __init__(self, *args, currency: str, let: Let, payers: Sequence[Payer], **more) -> None:
        """Ask whose it is only where a former booker has paid on the let."""
        super().__init__(*args, **more)
        if former := [payer.guest for payer in payers if not payer.has_let]:
            self.fields["guest"] = GuestField(_("Who paid, or is paid"), initial=let.booker_id)
            self.fields["guest"].queryset = Guest.objects.filter(pk__in=[let.booker_id, *former]).order_by("name")
        self.fields["amount"].label = _("How much, in %(currency)s") % {"currency": currency}


class GuestField(forms.ModelChoiceField):
    """Somebody else of the same book."""

    def __init__(self, label, **more) -> None:
        super().__init__(Guest.objects.none(), label=label, empty_label=_("Choose a guest"), **more)


class HandOnForm(KeyForm):
    to = GuestField(_("Who has it from now on"))

    def __init__(self, *args, let: Let, **more) -> None:
        super().__init__(*args, **more)
        self.fields["to"].queryset = guests_known(let.beat.fishery)


class SplitForm(KeyForm):
    """Days from one on, or some of the rods; never both at once."""

    booker = GuestField(_("Who gets the part"))
    from_on = DayField(label=_("All days from this one on"), required=False)
    rods = forms.IntegerField(label=_("Or so many rods of every day"), min_value=1, max_value=60, required=False)

    def __init__(self, *args, let: Let, **more) -> None:
        super().__init__(*args, **more)
        self.fields["booker"].queryset = guests_known(let.beat.fishery)


COMPANY = [
    (Let.Company.EITHER, _("as it comes")), (Let.Company.TOGETHER, _("together")), (Let.Company.APART, _("apart")),
]  # fmt: skip


class ChangeForm(ShapeForm):
    """What a let takes of the water, as it is and to be typed over."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
    company = forms.ChoiceField(label=_("On the rota its rods fish"), choices=COMPANY, widget=forms.RadioSelect)

    def __init__(self, *args, let: Let, **more) -> None:
        super().__init__(
            *args, fishery=let.beat.fishery, initial=self.facts_of(let) | {"version": let.version}, **more
        )

    @classmethod
    def facts_of(cls, let: Let) -> dict[str, Any]:
        return {name: getattr(let, name) for name in cls.base_fields if name not in {"key", "version"}}


class PartyForm(KeyForm):
    """Who fishes each rod, over some days of the let; what is left alone stays as it is."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
    first_on = DayField(label=_("From"))
    last_on = DayField(label=_("Until, that day too"))

    def __init__(self, *args, let: Let, rows, today, guests=None, **more) -> None:
        super().__init__(*args, **more)
        self.rows = [row for row in rows if row.day >= today] or list(rows)
        days = [row.day for row in self.rows]
        self.fields["version"].initial = let.version
        if days:
            self.fields["first_on"].initial, self.fields["last_on"].initial = min(days), max(days)
        known = guests_known(let.beat.fishery) if guests is None else guests
        self.guests = {str(guest.pk): guest for guest in known}
        choices = [(STAYS, _("as it is")), (NOBODY, _("nobody named yet"))]
        choices += [(pk, guest.name) for pk, guest in self.guests.items()]
        self.rods = sorted({row.rod for row in rows})
        for rod in self.rods:
            label = _("Rod %(rod)s") % {"rod": rod}
            self.fields[f"rod_{rod}"] = forms.ChoiceField(label=label, choices=choices, required=False)

    def clean(self):
        data = super().clean()
        first, last = data.get("first_on"), data.get("last_on")
        if first and last and last < first:
            self.add_error("last_on", _("This is before the first day. Swap them."))
        if not self.errors and not any(data[f"rod_{rod}"] for rod in self.rods):
            raise forms.ValidationError(_("Choose somebody for one rod at least."))
        return data

    def named(self) -> list[tuple]:
        """Each rod-day with a choice, and the guest or nobody."""
        data = self.cleaned_data
        chosen = {rod: data[f"rod_{rod}"] for rod in self.rods if data[f"rod_{rod}"] != STAYS}
        return [
            (row, self.guests.get(chosen[row.rod]))
            for row in self.rows
            if row.rod in chosen and data["first_on"] <= row.day <= data["last_on"]
        ]
