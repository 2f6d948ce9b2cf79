"""Where a visit begins."""

from django.http import HttpResponseRedirect
from django.urls import reverse

from beats.models import Membership
from beats.pages.door import page
from beats.pages.show import parts_of
from bookings.services.invitations import invitations_of
from safety.contact_gaps import asks_at_first_visit
from safety.days import guests_of

ASKED = "asked for contact details"
SHOWN = "invitations shown"


@page()
def home(request, *, now):  # noqa: ARG001
    """A keeper begins at their water, a guest at their day.

    Once a session, whoever has an invitation to answer or cannot be reached is asked first.
    """
    if _is_invited(request):
        return HttpResponseRedirect(reverse("day"), status=303)
    kept = [part.fishery for part in parts_of(request) if part.role in Membership.KEEPERS]
    if kept:
        path = reverse("water", args=[kept[0].slug])
    else:
        path = reverse("my-contact") if _asks(request) else reverse("day")
    return HttpResponseRedirect(path, status=303)


def _is_invited(request) -> bool:
    if request.session.get(SHOWN) or not any(guest.invitation == "open" for guest in invitations_of(request.user)):
        return False
    request.session[SHOWN] = True
    return True


def _asks(request) -> bool:
    if request.session.get(ASKED) or not any(map(asks_at_first_visit, guests_of(request.user))):
        return False
    request.session[ASKED] = True
    return True
