"""What an owner states of the months of a season, and signs with."""

from sessions.models import MonthStatement
from tests.factories import UserFactory

SIGNER = {
    "signer_name": "Aster Finch",
    "signer_capacity": "agent",
    "signer_address": "Estate Office\nMoor Burn",
    "declared": True,
}


def stated(beat, season, months, record="no_fishing"):
    """The owner's statement on each of `months`, as if entered before."""
    for month in months:
        MonthStatement.objects.create(
            fishery=beat.fishery, season=season, month=month, record=record,
            stated_by=UserFactory(), stated_at="2026-01-01T00:00:00Z",
        )  # fmt: skip
