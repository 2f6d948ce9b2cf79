"""A bound on texts and calls, against a bill that runs away. It never holds back a word about a lone angler."""

import datetime as dt

from django.db.models import Q

from safety.models import Delivery
from safety.services.people import policy_of
from sessions.models import Outing

HOUR = dt.timedelta(hours=1)
PAID = (Delivery.Channel.TEXT, Delivery.Channel.VOICE)


def spent(delivery: Delivery, *, now: dt.datetime) -> str:
    """Why this text or call waits; empty when it may go."""
    pk = delivery.outing_id or (delivery.alarm.outing_id if delivery.alarm_id else None)
    outing = Outing.objects.select_related("beat").filter(pk=pk).first()
    if outing is None or outing.alone:
        return ""
    most = policy_of(outing.beat).texts_an_hour
    of_beat = Q(alarm__outing__beat=outing.beat_id) | Q(outing__beat=outing.beat_id)
    gone = Q(sent_at__gt=now - HOUR) | Q(state=Delivery.State.SENDING)
    sent = Delivery.objects.filter(of_beat, gone, channel__in=PAID).count()
    if sent < most:
        return ""
    return (
        f"{sent} texts and calls have gone out for this beat within the hour; its policy allows {most}. It waits."
    )
