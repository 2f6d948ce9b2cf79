"""What this fishery promises, in plain words: how it lets, and what the watch does when somebody is late."""

import datetime as dt

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.models import Beat
from beats.pages.acts import or_stands, posted
from beats.pages.door import OWNER, page
from beats.pages.house import shown_at
from beats.pages.seen_first import seen_first
from beats.pages.told import or_english
from beats.queries import beats_visible_to, local_day, zone_of
from beats.shared import words
from bookings import reckoning
from bookings.services.holds import policy_of as letting_policy_of
from safety.days import promise
from safety.pages.watch_form import MINUTES, WatchForm
from safety.policy import WatchPolicy, said
from safety.services.duties import set_policy
from safety.services.people import policy_of

FIVE = dt.time(17)


@page(OWNER)
def policies(request, *, now, fishery):
    letting = letting_policy_of(fishery)
    steps = letting.refund_steps.order_by("-notice_days") if letting.pk else []
    facts = {
        "hold": or_english(words.minutes(letting.hold_minutes)),
        "offer": or_english(words.minutes(letting.offer_minutes)),
        "steps": list(steps),
        "terms": reckoning.terms_of(fishery),
        "watched": [
            watch_of(beat, now=now) for beat in Beat.objects.filter(fishery=fishery).order_by("name", "id")
        ],
    }
    return shown_at(request, fishery, "safety/policies.html", facts)


def watch_of(beat: Beat, *, now: dt.datetime) -> dict:
    """A beat's ladder as somebody is told it who is to be back at five today, alone and in company."""
    due = dt.datetime.combine(local_day(beat.fishery, now), FIVE, tzinfo=zone_of(beat.fishery))
    return {
        "beat": beat,
        "alone": promise(beat, due_back_at=due, alone=True, now=now),
        "company": promise(beat, due_back_at=due, alone=False, now=now),
        "lone_grace_minutes": beat.lone_grace_minutes,
        "grace_minutes": beat.grace_minutes,
        "rest": rest_of(policy_of(beat), beat),
    }


@page(OWNER, methods=("GET", "POST"))
def watch(request, *, now, fishery, beat):
    """The watch of one beat, set anew: what an angler would be told is shown first."""
    row = get_object_or_404(beats_visible_to(request.user), slug=beat, fishery=fishery)
    form = WatchForm(posted(request), beat=row)

    def do(data):
        facts = {name: data[name] for name in MINUTES}
        rules = form.rules()
        return or_stands(
            lambda: set_policy(row, rules=rules, **facts, version=data["version"], by=request.user, now=now),
            lambda: _stands(row, facts | {"watch_policy": said(rules)}),
        )

    def tell(made):
        told = watch_of(made, now=now)
        alone = [_("Alone: %(line)s") % {"line": line} for line in told["alone"]]
        company = [_("In company: %(line)s") % {"line": line} for line in told["company"]]
        grace = _("Grace after the time back: alone %(lone)s minutes, in company %(company)s.") % {
            "lone": made.lone_grace_minutes, "company": made.grace_minutes,
        }  # fmt: skip
        return {"effect": [grace, *alone, *company, *told["rest"]]}

    facts = {
        "title": _("The watch of %(beat)s") % {"beat": row.name}, "button": _("Show what anglers are told"),
        "fishery": fishery, "back": reverse("house-policies", args=[fishery.slug]),
        "lead": _("It holds from the next step on, also for those on the water now. We ring no 999 by ourselves."),
    }  # fmt: skip
    return seen_first(
        request,
        form,
        do,
        tell=tell,
        then=reverse("house-policies", args=[fishery.slug]),
        go=_("Set it"),
        facts=facts,
    )


def _stands(row: Beat, facts: dict) -> Beat | None:
    return row if all(getattr(row, name) == value for name, value in facts.items()) else None


def rest_of(policy: WatchPolicy, beat: Beat) -> list[str]:
    """What else the watch does, in plain words: contact, and what calls rods in."""
    contact = (
        _("Somebody alone is asked every %(minutes)s minutes to say that all is well.")
        if beat.contact_minutes
        else _("Nobody is asked for a word in between.")
    )
    told = {
        "minutes": beat.contact_minutes, "level": policy.recall_level_m, "rise": policy.recall_rise_m_per_h,
        "weather": policy.recall_weather, "flood": policy.recall_flood, "dark": policy.recall_dark_minutes,
        "answer": policy.recall_answer_minutes, "out": policy.recall_out_minutes,
    }  # fmt: skip
    lines = [
        contact,
        _("From %(level)s m on, rods are called in.")
        if told["level"] is not None
        else _("No level calls rods in."),
        _("A rise of %(rise)s m an hour calls rods in.")
        if told["rise"] is not None
        else _("No rise calls rods in."),
        _("Public warnings that call rods in, from: weather %(weather)s, flood %(flood)s."),
        _("Rods are called in %(dark)s minutes before dark.") if told["dark"] else _("Dark calls nobody in."),
        _("Whoever is called has %(answer)s minutes to answer, then %(out)s to come off the water."),
    ]
    return [line % told for line in lines]
