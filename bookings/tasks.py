"""Background work on the book, thin: one call a task. Losing one costs seconds."""

from celery import shared_task
from django.utils import timezone

from bookings.services.forgetting import forget_by_and_by
from bookings.services.hooks import send_messages
from bookings.services.papers import send_papers
from bookings.services.sweep import sweep
from bookings.services.tenancy_notices import send_notices


@shared_task(name="bookings.sweep")
def sweep_the_book(**_later):
    sweep(timezone.now())


@shared_task(name="bookings.send_papers")
def send_papers_task(**_later):
    send_papers(clock=timezone.now)


@shared_task(name="bookings.send_notices")
def send_notices_task(**_later):
    send_notices(clock=timezone.now)


@shared_task(name="bookings.send_messages")
def send_messages_task(**_later):
    send_messages(clock=timezone.now)


@shared_task(name="bookings.forget")
def forget_task(**_later):
    forget_by_and_by(now=timezone.now())
