"""What an owner states of the months of a season, and signs with."""

from tests.factories import MonthStatementFactory

SIGNER = {
    "signer_name": "Aster Finch",
    "signer_capacity": "agent",
    "signer_address": "Estate Office\nMoor Burn",
    "declared": True,
}


def stated(beat, season, months, record="no_fishing"):
    """The owner's statement on each of `months`, as if entered before."""
    for month in months:
        MonthStatementFactory(fishery=beat.fishery, season=season, month=month, record=record)
