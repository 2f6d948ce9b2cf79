"""The water an address names, for those who may ask."""

from rest_framework.generics import get_object_or_404

from beats.models import Fishery
from beats.queries import fisheries_visible_to, require_role


def fishery_at(request, slug: str, *roles: str) -> Fishery:
    """The fishery; with roles, for those parts alone.

    Raises Http404 to whoever has no part in it, and 403 that says whose part it is.
    """
    fishery = get_object_or_404(fisheries_visible_to(request.user), slug=slug)
    if roles:
        require_role(request.user, fishery, *roles)
    return fishery
