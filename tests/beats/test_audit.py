"""An audit row stands or falls with its deed."""

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import F, Value

from beats.audit import forgetting, record
from beats.models import AuditEntry
from tests.factories import NOON, FisheryFactory, UserFactory


@pytest.mark.django_db(transaction=True)
def test_an_audit_row_outside_a_transaction_is_refused():
    fishery = FisheryFactory()
    with pytest.raises(RuntimeError, match="in the transaction of its deed"):
        record("look", fishery, by=None, now=NOON, fishery=fishery)
    assert AuditEntry.objects.count() == 0


@pytest.mark.django_db
def test_facts_are_kept_as_plain_values():
    fishery = FisheryFactory()
    record(
        "look",
        fishery,
        by=None,
        now=NOON,
        fishery=fishery,
        after={"at": NOON, "count": 2, "lone": True, "why": None},
    )
    entry = AuditEntry.objects.get()
    assert entry.after == {"at": "2026-05-06 11:00:00+00:00", "count": 2, "lone": True, "why": None}
    assert (entry.before, entry.by, entry.at) == (None, None, NOON)


@pytest.fixture
def noted(db):
    fishery = FisheryFactory()
    record("look", fishery, by=UserFactory(), now=NOON, fishery=fishery, after={"name": "A. Rod"})
    return AuditEntry.objects.get()


postgresql = pytest.mark.skipif(connection.vendor != "postgresql", reason="PostgreSQL's trigger")
CHANGES = {
    "another verb": {"verb": "look away"},
    "another day": {"at": NOON.replace(day=7)},
    "another subject": {"subject": Value("x:1")},
    "another doer": {"by": F("by") + 1},
    "other facts": {"after": {"name": "B. Rod"}},
    "no facts": {"after": None},
    "facts before": {"before": {"name": "B. Rod"}},
}


@postgresql
@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_postgresql_itself_keeps_a_row_as_it_was_written(noted, change):
    with pytest.raises(IntegrityError, match="never changed or taken out"), transaction.atomic():
        AuditEntry.objects.update(**change)
    with pytest.raises(IntegrityError, match="never changed or taken out"), transaction.atomic():
        AuditEntry.objects.all().delete()
    noted.refresh_from_db()
    assert (noted.verb, noted.after) == ("look", {"name": "A. Rod"})


@postgresql
def test_forgetting_opens_the_words_alone_and_shuts_after_itself(noted):
    with forgetting():
        AuditEntry.objects.update(after=None)
        with pytest.raises(IntegrityError), transaction.atomic():
            AuditEntry.objects.update(verb="nothing")
    with pytest.raises(IntegrityError), transaction.atomic():
        AuditEntry.objects.update(after={"name": "B. Rod"})
    noted.refresh_from_db()
    assert (noted.verb, noted.after) == ("look", None)


def test_whoever_is_taken_out_leaves_a_null_in_the_trail(noted):
    noted.by.delete()
    noted.fishery.delete()
    noted.refresh_from_db()
    assert (noted.by, noted.fishery, noted.verb) == (None, None, "look")


@pytest.mark.django_db(transaction=True)
def test_forgetting_outside_a_transaction_is_refused():
    with pytest.raises(RuntimeError, match="in the transaction of its deed"), forgetting():
        pass
