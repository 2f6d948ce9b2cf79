"""Who may fish and what it costs, one module a room: book, letting, money, papers, hooks."""

from bookings.models.book import Guest, Let, RodDay
from bookings.models.hooks import Hook, HookMessage, PaymentKey
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
from bookings.models.money import AgreedPrice, LedgerEntry, Tariff, Terms
from bookings.models.notices import TenancyNotice
from bookings.models.papers import CalendarFeed, DiaryDay, Paper

__all__ = [
    "AgreedPrice",
    "BeatClosure",
    "CalendarFeed",
    "DiaryDay",
    "Guest",
    "Hook",
    "HookMessage",
    "LedgerEntry",
    "Let",
    "LetImport",
    "LettingPolicy",
    "LettingSeason",
    "Offer",
    "Paper",
    "PaymentKey",
    "RefundStep",
    "RodDay",
    "SameWeek",
    "Tariff",
    "TenancyNotice",
    "Terms",
    "Waiting",
]
