"""Working out the rota: pure values in, a rota and its certificate out."""

from sessions.rotation.problem import NoRota, Place, Problem, Rod, Step
from sessions.rotation.solve import Answer, solve

__all__ = ["Answer", "NoRota", "Place", "Problem", "Rod", "Step", "solve"]
