"""The guest's day: where next, check in, all is well, more time, off the water, help, fish and papers."""

import datetime as dt
from collections.abc import Callable

from django.db.models import Q
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.conditions import conditions
from beats.emergency import in_danger
from beats.models import Beat, Pool
from beats.pages.acts import acted, posted
from beats.pages.door import page, to_sign_in
from beats.pages.keyed import new_key
from beats.pages.show import shown
from beats.queries import local_day, zone_of
from beats.shared.made import PRIVATE
from beats.shared.once import Once
from beats.shared.wall import lowered
from bookings import permits, queries
from bookings.models import Guest, Let
from bookings.pages.my_lets import open_offers
from bookings.services.invitations import invitations_of
from safety.days import beat_of, danger_of, day_of, guests_of, promise
from safety.models import RecallCall
from safety.pages.forms import CheckInForm, FishForm, LateForm, PhoneForm
from safety.queries import help_asked_at
from safety.services.answering import ask_for_help
from safety.services.calling import answer_recall
from safety.services.limits_told import limits_told
from safety.services.people import Crew
from safety.whereabouts import places_of
from sessions.models import Catch, Outing
from sessions.queries import catches_visible_to, lately_out, open_outing
from sessions.services.by_phone import NotOut, back_by_phone, entry_time, fine_by_phone, late_by_phone
from sessions.services.catches import cautions_of, note_catch
from sessions.services.outings import check_in as go
from sessions.waders import who_wades

HOME = "day"


@page()
def day(request, *, now):
    """Each fishery where this person is a guest; where they are on the water first. Others they may accept."""
    days = [day_of(guest, now=now) for guest in guests_of(request.user)]
    invited = invitations_of(request.user)
    facts = {"days": days, "now": now, "key": new_key, "offers": open_offers(request.user, now),
             "on_the_water": any(each.outing for each in days),
             "invitations": [guest for guest in invited if guest.invitation == "open"],
             "declined": [guest for guest in invited if guest.invitation == "declined"]}  # fmt: skip
    return shown(request, "safety/day.html", facts)


@page(methods=("GET", "POST"), public=True)
def at_the_hut(request, *, now, fishery, beat):
    """What the code at the hut opens: for whoever is signed in the way to check in, for others what to do."""
    with lowered():  # the poster hangs in the open: whoever stands before it is told whom to ring
        row = get_object_or_404(Beat.objects.select_related("fishery", "gauge"), slug=beat, fishery__slug=fishery)
    known = guests_of(request.user) if request.user.is_authenticated else []
    guest = next((each for each in known if each.fishery_id == row.fishery_id), None)
    if guest is not None:
        return _check_in(request, guest, row, now)
    if request.method == "POST":
        return to_sign_in(request)
    facts = {"beat": row, "danger": in_danger(tidal=row.tidal), "this_page": request.path}
    return shown(request, "safety/hut.html", facts)


def _check_in(request, guest: Guest, there: Beat, now: dt.datetime) -> HttpResponse:
    """Three taps and a button. Opening it does nothing."""
    today = day_of(guest, now=now)
    if today.outing is not None and request.method == "GET" and "form" not in request.GET:
        return shown(request, "safety/already_out.html", {"today": today})
    water = (
        today.water
        if today.beat == there
        else conditions(there, day=None, now=now, who=who_wades(guest, alone=True))
    )
    proposed = today.next_turn if not today.next_is_forbidden else None
    start = {"pool": str(proposed.pool_id)} if proposed else {}
    limits = limits_told(guest, there, alone=True, now=now, ask=False)
    form = CheckInForm(
        posted(request), beat=there, water=water, now=now, initial=start,
        ask_meeting=bool(limits) or request.method == "POST",
    )  # fmt: skip

    def do(data):
        said = form.said()
        pool = get_object_or_404(Pool, pk=data["pool"], beat=there) if data["pool"] else None
        facts = {"alone": data["alone"] == "yes", "vehicle": data["vehicle"], "party": 1 if data["alone"] == "yes"
                 else 2, "wearing": ", ".join(data["wearing"]), "meeting_person": data["meeting_person"],
                 "meeting_at": form.meeting_at()}  # fmt: skip
        return go(
            guest, beat=there, pool=pool, **facts, due_back_at=form.due_back_at(), said_at=entry_time(said, now),
            by=request.user, now=now, once=Once.of(said.key, [there.pk, facts]),
        )  # fmt: skip

    told = bool(form.times) and not today.fault
    words = promise(there, due_back_at=form.times[-1], alone=True, now=now, guest=guest) if told else []
    facts = {
        "title": _("Check in: %(beat)s") % {"beat": there.name}, "button": _("I am going on the water"),
        "today": today, "beat": there, "promise": words, "limits": limits, "danger": in_danger(tidal=there.tidal),
        "keep": _("Check-in: nobody watches until this is received"),
    }  # fmt: skip
    return acted(request, form, do, then=reverse(HOME), template="safety/check_in.html", facts=facts)


@page(methods=("POST",))
def fine(request, *, now, guest):
    return _say(request, guest, now, fine_by_phone)


@page(methods=("POST",))
def back(request, *, now, guest):
    """Off the water, entered a second time: the day page asks first. What follows says that the watch has ended;
    an angler who is still watched is shown that instead."""

    def then(ended):
        still_out = ended is None and open_outing(_own(request, guest)) is not None
        return reverse(HOME) if still_out else reverse("day-off", args=[guest])

    return _say(request, guest, now, back_by_phone, then=then)


@page(methods=("POST",))
def late(request, *, now, guest):
    form = LateForm(request.POST)

    def do(data):
        return late_by_phone(
            _own(request, guest), form.said(), due_back_at=data["due_back_at"], number=data["number"],
            by=request.user, now=now,
        )  # fmt: skip

    return acted(request, form, do, then=reverse(HOME), facts={"title": _("More time"), "button": _("Send again")})


@page(methods=("GET", "POST"))
def call_for_help(request, *, now, guest):
    """Asked for once more, since it rouses everybody."""
    person = _own(request, guest)

    def do(_data):
        outing = open_outing(person) or lately_out(person, now=now)
        if outing is None:
            raise NotOut(_("You are not checked in. In danger ring 999 or 112 now; else ring the fishery."))
        return ask_for_help(outing, by=request.user, now=now)

    facts = {"title": _("Do you need help?"), "button": _("Yes, tell the keepers"), "rusty": True}
    return acted(
        request, PhoneForm(posted(request)), do, then=reverse("day-help", args=[guest]),
        template="safety/help.html", facts=facts | _help_facts(person, now),
    )  # fmt: skip


def _help_facts(person: Guest, now: dt.datetime) -> dict:
    """Whom to ring and what to say, of the beat they are on, or the first they may go to today."""
    outing = open_outing(person) or lately_out(person, now=now)
    beat = outing.beat if outing else beat_of(person, now=now)
    asked_at = help_asked_at(outing) if outing else None
    return {
        "danger": danger_of(person, now=now), "fishery": person.fishery, "beat": beat,
        "places": places_of(beat, outing.pool if outing else None) if beat else [],
        "keepers": Crew(now).on_duty(person.fishery),
        "asked_at": asked_at and asked_at.astimezone(zone_of(person.fishery)),
    }  # fmt: skip


@page(methods=("POST",))
def coming_out(request, *, now, call):
    """The answer to being called off the water."""
    called = get_object_or_404(
        RecallCall.objects.select_related("recall", "outing"), pk=call, outing__guest__user=request.user
    )

    def do(_data):
        return answer_recall(called.recall, called.outing, by=request.user, now=now)

    return acted(request, PhoneForm(request.POST), do, then=reverse(HOME))


@page(methods=("GET", "POST"))
def fish(request, *, now, guest):
    """One fish at a time; the page comes again for the next."""
    person = _own(request, guest)
    last = (
        Outing.objects.filter(guest=person)
        .select_related("beat__fishery", "pool")
        .order_by("-checked_in_at")
        .first()
    )
    beat = last.beat if last else beat_of(person, now=now)
    if beat is None:
        raise Http404
    pools = list(beat.pools.order_by("order"))
    start = {"pool": str(last.pool_id or "") if last else ""}
    form = FishForm(posted(request), pools=pools, initial=start)

    def do(data):
        said, told = form.said(), form.fish_facts()
        pool = next((each for each in pools if str(each.pk) == data["pool"]), None)
        return note_catch(
            beat, pool=pool, guest=person, caught_at=said.happened_at(now), **told, by=request.user, now=now,
            once=Once.of(said.key, [beat.pk, str(told)]),
        )  # fmt: skip

    today = local_day(person.fishery, now)
    mine = catches_visible_to(request.user).filter(guest=person, caught_on=today).order_by("-id")
    noted = [(each, cautions_of(each)) for each in mine[:20]]
    facts = {"title": _("A fish?"), "button": _("Write it down"), "noted": noted, "guest": person,
             "keep": _("A fish"), "beat": beat}  # fmt: skip
    return acted(
        request, form, do, then=reverse("day-fish", args=[guest]), template="safety/fish.html", facts=facts
    )


@page()
def book(request, *, now):  # noqa: ARG001
    """Every fish of one's own, newest first."""
    mine = Catch.objects.filter(guest__user=request.user, struck_out_at__isnull=True)
    rows = mine.select_related("beat__fishery", "pool").order_by("-caught_at")[:200]
    return shown(request, "safety/my_fish.html", {"fish": rows})


@page()
def papers(request, *, now):  # noqa: ARG001
    """Permissions to fish, the newest days first."""
    mine = Q(rod_days__guest__user=request.user) | Q(rod_days__sharer__user=request.user)
    rows = queries.lets_visible_to(request.user).filter(
        mine | Q(booker__user=request.user), status=Let.Status.CONFIRMED
    )
    lets = rows.distinct().order_by("-first_on")[:50]
    return shown(request, "safety/papers.html", {"lets": lets})


@page()
def permit(request, *, now, pk):
    """One's own days of a let, as PDF."""
    let = get_object_or_404(queries.lets_visible_to(request.user), pk=pk, status=Let.Status.CONFIRMED)
    mine = queries.guest_of(request.user, let.beat.fishery)
    if mine is None:
        raise Http404
    paper = permits.permit(let, now=now, only_for=mine)
    named = {"Content-Disposition": f'inline; filename="permit-{let.pk}-{let.edition}.pdf"'}
    return HttpResponse(permits.printed(paper, now=now), content_type="application/pdf", headers=named | PRIVATE)


def _say(request, guest: int, now, verb, *, then: str | Callable = "") -> HttpResponse:
    form = PhoneForm(request.POST)

    def do(_data):
        return verb(_own(request, guest), form.said(), by=request.user, now=now)

    facts = {"title": _("Not sent"), "button": _("Send again")}
    return acted(request, form, do, then=then or reverse(HOME), facts=facts)


def _own(request, pk: int) -> Guest:
    return get_object_or_404(Guest.objects.select_related("fishery"), pk=pk, user=request.user)
