"""The ways a message leaves the house. Each takes one delivery and either accepts it or raises."""

import logging

from django.core.mail import EmailMessage

from safety.models import Delivery

log = logging.getLogger("rodtally.alarm")


def by_email(delivery: Delivery) -> None:
    """Hand it to the mail server; the same delivery always has the same Message-ID."""
    message = EmailMessage(
        subject=delivery.subject,
        body=delivery.body,
        to=[delivery.recipient],
        headers={"Message-ID": f"<{delivery.pk}@rodtally>", "X-Priority": "1"},
    )
    if message.send() != 1:
        raise OSError("the mail server took nothing")


def by_log(delivery: Delivery) -> None:
    """Write it where whoever runs the service will see it: the subject, not the personal details."""
    log.warning("%s [alarm %s]", delivery.subject, delivery.alarm_id)


CHANNELS = {Delivery.Channel.EMAIL: by_email, Delivery.Channel.LOG: by_log}
