"""Working out the rota: pure values in, a rota and its certificate out.

The solver itself is `sessions.rotation.solve`, imported where it is called: its library takes seconds
to load, which the watch and the worker need not wait for.
"""

from sessions.rotation.problem import Discounts, Goal, NoRota, Place, Policy, Problem, Rod, Slot, Step

__all__ = ["Discounts", "Goal", "NoRota", "Place", "Policy", "Problem", "Rod", "Slot", "Step"]
