"""The page the code on a permit opens. It tells how to check in, and by itself does nothing."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.views.decorators.http import require_safe

from beats.emergency import NOT_AN_EMERGENCY_SERVICE, in_danger
from beats.models import Beat
from beats.shared.made import NOTHING_FETCHED, PRIVATE


@require_safe
def check_in(_request, fishery: str, beat: str) -> HttpResponse:
    """No guest's name, no secret, no form: whoever photographs the code learns what the sign at the hut says."""
    row = get_object_or_404(Beat.objects.select_related("fishery"), slug=beat, fishery__slug=fishery)
    facts = {
        "beat": row,
        "longest_hours": row.longest_outing_minutes / 60,
        "danger": in_danger(tidal=row.tidal),
        "not_a_service": NOT_AN_EMERGENCY_SERVICE,
    }
    return HttpResponse(render_to_string("bookings/check_in.html", facts), headers=NOTHING_FETCHED | PRIVATE)
