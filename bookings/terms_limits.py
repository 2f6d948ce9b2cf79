"""What a fishery's terms and its letting policy may say, figure by figure. Pure.

Services refuse by it; the API and the pages ask here what to offer.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from beats.shared.phrases import say

CURRENCY = r"^[A-Z]{3}\Z"
"""ISO 4217."""
LONGEST_RULES = 2000
MOST_REFUNDS = 20


@dataclass(frozen=True)
class Between:
    """Both ends are allowed."""

    lowest: int
    highest: int | Decimal

    def __contains__(self, figure: int | Decimal) -> bool:
        return self.lowest <= figure <= self.highest

    @property
    def ends(self) -> dict[str, Any]:
        """As fields of forms and serializers want them."""
        return {"min_value": self.lowest, "max_value": self.highest}


A_HOLD = Between(5, 90 * 1440)
FIGURES: Mapping[str, Between] = {
    "deposit_percent": Between(0, 100),
    "deposit_days": Between(0, 365),
    "balance_days": Between(0, 365),
    "vat_percent": Between(0, Decimal("99.99")),
    "keep_guests_months": Between(12, 240),
    "keep_contacts_months": Between(1, 240),
    "keep_letters_months": Between(1, 240),
    "hold_minutes": A_HOLD,
    "offer_minutes": A_HOLD,
    "notice_days": Between(0, 730),
    "percent": Between(0, 100),
}


def faults(facts: Mapping[str, Any]) -> dict[str, list[str]]:
    """What each field would have to be instead; empty when all will do."""
    found: dict[str, list[str]] = {
        name: [say("Give {lowest} to {highest}.", lowest=limits.lowest, highest=limits.highest)]
        for name, value in facts.items()
        if (limits := FIGURES.get(name)) and value not in limits
    }
    if not re.match(CURRENCY, facts.get("currency", "GBP")):
        found["currency"] = [say("Give three capital letters, such as GBP.")]
    if len(facts.get("water_rules", "")) > LONGEST_RULES:
        found["water_rules"] = [say("Give {most} letters at most.", most=LONGEST_RULES)]
    return found
