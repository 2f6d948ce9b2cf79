"""A worked-out rota and what is known of how good it is."""

from dataclasses import dataclass, field
from fractions import Fraction

from sessions.rotation.problem import Goal, Step


@dataclass(frozen=True)
class Reached:
    """How far one goal was brought. Smaller is better; no rota as good on the goals before goes below `bound`."""

    goal: Goal
    value: Fraction
    bound: Fraction

    @property
    def proven(self) -> bool:
        return self.value <= self.bound

    @property
    def gap(self) -> Fraction:
        """How far from the bound, as a share of the value; 0 when proven."""
        return abs(self.value - self.bound) / abs(self.value) if self.value else abs(self.bound)


@dataclass(frozen=True)
class Answer:
    """A rota, goal by goal. `custom` holds the same goals for the simple custom, if that can be done at all.

    `cut_short` says why the search ended before its effort was spent: "" when it did not.
    """

    steps: tuple[Step, ...]
    reached: tuple[Reached, ...]
    worth: dict[str, Fraction]
    follows: dict[tuple[str, str], int]
    custom: dict[Goal, Fraction] | None
    binding: list[tuple[str, Fraction, int]] = field(default_factory=list)
    cut_short: str = ""

    @property
    def proven(self) -> bool:
        return all(goal.proven for goal in self.reached)

    @property
    def repeats(self) -> int:
        return int(next(goal.value for goal in self.reached if goal.goal is Goal.REPEATS))
