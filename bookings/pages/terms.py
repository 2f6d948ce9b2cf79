"""Terms, tariff and letting policy of a fishery, changed by the owner."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.pages.acts import or_stands, posted
from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from beats.pages.seen_first import seen_first
from beats.pages.told import or_english
from beats.queries import local_day
from beats.shared import words
from beats.shared.once import Once
from bookings import queries, reckoning
from bookings.pages.terms_forms import LettingForm, PriceEndForm, PriceForm, TermsForm, span_of
from bookings.services.holds import policy_of
from bookings.services.policy import set_policy
from bookings.services.terms import add_price, change_terms, end_price

BOTH = ("GET", "POST")


@page(OWNER)
def tariff(request, *, now, fishery):
    """Every price, those in force first."""
    rows = queries.tariff_visible_to(request.user).filter(fishery=fishery).select_related("beat")
    today = local_day(fishery, now)
    rows = sorted(rows, key=lambda row: (row.last_on is not None and row.last_on < today, row.first_on, row.pk))
    facts = {"rows": rows, "today": today, "currency": reckoning.terms_of(fishery).currency}
    return shown_at(request, fishery, "house/tariff.html", facts)


@page(OWNER, methods=BOTH)
def price(request, *, now, fishery):
    currency = reckoning.terms_of(fishery).currency

    def do(data):
        facts = {name: value for name, value in data.items() if name != "key"}
        asked = {name: getattr(value, "pk", value) for name, value in facts.items()}
        once = Once.of(data["key"], asked)
        return add_price(fishery, **facts, currency=currency, by=request.user, now=now, once=once)[0]

    return seen_first(
        request, PriceForm(posted(request), fishery=fishery, currency=currency), do,
        tell=lambda row: {"effect": _price_lines(row, currency)},
        then=reverse("house-tariff", args=[fishery.slug]),
        go=_("Add the price"), facts=_facts(fishery, "house-tariff", _("Add a price"), _("Show what it prices")),
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def price_end(request, *, now, fishery, pk):
    """The last day a price holds."""
    row = get_object_or_404(queries.tariff_visible_to(request.user), pk=pk, fishery=fishery)
    currency = reckoning.terms_of(fishery).currency

    def do(data):
        return end_price(row, last_on=data["last_on"], by=request.user, now=now)

    facts = _facts(fishery, "house-tariff", _("End a price"), _("Show what it prices"))
    facts["lead"] = f"{row.rod_day} {currency}, {_span(row)}"
    return seen_first(
        request, PriceEndForm(posted(request), row=row), do,
        tell=lambda row: {"effect": _price_lines(row, currency)},
        then=reverse("house-tariff", args=[fishery.slug]),
        go=_("End it"), facts=facts,
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def terms(request, *, now, fishery):
    standing = reckoning.terms_of(fishery)
    before = TermsForm.facts_of(standing)

    def do(data):
        facts = {name: value for name, value in data.items() if name != "version"}
        return or_stands(
            lambda: change_terms(fishery, facts=facts, version=data["version"], by=request.user, now=now),
            lambda: all(before[name] == value for name, value in facts.items()) and standing,
        )

    def tell(made):
        after = TermsForm.facts_of(made)
        moved = [name for name in TermsForm.base_fields if name != "version" and before[name] != after[name]]
        labels = TermsForm.base_fields
        return {"effect": _moved([(labels[name].label, before[name], after[name]) for name in moved])}

    facts = _facts(fishery, "house-policies", _("Terms"), _("Show what changes"))
    facts["lead"] = _("What is charged already stays. When open sums are due follows these terms at once.")
    return seen_first(
        request, TermsForm(posted(request), initial=before), do, tell=tell,
        then=reverse("house-policies", args=[fishery.slug]), go=_("Change the terms"), facts=facts,
    )  # fmt: skip


@page(OWNER, methods=BOTH)
def letting(request, *, now, fishery):
    """How long rods are held, and what goes back when a let is cancelled."""
    policy = policy_of(fishery)
    steps = refunds_of(policy)
    form = LettingForm(posted(request), policy=policy, steps=steps)

    def do(data):
        asked = {name: data[name] for name in ("hold_minutes", "offer_minutes")}
        same = sorted(form.refunds()) == sorted(steps) and all(
            getattr(policy, name) == value for name, value in asked.items()
        )
        return or_stands(
            lambda: set_policy(
                fishery, **asked, refunds=form.refunds(), version=data["version"], by=request.user, now=now
            ),
            lambda: same and policy,
        )

    facts = _facts(fishery, "house-policies", _("Letting policy"), _("Show what it says"))
    facts["lead"] = _("It counts for lets made, held or cancelled from now on.")
    return seen_first(
        request, form, do, tell=lambda made: {"effect": _letting_lines(made)},
        then=reverse("house-policies", args=[fishery.slug]), go=_("Set it"), facts=facts,
    )  # fmt: skip


def refunds_of(policy) -> list[tuple[int, int]]:
    """(notice days, percent), the longest notice first; none while nobody wrote a policy."""
    if not policy.pk:
        return []
    return list(policy.refund_steps.order_by("-notice_days").values_list("notice_days", "percent"))


def _facts(fishery, back: str, title: str, button: str) -> dict[str, Any]:
    return {"title": title, "button": button, "fishery": fishery, "back": reverse(back, args=[fishery.slug])}


def _moved(moved: list[tuple[Any, Any, Any]]) -> list[str]:
    lines = [f"{what}: {_said(old)} → {_said(new)}" for what, old, new in moved]
    return lines or [_("Nothing: it is so already.")]


def _said(value: Any) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    return str(value) or _("nothing")


def _span(row) -> str:
    if row.last_on is None:
        return _("from %(first)s until further notice") % {"first": or_english(words.day(row.first_on))}
    return _("from %(first)s until %(last)s") % {
        "first": or_english(words.day(row.first_on)),
        "last": or_english(words.day(row.last_on)),
    }


def _price_lines(row, currency: str) -> list[str]:
    """What a row prices, and what it does not touch."""
    where = row.beat.name if row.beat else _("every beat")
    kind = or_english(row.get_kind_display()) if row.kind else _("every kind of let")
    weeks = _("weeks %(first)s to %(last)s of the season") % {"first": row.first_week, "last": row.last_week}
    return [
        f"{row.rod_day} {currency}: {where}, {kind}, {weeks}, {_span(row)}",
        _("Lets confirmed or changed from now on are charged by it. What is charged already stays."),
    ]


def _letting_lines(policy) -> list[str]:
    back = [
        _("Cancelled %(days)s days or more before the first day: %(percent)s %% goes back.")
        % {"days": days, "percent": percent}
        for days, percent in refunds_of(policy)
    ]
    return [
        _("Rods are held for %(span)s.") % {"span": span_of(policy.hold_minutes)},
        _("The waiting list has %(span)s to answer.") % {"span": span_of(policy.offer_minutes)},
        *(back or [_("Nothing goes back when a let is cancelled.")]),
    ]
