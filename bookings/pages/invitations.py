"""A guest's answer to the fisheries that entered them."""

from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.pages.acts import acted
from beats.pages.door import page
from beats.pages.keyed import KeyForm
from bookings.models import Guest
from bookings.services.invitations import accept_invitation, decline_invitation


@page(methods=("POST",))
def accept(request, *, now, pk):
    return _answer(request, accept_invitation, now, pk)


@page(methods=("POST",))
def decline(request, *, now, pk):
    return _answer(request, decline_invitation, now, pk)


def _answer(request, act, now, pk):
    def do(_data):
        try:
            return act(pk, by=request.user, now=now)
        except Guest.DoesNotExist:
            raise Http404 from None

    facts = {"title": _("Not done"), "button": _("Send again")}
    return acted(request, KeyForm(request.POST), do, then=reverse("home"), facts=facts)
