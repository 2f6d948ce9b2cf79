"""The water's tables, one module a room: people, water, gauges, audit."""

from beats.models.audit import AuditEntry
from beats.models.day import Observation, TideWater
from beats.models.gauges import Gauge, GaugeKey, Reading
from beats.models.idempotency import IdempotencyRecord
from beats.models.people import AccessToken, Membership, User
from beats.models.sign_in import SignIn, Spent
from beats.models.water import Beat, ConservationGrade, DayPart, Fishery, FisheryRule, Pool, PoolClosure

__all__ = [
    "AccessToken",
    "AuditEntry",
    "Beat",
    "ConservationGrade",
    "DayPart",
    "Fishery",
    "FisheryRule",
    "Gauge",
    "GaugeKey",
    "IdempotencyRecord",
    "Membership",
    "Observation",
    "Pool",
    "PoolClosure",
    "Reading",
    "SignIn",
    "Spent",
    "TideWater",
    "User",
]
