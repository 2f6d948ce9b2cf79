"""Other days, more or fewer rods, another beat for a let that stands: shown before it is done."""

import datetime as dt
from typing import Any

from django.utils.translation import gettext as _

from beats.pages.acts import or_stands, posted
from beats.pages.door import OWNER, page
from beats.pages.seen_first import seen_first
from beats.pages.told import or_english
from beats.queries import local_day
from beats.shared import words
from bookings import accounts
from bookings.models import Let
from bookings.pages.forms import KINDS, WEEKDAYS
from bookings.pages.let_acts import TEMPLATE, facts_of, given_up_lines, money_lines
from bookings.pages.let_forms import COMPANY, ChangeForm
from bookings.pages.lets import address_of, let_of
from bookings.services.changes import change_let
from bookings.services.holds import release_lapsed

CHOICES: dict[str, dict[Any, Any]] = {"kind": dict(KINDS), "weekday": dict(WEEKDAYS), "company": dict(COMPANY)}


@page(OWNER, methods=("GET", "POST"))
def change(request, *, now, fishery, pk):
    """What is not typed over stays; a let asked for as it is already is left alone."""
    let, today = let_of(request, fishery, pk), local_day(fishery, now)
    before, named = accounts.let_money(let, today=today), _named(let)

    def do(data):
        facts = {name: value for name, value in data.items() if name not in {"key", "version"}}

        def stands() -> Let | None:
            fresh = let_of(request, fishery, pk)
            return fresh if ChangeForm.facts_of(fresh) == facts else None

        return stands() or or_stands(
            lambda: change_let(let, facts=facts, version=data["version"], by=request.user, now=now), stands
        )

    def tell(made: Let):
        if not (moved := _moved(let, made)):
            return {"effect": [_("Nothing: it is so already.")]}
        lost = [
            _("%(who)s fishes no rod of it any more.") % {"who": name} for name in sorted(named - _named(made))
        ]
        after = accounts.let_money(made, today=today)
        return {"effect": [*moved, *lost, *given_up_lines(before, after), *money_lines(before, after)]}

    facts = facts_of(let, _("Other days or rods"), _("Show what it does"))
    form = ChangeForm(posted(request), let=let)
    if form.is_valid():  # what runs out goes before the deed is tried, in a transaction of its own
        release_lapsed(now, beat=form.cleaned_data["beat"])
    return seen_first(
        request, form, do, tell=tell, then=address_of(let),
        go=_("Change the let"), facts=facts, template=TEMPLATE,
    )  # fmt: skip


def _named(let: Let) -> set[str]:
    return set(let.rod_days.exclude(guest=None).values_list("guest__name", flat=True))


def _moved(let: Let, made: Let) -> list[str]:
    """What is other than it was, in the words of the form."""
    old, new = ChangeForm.facts_of(let), ChangeForm.facts_of(made)
    labels = {name: field.label for name, field in ChangeForm.base_fields.items()}
    moved = [name for name in old if old[name] != new[name]]
    return [f"{labels[name]}: {_said(name, old[name])} → {_said(name, new[name])}" for name in moved]


def _said(name: str, value: Any) -> str:
    if isinstance(value, dt.date):
        return or_english(words.day(value))
    said = "" if value is None else str(value)
    return str(CHOICES.get(name, {}).get(said, said))
