"""The watch on Celery: each task makes one call. Losing one costs seconds."""

from celery import shared_task
from django.utils import timezone

from safety.services.deliver import deliver
from safety.services.sweep import sweep


@shared_task(name="safety.sweep")
def sweep_task(**_later):
    sweep(now=timezone.now())


@shared_task(name="safety.deliver")
def deliver_task(**_later):
    deliver(clock=timezone.now)
