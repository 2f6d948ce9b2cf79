"""The owner's lets: a month of them, one of them, a new one, and its doors."""

import datetime as dt

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.pages.acts import acted, posted
from beats.pages.asked import month_of
from beats.pages.door import OWNER, page
from beats.pages.house import PDF, made_file, shown_at
from beats.pages.keyed import KeyForm
from beats.queries import local_day
from beats.shared.once import Once
from bookings import accounts, permits, queries
from bookings.calendar_of_lets import month_of_lets
from bookings.closed_lets import lets_on_closed_days
from bookings.models import Let
from bookings.pages.forms import GuestForm, LetForm
from bookings.services.agreed_prices import given_up_of
from bookings.services.guests import add_guest
from bookings.services.holds import cancel_let, confirm_let, goes_back
from bookings.services.lets import let_rods
from bookings.tariff import NOTHING, part_back

BOTH = ("GET", "POST")


@page(OWNER)
def lets(request, *, now, fishery):
    """A month, day by day."""
    first = month_of(request.GET.get("month", ""), usual=local_day(fishery, now))
    beats, days = month_of_lets(fishery, first, now=now)
    facts = {"first": first, "beats": beats, "days": days, "today": local_day(fishery, now),
             "closed_lets": lets_on_closed_days(fishery, now=now),
             "before": first - dt.timedelta(days=1), "after": first + dt.timedelta(days=32)}  # fmt: skip
    return shown_at(request, fishery, "house/lets.html", facts)


@page(OWNER)
def one(request, *, now, fishery, pk):
    let = let_of(request, fishery, pk)
    rows = let.rod_days.select_related("guest").order_by("day", "rod")
    money = accounts.let_money(let, today=local_day(fishery, now))
    lapsed = let.status == Let.Status.HELD and let.expires_at <= now
    facts = {"let": let, "rows": rows, "money": money, "lapsed": lapsed}
    return shown_at(request, fishery, "house/let.html", facts)


@page(OWNER, methods=BOTH)
def new(request, *, now, fishery):
    form = LetForm(posted(request), fishery=fishery)

    def do(data):
        facts = {name: value for name, value in data.items() if name != "key"}
        asked = {name: getattr(value, "pk", value) for name, value in facts.items()}
        let, _new = let_rods(**facts, by=request.user, now=now, once=Once.of(data["key"], asked))
        return let

    facts = {"title": _("Let rods"), "button": _("Let them"), "fishery": fishery}
    return acted(
        request, form, do, then=lambda let: reverse("house-let", args=[fishery.slug, let.pk]),
        template="house/new_let.html", facts=facts,
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def new_guest(request, *, now, fishery):
    """So that there is somebody to let to."""
    form = GuestForm(posted(request))

    def do(data):
        facts = {"name": data["name"], "email": data["email"].lower()} | form.contact_facts()
        return add_guest(fishery, facts=facts, by=request.user, now=now, once=Once.of(data["key"], facts))

    facts = {"title": _("Enter a guest"), "button": _("Enter them")}
    return acted(request, form, do, then=reverse("house-new-let", args=[fishery.slug]), facts=facts)


@page(OWNER, methods=BOTH)
def confirm(request, *, now, fishery, pk):
    """Asked once: the price is charged and the permit goes out."""
    let = let_of(request, fishery, pk)
    facts = {"title": _("Confirm this let?"), "button": _("Confirm it"), "let": let, "fishery": fishery,
             "money": accounts.let_money(let, today=local_day(fishery, now))}  # fmt: skip
    return acted(
        request, KeyForm(posted(request)), lambda _data: confirm_let(let, by=request.user, now=now),
        then=address_of(let), template="house/confirm.html", facts=facts,
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def cancel(request, *, now, fishery, pk):
    """Asked once, with what goes back."""
    let, today = let_of(request, fishery, pk), local_day(fishery, now)
    back = goes_back(let, today) if let.status == Let.Status.CONFIRMED else None
    price = sum((row.gross for row in given_up_of(let, from_on=today)), NOTHING)
    returned = part_back(price, back or 0)
    facts = {"title": _("Cancel this let?"), "button": _("Cancel it"), "rusty": True, "let": let, "back": back,
             "freed": let.rod_days.filter(day__gte=today).count(),
             "fished": let.rod_days.filter(day__lt=today).count(),
             "money": accounts.let_money(let, today=today), "fishery": fishery,
             "gone": {"price": price, "back": returned, "kept": price - returned}}  # fmt: skip
    return acted(
        request, KeyForm(posted(request)), lambda _data: cancel_let(let, by=request.user, now=now),
        then=address_of(let), template="house/cancel.html", facts=facts,
    )  # fmt: skip


@page(OWNER)
def permit(request, *, now, fishery, pk):
    """The written permission to fish, the whole of it."""
    let = get_object_or_404(
        queries.lets_visible_to(request.user), pk=pk, beat__fishery=fishery, status=Let.Status.CONFIRMED
    )
    made = permits.printed(permits.permit(let, now=now), now=now)
    return made_file(made, kind=PDF, name=f"permit-{let.pk}-{let.edition}.pdf")


def let_of(request, fishery, pk: int) -> Let:
    return get_object_or_404(queries.lets_visible_to(request.user), pk=pk, beat__fishery=fishery)


def address_of(let: Let) -> str:
    return reverse("house-let", args=[let.beat.fishery.slug, let.pk])
