"""What the owner does with a let that stands. Money and rights move: each is shown before it is done."""

from collections import Counter
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from beats.pages.acts import or_stands, posted
from beats.pages.door import OWNER, page
from beats.pages.seen_first import seen_first
from beats.pages.told import or_english
from beats.queries import local_day
from beats.shared import words
from beats.shared.once import Once
from bookings import accounts, let_prices, reckoning
from bookings.models import Let
from bookings.pages.let_forms import EntryForm, HandOnForm, PartyForm, SplitForm
from bookings.pages.lets import address_of, let_of
from bookings.services.changes import split_let, transfer_let
from bookings.services.ledger import enter
from bookings.services.party import Place, name_party

BOTH = ("GET", "POST")
TEMPLATE = "house/let_act.html"


@page(OWNER, methods=BOTH)
def entry(request, *, now, fishery, pk):
    """A payment, a refund, or a sum that sets the book right."""
    let, currency = let_of(request, fishery, pk), reckoning.terms_of(fishery).currency
    before = accounts.let_money(let, today=local_day(fishery, now))

    def do(data):
        facts = {name: value for name, value in data.items() if name not in {"key", "guest"}}
        guest = data.get("guest") or let.booker
        once = Once.of(data["key"], [let.pk, guest.pk, facts])
        return enter(guest, let=let, currency=currency, **facts, by=request.user, now=now, once=once)[0]

    def tell(_made):
        return {"effect": money_lines(before, accounts.let_money(let, today=local_day(fishery, now)))}

    facts = facts_of(let, _("Note money"), _("Show what it does")) | {"money": before}
    form = EntryForm(posted(request), currency=currency, let=let, payers=before["payers"])
    return seen_first(
        request, form, do, tell=tell, then=address_of(let),
        go=_("Write it into the book"), facts=facts, template=TEMPLATE,
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def party(request, *, now, fishery, pk):
    """Who fishes which rod."""
    let = let_of(request, fishery, pk)
    rows = list(let.rod_days.select_related("guest").order_by("day", "rod"))
    form = PartyForm(posted(request), let=let, rows=rows, today=local_day(fishery, now))

    def do(data):
        named = form.named()
        places = [Place(row.day, row.rod, guest) for row, guest in named]
        stand = all(row.guest_id == (guest and guest.pk) for row, guest in named)
        return or_stands(
            lambda: name_party(let, places=places, version=data["version"], by=request.user, now=now),
            lambda: stand and let,
        )

    def tell(_let):
        return {"effect": [named_line(row, guest) for row, guest in form.named()]}

    return seen_first(
        request, form, do, tell=tell, then=address_of(let), go=_("Name them"),
        facts=facts_of(let, _("Who fishes"), _("Show what it does")), template=TEMPLATE,
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def hand_on(request, *, now, fishery, pk):
    """The whole let to another guest."""
    let, today = let_of(request, fishery, pk), local_day(fishery, now)

    def do(data):
        return transfer_let(let, to=data["to"], by=request.user, now=now)

    def tell(made: Let):
        who = {"old": let.booker.name, "new": made.booker.name}
        if made.booker_id == let.booker_id:
            return {"effect": [_("%(new)s has it already: nothing changes.") % who]}
        has = (
            _("%(new)s has the let, %(old)s no longer; rods in %(old)s's own name go along, from today on.") % who
        )
        return {"effect": [has, _price(made, today), *_paid_before(made)]}

    return seen_first(
        request, HandOnForm(posted(request), let=let), do, tell=tell, then=address_of(let),
        go=_("Hand it on"), facts=facts_of(let, _("Hand the let on"), _("Show what it does")), template=TEMPLATE,
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def split(request, *, now, fishery, pk):
    """A part of it as a let of its own."""
    let, today = let_of(request, fishery, pk), local_day(fishery, now)

    def do(data):
        part = {name: data[name] for name in ("booker", "from_on", "rods")}
        once = Once.of(data["key"], [let.pk, part["booker"].pk, part["from_on"], part["rods"]])
        return split_let(let, **part, by=request.user, now=now, once=once)[0]

    def tell(made: Let):
        kept = Let.objects.select_related("beat__fishery", "booker").get(pk=let.pk)
        return {"effect": [line for each in (kept, made) for line in _let_lines(each, today)]}

    return seen_first(
        request, SplitForm(posted(request), let=let), do, tell=tell, then=address_of,
        go=_("Split it"), facts=facts_of(let, _("Split the let"), _("Show what it does")), template=TEMPLATE,
    )  # fmt: skip


def facts_of(let: Let, title: str, button: str) -> dict[str, Any]:
    return {"title": title, "button": button, "let": let, "fishery": let.beat.fishery, "back": address_of(let)}


def _price(let: Let, today) -> str:
    """What a let is charged to whoever has it."""
    told = accounts.let_money(let, today=today)
    facts = {"who": let.booker.name, "price": told["price"], "paid": told["paid"], "currency": told["currency"]}
    if not told["price"]:
        return _("Nothing is charged to %(who)s for it.") % facts
    return _("%(who)s is charged %(price)s %(currency)s for it; paid on it: %(paid)s %(currency)s.") % facts


def _paid_before(let: Let) -> list[str]:
    """What former bookers paid on it and have to get back."""
    currency = reckoning.terms_of(let.beat.fishery).currency
    facts = [
        {"who": payer.name, "sum": payer.to_get_back, "currency": currency}
        for payer in let_prices.payers_of(let)
        if payer.to_get_back and not payer.has_let
    ]
    return [_("%(who)s paid on it and has %(sum)s %(currency)s to get back.") % each for each in facts]


def given_up_lines(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """What goes back of the rod-days that a change gives up, and what stays charged."""
    new = Counter(line for line in after["agreed"] if line.given_up_on) - Counter(before["agreed"])
    return [
        ngettext(
            "%(count)s rod-day given up: %(percent)s %% of %(price)s goes back; %(kept)s %(currency)s is kept.",
            "%(count)s rod-days given up: %(percent)s %% of %(price)s goes back; %(kept)s %(currency)s is kept.",
            line.rod_days,
        )
        % {"count": line.rod_days, "percent": line.refund_percent, "price": line.gross, "kept": line.kept,
           "currency": after["currency"]}
        for line in new.elements()
    ]  # fmt: skip


def money_lines(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """Price, paid and still to pay, then and now; what stays is left out."""
    names = {"price": _("Price"), "paid": _("Paid"), "balance": _("Still to pay")}
    moved = [(words_, before[name], after[name]) for name, words_ in names.items() if before[name] != after[name]]
    lines = [f"{what}: {old} → {new} {after['currency']}" for what, old, new in moved]
    return lines or [_("The let's account stays as it is.")]


def named_line(row, guest) -> str:
    facts = {
        "day": or_english(words.weekday(row.day)),
        "rod": row.rod,
        "old": row.guest.name if row.guest else _("no name yet"),
        "new": guest.name if guest else _("no name yet"),
    }
    return _("%(day)s, rod %(rod)s: %(old)s → %(new)s") % facts


def _let_lines(let: Let, today) -> list[str]:
    days = let.rod_days.order_by("day").values_list("day", flat=True).distinct()
    facts = {"who": let.booker.name, "first": or_english(words.day(days[0])), "rods": let.rods, "count": len(days)}
    told = ngettext(
        "%(who)s: %(count)s day from %(first)s, rods: %(rods)s.",
        "%(who)s: %(count)s days from %(first)s, rods: %(rods)s.",
        len(days),
    )
    return [told % facts, _price(let, today)]
