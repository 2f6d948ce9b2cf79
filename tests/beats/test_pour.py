"""Rows poured in are the rows the ORM would have written, and all of them or none."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from beats.models import AuditEntry
from beats.shared.pour import pour
from safety.models import Delivery
from tests.factories import AlarmFactory

NOW = dt.datetime(2026, 5, 6, 11, 0, 0, 250, tzinfo=dt.UTC)

pytestmark = pytest.mark.django_db


def a_message(alarm, **changes) -> Delivery:
    facts = {
        "alarm": alarm, "about": Delivery.About.OVERDUE, "channel": Delivery.Channel.TEXT,
        "recipient": "+447700900123", "subject": "Overdue", "body": "Ring me 🐟 \\N \t \n ש", "written_at": NOW,
        "next_try_at": NOW,
    }  # fmt: skip
    return Delivery(**facts | changes)


def told(row) -> dict:
    return {
        field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields if not field.primary_key
    }


def test_what_is_poured_reads_as_what_the_orm_writes():
    facts = {"at": NOW, "verb": "raise alarm", "subject": "alarm:7"}
    after = {"outing": 7, "said": 'a "word"\\n 🐟', "nothing": None}
    AuditEntry(**facts, after=after).save()
    pour([AuditEntry(**facts, after=after)])
    newest, older = AuditEntry.objects.order_by("-pk")[:2]
    assert told(newest) == told(older)
    assert newest.at == NOW


def test_a_message_poured_reads_as_it_was_made():
    message = a_message(AlarmFactory())
    pour([message])
    assert told(Delivery.objects.get(pk=message.pk)) == told(message)


def test_one_row_refused_is_all_of_them_refused():
    alarm = AlarmFactory()
    before = Delivery.objects.count()
    good, bad = a_message(alarm), a_message(alarm, recipient=None)
    with pytest.raises(IntegrityError), transaction.atomic():
        pour([good, bad])
    assert Delivery.objects.count() == before


def test_nothing_to_pour_asks_nothing(django_assert_num_queries):
    with django_assert_num_queries(0):
        pour([])
