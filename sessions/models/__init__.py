"""The tables of the day: rota and turns, outings, catches."""

from sessions.models.catches import Catch
from sessions.models.jobs import RotaJob
from sessions.models.outings import Outing, Plan
from sessions.models.rotas import Rota, Turn

__all__ = ["Catch", "Outing", "Plan", "Rota", "RotaJob", "Turn"]
