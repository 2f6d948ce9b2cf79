"""Removes answers to POSTs that no retry asks for any more."""

import datetime as dt

from beats.models import IdempotencyRecord
from beats.shared.idempotent_views import KEPT_FOR


def purge_idempotency_records(*, now: dt.datetime) -> int:
    """Delete records older than KEPT_FOR; returns how many. Idempotent."""
    return IdempotencyRecord.objects.filter(created_at__lte=now - KEPT_FOR).delete()[0]
