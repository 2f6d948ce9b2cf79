"""A guest's own contact details, and who expects them off the water."""

import datetime as dt

from django import forms
from django.http import HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from beats.pages.acts import acted, posted
from beats.pages.door import page
from beats.pages.show import shown
from beats.queries import zone_of
from beats.shared.phrases import say
from bookings.models import Guest
from bookings.pages.guests import contact_page
from safety.contact_gaps import uses_of
from safety.days import guests_of
from safety.pages.forms import PhoneForm, next_at
from sessions.queries import open_outing
from sessions.services.by_phone import NotOut
from sessions.services.meeting import set_meeting

BOTH = ("GET", "POST")


@page()
def my_contact(request, *, now):  # noqa: ARG001
    """On to the one form there is; somebody known at several fisheries chooses."""
    known = guests_of(request.user)
    if len(known) == 1:
        return HttpResponseRedirect(reverse("day-contact", args=[known[0].pk]), status=303)
    return shown(request, "safety/my_contact.html", {"guests": known})


@page(methods=BOTH)
def contact(request, *, now, guest):
    person = _own(request, guest)
    facts = {
        "title": _("My contact details"), "guest": person, "uses": uses_of(person), "skip": reverse("day"),
        "lead": _("At %(fishery)s, for when you are on the water.") % {"fishery": person.fishery.name},
    }  # fmt: skip
    return contact_page(request, person, facts, now=now, then=reverse("day"))


class MeetingForm(PhoneForm):
    """Who, and at what time of the clock at the river."""

    meeting_person = forms.CharField(label=_lazy("Who expects you, and where?"), max_length=120, required=False)
    meeting_time = forms.TimeField(
        label=_lazy("At what time?"), required=False, widget=forms.TimeInput(attrs={"type": "time"})
    )

    def meeting_at(self, now: dt.datetime, zone: dt.tzinfo) -> dt.datetime | None:
        time = self.cleaned_data["meeting_time"]
        return next_at(time, self.said().happened_at(now).astimezone(zone)) if time else None


@page(methods=BOTH)
def meeting(request, *, now, guest):
    person = _own(request, guest)
    outing = open_outing(person)
    zone = zone_of(person.fishery)
    at = outing.meeting_at.astimezone(zone) if outing and outing.meeting_at else None
    start = {"meeting_person": outing.meeting_person if outing else "", "meeting_time": at and f"{at:%H:%M}"}
    form = MeetingForm(posted(request), initial=start)

    def do(data):
        if outing is None:
            raise NotOut(
                say("You are not checked in, so nobody is watching for you. Check in, or ring the fishery.")
            )
        return set_meeting(
            outing, person=data["meeting_person"], at=form.meeting_at(now, zone), by=request.user, now=now
        )

    facts = {
        "title": _("Who expects you off the water?"), "button": _("Save"),
        "lead": _("The keepers see it when they look for you. It changes neither your time back nor the alarm."),
    }  # fmt: skip
    return acted(request, form, do, then=reverse("day"), facts=facts)


def _own(request, pk: int) -> Guest:
    return get_object_or_404(Guest.objects.select_related("fishery"), pk=pk, user=request.user, erased_at=None)
