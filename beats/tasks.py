"""The gauges' feeds on Celery, thin: one call a task. Losing one costs a minute."""

from celery import shared_task
from django.utils import timezone

from beats.services.idempotency import purge_idempotency_records
from beats.services.polling import due_gauges, poll
from beats.services.sign_in import forget_codes as forget_old_codes
from beats.services.sign_in import send_codes as send_waiting_codes


@shared_task(name="beats.poll_gauges")
def poll_gauges(**_later):
    """One message for each gauge that is due; a second message for the same gauge finds nothing to do."""
    for pk in due_gauges(timezone.now()).values_list("pk", flat=True)[:200]:
        poll_gauge.apply_async(kwargs={"gauge": pk}, expires=50)


@shared_task(name="beats.poll_gauge", soft_time_limit=45, time_limit=60)
def poll_gauge(*, gauge: int, **_later):
    poll(gauge, clock=timezone.now)


@shared_task(name="beats.send_codes")
def send_codes(**_later):
    send_waiting_codes(clock=timezone.now)


@shared_task(name="beats.forget_codes")
def forget_codes(**_later):
    forget_old_codes(now=timezone.now())


@shared_task(name="beats.purge_idempotency_records")
def purge_idempotency_records_task(**_later):
    purge_idempotency_records(now=timezone.now())
