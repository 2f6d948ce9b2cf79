"""A question planned once a connection: the same answer whatever became of what was prepared."""

import pytest
from django.db import ProgrammingError, connection, transaction
from django.test.utils import CaptureQueriesContext

from beats.shared.prepared import first_value, name_of

SQL = "SELECT %s > 1 OR %s = 0"
pytestmark = pytest.mark.django_db(transaction=True)


def ask(value: int) -> bool:
    return bool(first_value(SQL, value, kind="int"))


@pytest.fixture(autouse=True)
def _a_connection_of_its_own(transactional_db):
    connection.close()
    yield
    connection.close()


def said(act) -> list[str]:
    with CaptureQueriesContext(connection) as seen:
        act()
    return [query["sql"].split()[0] for query in seen.captured_queries]


def test_each_value_has_its_own_answer():
    assert [ask(value) for value in (0, 1, 2, 1, 0)] == [True, False, True, False, True]


def test_it_is_planned_once_a_connection():
    first, second = said(lambda: ask(1)), said(lambda: ask(1))
    connection.close()
    third = said(lambda: ask(1))
    if connection.vendor == "postgresql":
        assert (first, second, third) == (["PREPARE", "EXECUTE"], ["EXECUTE"], ["PREPARE", "EXECUTE"])
    else:
        assert first == second == third == ["SELECT"]


def test_a_pooler_that_forgot_it_is_asked_plainly_from_then_on():
    ask(1)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("DEALLOCATE ALL")
    assert [ask(2), ask(1)] == [True, False]
    assert said(lambda: ask(2)) == ["SELECT"]


def test_a_pooler_that_has_it_from_another_is_asked_plainly():
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"PREPARE {name_of(SQL)} (int) AS SELECT $1 = 99")
    assert [ask(2), ask(99), ask(1)] == [True, True, False]


def test_inside_a_transaction_it_cannot_be_asked_again_and_says_so():
    if connection.vendor != "postgresql":
        pytest.skip("SQLite prepares nothing")
    ask(1)
    with connection.cursor() as cursor:
        cursor.execute("DEALLOCATE ALL")
    with pytest.raises(ProgrammingError), transaction.atomic():
        ask(1)
    assert ask(2) is True


def test_what_was_rolled_back_is_still_prepared():
    with transaction.atomic():
        ask(1)
        transaction.set_rollback(True)
    assert ask(2) is True
