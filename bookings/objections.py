"""Which bookings a changed fishery file would orphan."""

from collections.abc import Iterable

from django.db.models import Count, Min

from beats.objections import WaterChange, objector
from beats.queries import local_day
from beats.shared import words
from bookings.models import Let, RodDay


@objector
def booked_water(change: WaterChange) -> Iterable[str]:
    """Beats that were ever let stay; rods booked from today on stay."""
    for beat in change.beats:
        count = Let.objects.filter(beat=beat).count()
        if count:
            yield f"Beat {beat.slug} has {count} lets in the book; keep it in the file."
    for beat, rods in change.fewer_rods.items():
        today = local_day(beat.fishery, change.now)
        over = RodDay.objects.filter(beat=beat, rod__gt=rods, day__gte=today)
        told = over.aggregate(count=Count("id"), first=Min("day"))
        if told["count"]:
            yield (
                f"Beat {beat.slug} would keep {rods} rods, but {told['count']} rod-days above that are booked "
                f"from {words.day(told['first'])}; move or cancel those lets first."
            )
