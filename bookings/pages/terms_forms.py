"""What the owner is asked about terms, prices and the letting policy."""

from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from beats.models import Beat, Fishery
from beats.pages.asked import DayField
from beats.pages.keyed import KeyForm, VersionForm
from bookings.models import LettingPolicy, Tariff, Terms
from bookings.pages.forms import KINDS
from bookings.pages.let_forms import SUMS
from bookings.tariff import LAST_WEEK, MOST
from bookings.terms_limits import A_HOLD, CURRENCY, FIGURES, LONGEST_RULES, MOST_REFUNDS

UNITS = {"minutes": 1, "hours": 60, "days": 1440}
NAMES = {"minutes": _("minutes"), "hours": _("hours"), "days": _("days")}


def _whole(name: str, label, **more) -> forms.IntegerField:
    return forms.IntegerField(label=label, **FIGURES[name].ends, **more)


class TermsForm(VersionForm):
    deposit_percent = _whole("deposit_percent", _("Deposit, in percent of the price"))
    deposit_days = _whole("deposit_days", _("Days after booking in which it is due"))
    balance_days = _whole("balance_days", _("Days before fishing on which the rest is due"))
    vat_percent = forms.DecimalField(
        label=_("VAT in percent"), max_digits=4, decimal_places=2, **FIGURES["vat_percent"].ends, widget=SUMS
    )
    vat_included = forms.BooleanField(label=_("The prices hold the VAT already"), required=False)
    currency = forms.CharField(
        label=_("Currency, three capital letters"), max_length=3,
        validators=[RegexValidator(CURRENCY, _("Three capital letters, such as GBP."))],
    )  # fmt: skip
    water_rules = forms.CharField(
        label=_("Rules of the water, for every permission to fish"), max_length=LONGEST_RULES, required=False,
        widget=forms.Textarea(attrs={"rows": 6}),
    )  # fmt: skip
    keep_guests_months = _whole("keep_guests_months", _("Months a guest's name is kept after their last day"))
    keep_contacts_months = _whole("keep_contacts_months", _("Months their emergency contact and needs are kept"))
    keep_letters_months = _whole("keep_letters_months", _("Months letters are kept"))

    @staticmethod
    def facts_of(terms: Terms) -> dict[str, Any]:
        return {name: getattr(terms, name) for name in TermsForm.base_fields}


class PriceForm(KeyForm):
    """One rod on one day; the row that says most about a day decides."""

    rod_day = forms.DecimalField(max_digits=9, decimal_places=2, min_value=0, max_value=MOST, widget=SUMS)
    first_on = DayField(label=_("From this day of fishing on"))
    last_on = DayField(label=_("Until"), required=False, help_text=_("Left empty: until further notice."))
    beat = forms.ModelChoiceField(
        Beat.objects.none(), label=_("Where"), empty_label=_("Every beat"), required=False
    )
    kind = forms.ChoiceField(label=_("For which lets"), choices=[("", _("Every kind")), *KINDS], required=False)
    first_week = forms.IntegerField(
        label=_("From week of the season"), min_value=1, max_value=LAST_WEEK, initial=1,
        help_text=_("Week 1 holds its first day."),
    )  # fmt: skip
    last_week = forms.IntegerField(
        label=_("Until week of the season"), min_value=1, max_value=LAST_WEEK, initial=LAST_WEEK
    )

    def __init__(self, *args, fishery: Fishery, currency: str, **more) -> None:
        super().__init__(*args, **more)
        self.fields["rod_day"].label = _("One rod on one day, in %(currency)s") % {"currency": currency}
        self.fields["beat"].queryset = Beat.objects.filter(fishery=fishery).order_by("name", "id")


class PriceEndForm(KeyForm):
    last_on = DayField(label=_("The last day it holds"))

    def __init__(self, *args, row: Tariff, **more) -> None:
        super().__init__(*args, **more)
        self.fields["last_on"].initial = row.last_on


def parts_of(minutes: int) -> tuple[int, str]:
    """In the longest unit that says it exactly."""
    unit = next(name for name in ("days", "hours", "minutes") if minutes % UNITS[name] == 0)
    return minutes // UNITS[unit], unit


def span_of(minutes: int) -> str:
    count, unit = parts_of(minutes)
    return f"{count} {NAMES[unit]}"


def _count(label) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=1, max_value=A_HOLD.highest)


def _unit(label) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=list(NAMES.items()))


class LettingForm(VersionForm):
    """How long rods are held and answers waited for; what goes back on which notice, a step a line."""

    hold = _count(_("Rods are held unconfirmed for so many"))
    hold_unit = _unit(_("Held: minutes, hours or days"))
    offer = _count(_("The waiting list has to answer within so many"))
    offer_unit = _unit(_("To answer: minutes, hours or days"))

    def __init__(self, *args, policy: LettingPolicy, steps: list[tuple[int, int]], **more) -> None:
        first: dict[str, Any] = {"version": policy.version}
        for name, minutes in (("hold", policy.hold_minutes), ("offer", policy.offer_minutes)):
            first[name], first[f"{name}_unit"] = parts_of(minutes)
        super().__init__(*args, initial=first, **more)
        self.lines = range(1, min(len(steps) + 3, MOST_REFUNDS) + 1)
        kept = dict(enumerate(steps, start=1))
        for line in self.lines:
            days, percent = kept.get(line, (None, None))
            number = {"line": line}
            self.fields[f"days_{line}"] = _whole(
                "notice_days", _("%(line)s. Cancelled so many days before, or more") % number,
                required=False, initial=days,
            )  # fmt: skip
            self.fields[f"percent_{line}"] = _whole(
                "percent", _("%(line)s. So much goes back, in percent") % number,
                required=False, initial=percent,
            )  # fmt: skip

    def clean(self):
        data = super().clean()
        for name in ("hold", "offer"):
            self._reckon(name)
        for line in self.lines:
            days, percent = data.get(f"days_{line}"), data.get(f"percent_{line}")
            if (days is None) != (percent is None) and not {f"days_{line}", f"percent_{line}"} & set(self.errors):
                empty = f"percent_{line}" if percent is None else f"days_{line}"
                self.add_error(empty, _("Give both, days and percent, or leave both empty."))
        return data

    def _reckon(self, name: str) -> None:
        count, unit = self.cleaned_data.get(name), self.cleaned_data.get(f"{name}_unit")
        if count is None or not unit:
            return
        minutes = self.cleaned_data[f"{name}_minutes"] = count * UNITS[unit]
        if minutes not in A_HOLD:
            self.add_error(name, _("Give a time from 5 minutes to 90 days."))

    def refunds(self) -> list[tuple[int, int]]:
        data = self.cleaned_data
        pairs = [(data[f"days_{line}"], data[f"percent_{line}"]) for line in self.lines]
        return [(days, percent) for days, percent in pairs if days is not None]
