"""The tables of the day: rota and turns, outings, catches, returns, old books."""

from sessions.models.catches import Catch, CatchQuerySet
from sessions.models.entries import OutingEntry
from sessions.models.jobs import RotaJob
from sessions.models.old_books import MonthlyTotal, OldBook
from sessions.models.outings import Outing, Plan
from sessions.models.phone import PhoneNote
from sessions.models.returns import (
    BoardKey,
    EffortDecision,
    MonthStatement,
    Return,
    ReturnDue,
    ReviewAnswer,
)
from sessions.models.rotas import Rota, Turn

__all__ = [
    "BoardKey", "Catch", "CatchQuerySet", "EffortDecision", "MonthStatement", "MonthlyTotal", "OldBook", "Outing",
    "OutingEntry", "PhoneNote", "Plan", "Return",
    "ReturnDue", "ReviewAnswer", "Rota", "RotaJob", "Turn",
]  # fmt: skip
