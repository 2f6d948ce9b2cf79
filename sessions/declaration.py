"""Who signs a return and what they declare."""

from dataclasses import dataclass

from beats.shared.phrases import Phrase, say

DECLARATION = say(
    "I declare that, to the best of my knowledge and belief, these figures are true and complete. This is the "
    "fishery's own record; the official return form governs. Statistics of a salmon fishery may be required under "
    "section 64 of the Salmon and Freshwater Fisheries (Consolidation) (Scotland) Act 2003, and to give a false "
    "statement knowingly is an offence."
)
"""Our own wording. Section 64 was read in a stored copy of the Act (legislation.gov.uk/asp/2003/15)."""


@dataclass(frozen=True)
class Signer:
    """Who signs: name, capacity (`Return.Capacity`), postal address, and whether the declaration was made."""

    name: str
    capacity: str
    address: str
    declared: bool

    def missing(self) -> dict[str, list[Phrase]]:
        """A sentence for each field that was left empty."""
        asked = {
            "signer_name": (self.name.strip(), say("Give the name of the person who signs.")),
            "signer_capacity": (self.capacity, say("Say whether they sign as owner, occupier or agent.")),
            "signer_address": (self.address.strip(), say("Give their postal address.")),
            "declared": (self.declared, say("Make the declaration. Without it nothing is signed.")),
        }
        return {field: [sentence] for field, (given, sentence) in asked.items() if not given}
