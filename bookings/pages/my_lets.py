"""The booker's pages: their lets, one let, accepting and declining, cancelling, naming rods, statement."""

import datetime as dt
from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.pages.acts import acted, or_stands, posted
from beats.pages.door import page
from beats.pages.house import PDF, made_file
from beats.pages.keyed import KeyForm, VersionForm
from beats.pages.seen_first import seen_first
from beats.pages.show import shown
from beats.queries import local_day, zone_of
from bookings import accounts, permits, queries
from bookings.models import Guest, Let, Offer
from bookings.pages.let_acts import money_lines, named_line
from bookings.pages.let_forms import PartyForm
from bookings.services.holds import cancel_let, confirm_let, goes_back
from bookings.services.party import Place, name_party

BOTH = ("GET", "POST")
MOST_LETS = 100
MINUTE = dt.timedelta(minutes=1)


class CancelForm(KeyForm, VersionForm):
    """Cancels the let that was read, not what became of it since."""


@page()
def lets(request, *, now):
    """What must be answered first, then what is to come, then what is over."""
    rows = list(queries.lets_booked_by(request.user).order_by("first_on", "pk")[:MOST_LETS])
    offers = open_offers(request.user, now)
    offered = {each["let"].pk for each in offers}
    coming = [let for let in rows if _is_coming(let, now)]
    facts = {
        "offers": offers,
        "coming": [let for let in coming if let.pk not in offered],
        "over": [let for let in reversed(rows) if let not in coming],
        "statements": Guest.objects.filter(user=request.user, lets__isnull=False, erased_at=None).distinct(),
    }
    return shown(request, "my_lets/lets.html", facts)


@page()
def one(request, *, now, pk):
    let = _own(request, pk)
    today = local_day(let.beat.fishery, now)
    facts = {
        "let": let,
        "offer": next((each for each in open_offers(request.user, now) if each["offer"].let_id == let.pk), None),
        "lapsed": let.status == Let.Status.HELD and let.expires_at <= now,
        "rows": let.rod_days.select_related("guest", "sharer").order_by("day", "rod"),
        "money": accounts.let_money(let, today=today),
        "today": today,
        "zone": zone_of(let.beat.fishery),
        "can_change": _stands(let, now) and let.last_on >= today,
    }
    return shown(request, "my_lets/let.html", facts)


@page(methods=BOTH)
def confirm(request, *, now, pk):
    """Accept a week held for them, with its price by today's tariff."""
    let = _own(request, pk)
    facts = _facts(let, _("Accept this week?"), _("Accept it")) | {
        "money": accounts.let_money(let, today=local_day(let.beat.fishery, now)),
    }
    return acted(
        request, KeyForm(posted(request)), lambda _data: confirm_let(let, by=request.user, now=now),
        then=_address(let), template="my_lets/confirm.html", facts=facts,
    )  # fmt: skip


@page(methods=BOTH)
def cancel(request, *, now, pk):
    """Decline a hold, or cancel a let; what goes back is shown before it is done."""
    let, user = _own(request, pk), request.user
    today = local_day(let.beat.fishery, now)
    before, held = accounts.let_money(let, today=today), let.status == Let.Status.HELD

    def do(data):
        return or_stands(
            lambda: cancel_let(let, by=user, now=now, version=data["version"]), lambda: _cancelled(let.pk)
        )

    def tell(made: Let) -> dict[str, Any]:
        if held:
            return {"effect": [_("The rods are free for others. Nothing was charged.")]}
        return {"effect": money_lines(before, accounts.let_money(made, today=today))}

    facts = _facts(let, _("Give this up?") if held else _("Cancel this let?"), _("Show what it does")) | {
        "rusty": True, "money": before, "percent": None if held else goes_back(let, today),
        "freed": let.rod_days.filter(day__gte=today).count(),
    }  # fmt: skip
    return seen_first(
        request, CancelForm(posted(request), initial={"version": let.version}), do, tell=tell, then=_address(let),
        go=_("Give it up") if held else _("Cancel it"), facts=facts, template="my_lets/cancel.html",
    )  # fmt: skip


@page(methods=BOTH)
def party(request, *, now, pk):
    """Who of those they fish with has which rod."""
    let = _own(request, pk)
    today = local_day(let.beat.fishery, now)
    rows = list(let.rod_days.select_related("guest").filter(day__gte=today).order_by("day", "rod"))
    guests = queries.guests_nameable_by(request.user, let).order_by("name", "id")
    form = PartyForm(posted(request), let=let, rows=rows, today=today, guests=guests)

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
        request, form, do, tell=tell, then=_address(let), go=_("Name them"),
        facts=_facts(let, _("Who fishes"), _("Show what it does")), template="my_lets/party.html",
    )  # fmt: skip


@page()
def permit(request, *, now, pk):
    """The written permission to fish, all rods of the let."""
    let = get_object_or_404(queries.lets_booked_by(request.user), pk=pk, status=Let.Status.CONFIRMED)
    made = permits.printed(permits.permit(let, now=now, only_for=let.booker), now=now)
    return made_file(made, kind=PDF, name=f"permit-{let.pk}-{let.edition}.pdf")


@page()
def statement(request, *, now, guest):
    """Every sum of their account with one fishery, and what they owe."""
    mine = _own_entry(request, guest)
    told = accounts.statement(mine, now=now)
    own_lets = set(queries.lets_booked_by(request.user).values_list("pk", flat=True))
    facts = {"guest": mine, "told": told, "owed": -told.balance, "own_lets": own_lets}
    return shown(request, "my_lets/statement.html", facts)


@page()
def statement_paper(request, *, now, guest):
    made = accounts.printed(accounts.statement(_own_entry(request, guest), now=now), now=now)
    return made_file(made, kind=PDF, name=f"statement-{guest}.pdf")


def open_offers(user, now: dt.datetime) -> list[dict[str, Any]]:
    """Weeks they can still accept or decline, each with the last minute to answer, at the river's time."""
    return [
        {"offer": offer, "let": offer.let, "last_minute": _at_the_river(offer)}
        for offer in queries.offers_open_to(user, now)
    ]


def _at_the_river(offer: Offer) -> dt.datetime:
    return (offer.let.expires_at - MINUTE).astimezone(zone_of(offer.let.beat.fishery))


def _own(request, pk: int) -> Let:
    return get_object_or_404(queries.lets_booked_by(request.user), pk=pk)


def _own_entry(request, pk: int) -> Guest:
    return get_object_or_404(Guest.objects.select_related("fishery"), pk=pk, user=request.user)


def _address(let: Let) -> str:
    return reverse("my-let", args=[let.pk])


def _facts(let: Let, title: str, button: str) -> dict[str, Any]:
    return {"title": title, "button": button, "let": let, "fishery": let.beat.fishery, "back": _address(let)}


def _stands(let: Let, now: dt.datetime) -> bool:
    return let.status == Let.Status.CONFIRMED or (let.status == Let.Status.HELD and let.expires_at > now)


def _is_coming(let: Let, now: dt.datetime) -> bool:
    return _stands(let, now) and let.last_on >= local_day(let.beat.fishery, now)


def _cancelled(pk: int) -> Let | None:
    return Let.objects.filter(pk=pk, status=Let.Status.CANCELLED).first()
