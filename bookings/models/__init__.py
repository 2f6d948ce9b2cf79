"""Who may fish, one module a room: the book of guests and lets, and how the water is let year after year."""

from bookings.models.book import Guest, Let, RodDay
from bookings.models.letting import (
    BeatClosure,
    LetImport,
    LettingPolicy,
    LettingSeason,
    Offer,
    RefundStep,
    SameWeek,
    Waiting,
)

__all__ = [
    "BeatClosure",
    "Guest",
    "Let",
    "LetImport",
    "LettingPolicy",
    "LettingSeason",
    "Offer",
    "RefundStep",
    "RodDay",
    "SameWeek",
    "Waiting",
]
