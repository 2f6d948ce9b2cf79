"""An audit row stands or falls with its deed."""

import pytest

from beats.audit import record
from beats.models import AuditEntry
from tests.factories import NOON, FisheryFactory


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
