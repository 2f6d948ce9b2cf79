"""The watch on Celery: each task makes one call. Losing one costs seconds."""

from celery import shared_task
from django.utils import timezone

from safety.services.conditions import look_at_water
from safety.services.deliver import deliver
from safety.services.drills import weekly_drills
from safety.services.ping import ping
from safety.services.sweep import sweep


@shared_task(name="safety.sweep")
def sweep_task(**_later):
    sweep(now=timezone.now(), loop="sweep by worker")


@shared_task(name="safety.deliver")
def deliver_task(**_later):
    deliver(clock=timezone.now, loop="deliver by worker")


@shared_task(name="safety.look_at_water")
def look_at_water_task(**_later):
    look_at_water(now=timezone.now())


@shared_task(name="safety.ping")
def ping_task(**_later):
    ping(now=timezone.now())


@shared_task(name="safety.weekly_drills")
def weekly_drills_task(**_later):
    weekly_drills(now=timezone.now())
