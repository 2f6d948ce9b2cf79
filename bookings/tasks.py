"""Background work on the book, thin: one call a task. Losing one costs seconds."""

from celery import shared_task
from django.utils import timezone

from bookings.services.sweep import sweep


@shared_task(name="bookings.sweep")
def sweep_the_book(**_later):
    sweep(timezone.now())
