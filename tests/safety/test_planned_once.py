"""What a sweep asks every few seconds is planned once a connection, and still answered for each instant."""

import datetime as dt

import pytest
from django.db import connection

from safety.services.due import may_be_due
from tests.factories import OutingFactory

KEPT = "SELECT generic_plans FROM pg_prepared_statements WHERE statement LIKE %s"


@pytest.mark.django_db(transaction=True)
def test_the_question_is_kept_and_answers_for_each_instant():
    connection.close()
    due = OutingFactory().alarm_at
    before, after = due - dt.timedelta(seconds=1), due + dt.timedelta(seconds=1)
    assert [may_be_due(at) for at in (before, after) * 10] == [False, True] * 10
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(KEPT, ["%safety_drill WHERE sent_at IS NULL%"])
            assert cursor.fetchone()[0] > 0
