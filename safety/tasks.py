"""The watch on Celery: each task makes one call. Losing one costs seconds.

`safety.deliver` sends nothing itself: it sees to it that this process has its senders, which send until the worker
is told to stop.
"""

from functools import cache

from celery import shared_task
from celery.signals import worker_process_shutdown, worker_shutdown
from django.utils import timezone

from safety.services.conditions import look_at_water
from safety.services.drills import weekly_drills
from safety.services.ping import ping
from safety.services.sender_pool import SenderPool
from safety.services.sweep import sweep
from safety.services.undelivered import expire_undelivered
from safety.services.watching import ROOM_S


@shared_task(name="safety.sweep")
def sweep_task(**_later):
    sweep(now=timezone.now(), loop="sweep by worker", room_s=ROOM_S)


@cache
def senders() -> SenderPool:
    """The senders of this process."""
    return SenderPool(loop="deliver by worker")


@shared_task(name="safety.deliver")
def deliver_task(**_later):
    senders().start()


@worker_shutdown.connect(dispatch_uid="safety: stop senders")
@worker_process_shutdown.connect(dispatch_uid="safety: stop senders of a child")
def stop_senders(**_signal):
    """What is under way may end; the rest is taken by other senders."""
    if senders.cache_info().currsize:
        senders().stop()


@shared_task(name="safety.expire_undelivered")
def expire_undelivered_task(**_later):
    expire_undelivered(now=timezone.now())


@shared_task(name="safety.look_at_water")
def look_at_water_task(**_later):
    look_at_water(now=timezone.now())


@shared_task(name="safety.ping")
def ping_task(**_later):
    ping(now=timezone.now())


@shared_task(name="safety.weekly_drills")
def weekly_drills_task(**_later):
    weekly_drills(now=timezone.now())
