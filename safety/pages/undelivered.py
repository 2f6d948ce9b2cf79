"""Messages that did not arrive: whom to ring, and the two ways to close each."""

from dataclasses import dataclass

from django import forms
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _l

from beats.pages.acts import acted, posted
from beats.pages.door import KEEPERS, page
from beats.pages.show import shown
from beats.queries import zone_of
from bookings.models import Guest
from safety import queries
from safety.models import Delivery
from safety.services.undelivered import BY_TELEPHONE, acknowledge, correct_address, fishery_of


class AddressForm(forms.Form):
    address = forms.CharField(max_length=254)

    def __init__(self, *args, by_telephone: bool, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["address"]
        field.label = _l("The right number") if by_telephone else _l("The right e-mail address")
        field.widget = forms.TextInput(
            attrs={"inputmode": "tel" if by_telephone else "email", "autocomplete": "off"}
        )


@dataclass(frozen=True)
class Task:
    """One address and everything that failed at it; `newest` stands for all of them."""

    newest: Delivery
    name: str
    count: int


def tasks(user, fishery, *, now) -> list[Task]:
    """The addresses of a fishery that need a keeper, the newest failure first. Two queries."""
    rows = queries.undelivered_visible_to(user, now=now).order_by("-written_at", "id")
    by_address: dict[tuple, list[Delivery]] = {}
    for row in rows:
        if fishery_of(row) == fishery:
            by_address.setdefault((row.channel in BY_TELEPHONE, row.recipient), []).append(row)
    names = _names(fishery, (each[0].person for each in by_address.values()))
    return [Task(each[0], names.get(each[0].person, ""), len(each)) for each in by_address.values()]


@page(*KEEPERS)
def undelivered(request, *, now, fishery):
    found = tasks(request.user, fishery, now=now)
    facts = {"fishery": fishery, "zone": zone_of(fishery), "tasks": found}
    return shown(request, "safety/undelivered.html", facts)


@page(*KEEPERS, methods=("GET", "POST"))
def correct(request, *, now, fishery, pk):
    row = _row(request, fishery, pk)

    def do(data):
        return correct_address(row, address=data["address"], by=request.user, now=now)

    facts = {
        "title": _("Correct %(address)s") % {"address": row.recipient},
        "lead": _("What still matters is sent again to the new address. Is somebody missing? Ring as well."),
        "button": _("Correct and send again"),
    }
    form = AddressForm(posted(request), by_telephone=row.channel in BY_TELEPHONE)
    return acted(request, form, do, then=_back(fishery), facts=facts)


@page(*KEEPERS, methods=("GET", "POST"))
def acknowledge_one(request, *, now, fishery, pk):
    row = _row(request, fishery, pk)
    facts = {
        "title": _("Done with %(address)s?") % {"address": row.recipient},
        "lead": _("Nothing more is sent to it about this, and it leaves the list. Your name is kept with it."),
        "button": _("I have seen to it"),
    }
    form = forms.Form(posted(request))
    return acted(
        request, form, lambda _data: acknowledge(row, by=request.user, now=now), then=_back(fishery), facts=facts
    )


def _row(request, fishery, pk) -> Delivery:
    row = get_object_or_404(queries.failed_messages_visible_to(request.user), pk=pk)
    if fishery_of(row) != fishery:
        return get_object_or_404(Delivery.objects.none())
    return row


def _back(fishery) -> str:
    return reverse("water-undelivered", args=[fishery.slug])


def _names(fishery, persons) -> dict[str, str]:
    """Whose each address is. Keepers come from the fishery's list, guests and their contacts in one query."""
    wanted = {person for person in persons if person.partition(":")[0] in ("guest", "contact")}
    pks = {int(person.partition(":")[2]) for person in wanted}
    found = {f"user:{part.user_id}": str(part.user) for part in fishery.memberships.select_related("user")}
    for guest in Guest.objects.filter(fishery=fishery, pk__in=pks):
        found[f"guest:{guest.pk}"] = guest.name
        found[f"contact:{guest.pk}"] = _("emergency contact of %(name)s") % {"name": guest.name}
    return found
