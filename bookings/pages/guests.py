"""The keepers' pages of the guest list: who lacks contact details, and one guest's details."""

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from beats.pages.acts import acted, or_stands, posted
from beats.pages.door import KEEPERS, page
from beats.pages.show import shown
from bookings import queries
from bookings.models import Guest
from bookings.pages.contact_forms import ContactForm, as_stands
from bookings.services.guests import change_guest, stands_as


@page(*KEEPERS)
def guests(request, *, now, fishery):  # noqa: ARG001
    """Those without a number first."""
    rows = Guest.objects.filter(fishery=fishery, erased_at=None).order_by("name", "pk")
    known = sorted(rows, key=lambda guest: bool(guest.phone))
    return shown(request, "guests/guests.html", {"fishery": fishery, "guests": known})


@page(*KEEPERS, methods=("GET", "POST"))
def contact(request, *, now, fishery, pk):
    guest = get_object_or_404(Guest.objects.select_related("fishery"), pk=pk, fishery=fishery, erased_at=None)
    facts = {"title": guest.name, "guest": guest, "back": reverse("guests", args=[fishery.slug])}
    return contact_page(request, guest, facts, now=now, then=facts["back"])


def contact_page(request, guest: Guest, facts: dict[str, object], *, now, then: str):
    """The form of a guest's details, for whoever may change them; a second tap finds everything as asked."""
    form = ContactForm(posted(request), initial=as_stands(guest))

    def do(data):
        said = form.contact_facts()
        return or_stands(
            lambda: change_guest(guest, facts=said, version=data["version"], by=request.user, now=now),
            lambda: stands_as(guest, said),
        )

    last = queries.last_change_of(guest)
    facts |= {"button": _("Save"), "last": last, "by_you": last is not None and last.by_id == request.user.pk}
    return acted(request, form, do, then=then, template="guests/contact.html", facts=facts)
