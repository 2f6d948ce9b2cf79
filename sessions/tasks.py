"""Background work on the water's side, thin: one call a task. Losing one costs seconds."""

from celery import shared_task
from django.utils import timezone

from sessions.services.jobs import work_one
from sessions.services.reminders import remind


@shared_task(name="sessions.work_rota_jobs")
def work_rota_jobs(**_later):
    work_one(clock=timezone.now)


@shared_task(name="sessions.remind_of_returns")
def remind_of_returns(**_later):
    remind(now=timezone.now())
