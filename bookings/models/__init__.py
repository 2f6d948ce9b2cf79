"""Who may fish, what it costs and what is told of it, one module a room: book, money, papers, hooks."""

from bookings.models.book import Guest, Let, RodDay
from bookings.models.hooks import Hook, HookMessage, PaymentKey
from bookings.models.money import LedgerEntry, Tariff, Terms
from bookings.models.papers import CalendarFeed, DiaryDay, Paper

__all__ = [
    "CalendarFeed",
    "DiaryDay",
    "Guest",
    "Hook",
    "HookMessage",
    "LedgerEntry",
    "Let",
    "Paper",
    "PaymentKey",
    "RodDay",
    "Tariff",
    "Terms",
]
