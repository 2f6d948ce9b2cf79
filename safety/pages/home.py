"""Where a visit begins."""

from django.http import HttpResponseRedirect
from django.urls import reverse

from beats.models import Membership
from beats.pages.door import page
from beats.pages.show import parts_of


@page()
def home(request, *, now):  # noqa: ARG001
    """A keeper begins at their water, a guest at their day."""
    kept = [part.fishery for part in parts_of(request) if part.role in Membership.KEEPERS]
    path = reverse("water", args=[kept[0].slug]) if kept else reverse("day")
    return HttpResponseRedirect(path, status=303)
