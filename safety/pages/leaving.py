"""Off the water: the end of the watch said plainly, and its undo."""

from django.http import HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.pages.acts import acted
from beats.pages.door import page
from beats.pages.keyed import new_key
from beats.pages.show import shown
from beats.queries import zone_of
from bookings.models import Guest
from safety.off_water import ended_lately
from safety.pages.forms import PhoneForm
from sessions.models import Outing
from sessions.queries import open_outing
from sessions.services.undo import undo_by_phone


@page()
def off_the_water(request, *, now, guest):
    """After a check-out. Whoever is still on the water by our record is shown their day instead."""
    person = get_object_or_404(Guest.objects.select_related("fishery"), pk=guest, user=request.user)
    if open_outing(person) is not None:
        return HttpResponseRedirect(reverse("day"), status=303)
    ended = ended_lately(person, now=now)
    facts = {"guest": person, "ended": ended, "key": new_key, "zone": zone_of(person.fishery)}
    return shown(request, "safety/off_the_water.html", facts)


@page(methods=("POST",))
def undo(request, *, now, outing):
    row = get_object_or_404(Outing.objects.select_related("guest__fishery"), pk=outing, guest__user=request.user)
    form = PhoneForm(request.POST)

    def do(_data):
        return undo_by_phone(row.guest, form.said(), outing=row, by=request.user, now=now)

    facts = {"title": _("Not undone"), "button": _("Send again")}
    return acted(request, form, do, then=reverse("day"), facts=facts)
