"""A keeper enters for an angler: check in, more time, off the water, undo. One angler's page with the 999 card."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from beats.pages.acts import acted, posted
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import new_key
from beats.pages.show import shown
from beats.queries import zone_of
from beats.shared.once import Once
from safety import card
from safety.days import later_times
from safety.off_water import ended_lately
from safety.pages.forms import PhoneForm
from safety.pages.keeper_forms import CheckInGuestForm, MoreTimeForm, OffForm
from safety.services.entering import check_in_newcomer, extend_as_read
from safety.services.writing import card_of_outing
from sessions.models import Outing
from sessions.queries import outings_visible_to
from sessions.services.by_phone import check_out_by_keeper, entry_time
from sessions.services.outings import check_in
from sessions.services.undo import undo_check_out


@page(*KEEPERS)
def outing(request, *, now, fishery, pk):
    row = _outing(request, fishery, pk)
    facts = {"title": row.guest.name, "card": card.lines(card_of_outing(row, now=now), now=now)}
    facts |= entry_facts(row, fishery, now=now)
    return shown(request, "safety/outing.html", facts)


def entry_facts(row: Outing, fishery, *, now) -> dict:
    """What the forms of an outing need, on its own page and on the alarm's."""
    ended = ended_lately(row.guest, now=now) if row.checked_out_at else None
    return {
        "outing": row, "fishery": fishery, "zone": zone_of(fishery), "key": new_key,
        "off_form": OffForm(auto_id="off_%s"),
        "more_form": MoreTimeForm(times=later_times(row, now), outing=row, auto_id="more_%s"),
        "ended": ended if ended and ended.outing == row.pk else None,
    }  # fmt: skip


@page(*KEEPERS, methods=("GET", "POST"))
def off_the_water(request, *, now, fishery, pk):
    row = _outing(request, fishery, pk)
    form = OffForm(posted(request))

    def do(_data):
        said = form.said()
        return check_out_by_keeper(row, said, report=form.report(), by=request.user, now=now)

    facts = {"title": _("%(who)s: off the water?") % {"who": row.guest.name}, "lead": _(
        "This ends the watch for them. Nobody is told to look for them after that."),
        "button": _("Yes, off the water: end the watch"), "keep": _keep_off(row)}  # fmt: skip
    return _acted(request, row, form, do, facts)


@page(*KEEPERS, methods=("GET", "POST"))
def more_time(request, *, now, fishery, pk):
    row = _outing(request, fishery, pk)
    form = MoreTimeForm(posted(request), times=later_times(row, now), outing=row)

    def do(data):
        return extend_as_read(
            row, due_back_at=data["due_back_at"], number=data["number"], report=form.report(), by=request.user,
            now=now,
        )  # fmt: skip

    facts = {
        "title": _("%(who)s: more time") % {"who": row.guest.name},
        "button": _("Set the new time"),
        "keep": _("%(who)s: more time. The old time stands until this is received") % {"who": row.guest.name},
    }
    return _acted(request, row, form, do, facts)


@page(*KEEPERS, methods=("POST",))
def undo(request, *, now, fishery, pk):
    row = _outing(request, fishery, pk)
    form = PhoneForm(request.POST)

    def do(_data):
        return undo_check_out(row, by=request.user, now=now, entered_at=form.said().happened_at(now))

    facts = {"title": _("Not undone"), "button": _("Send again"), "keep": ""}
    return _acted(request, row, form, do, facts)


@page(*KEEPERS, methods=("GET", "POST"))
def check_in_guest(request, *, now, fishery):
    form = CheckInGuestForm(posted(request), fishery=fishery, now=now)

    def do(data):
        said, (beat, pool) = form.said(), form.place()
        alone = data["alone"] == "yes"
        asked = {"beat": beat, "pool": pool, "alone": alone, "party": 1 if alone else 2,
                 "vehicle": data["vehicle"], "due_back_at": form.due_back_at()}  # fmt: skip
        common = {"report": form.report(), "said_at": entry_time(said, now), "by": request.user, "now": now}
        named = {name: str(value) for name, value in data.items() if not name.startswith(("key", "said"))}
        once = Once.of(said.key, ["check in for", named])
        if data["guest"] is None:
            return check_in_newcomer(fishery, name=data["name"], phone=data["phone"], **asked, **common, once=once)
        return check_in(data["guest"], **asked, **common, once=once)

    facts = {"title": _("Check in a guest"), "button": _("Check them in: on the water now"), "fishery": fishery,
             "keep": _("Check-in of a guest: nobody watches until this is received")}  # fmt: skip
    return acted(
        request, form, do, then=reverse("water", args=[fishery.slug]), template="safety/check_in_guest.html",
        facts=facts,
    )  # fmt: skip


def _acted(request, row: Outing, form, do, facts) -> HttpResponse:
    fishery = row.beat.fishery
    facts = facts | {"fishery": fishery, "outing": row, "zone": zone_of(fishery)}
    return acted(
        request, form, do, then=reverse("water", args=[fishery.slug]), template="safety/keeper_entry.html",
        facts=facts,
    )  # fmt: skip


def _keep_off(row: Outing) -> str:
    return _("%(who)s off the water: the watch goes on until this is received") % {"who": row.guest.name}


def _outing(request, fishery, pk: int) -> Outing:
    return get_object_or_404(outings_visible_to(request.user), pk=pk, beat__fishery=fishery)
