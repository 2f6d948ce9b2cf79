"""The watch's tables: alarms and who answers for them, messages (an outbox) and where phones take pushes,
recalls, drills, incidents, pulse."""

from safety.models.alarms import Acknowledgement, Alarm, Duty
from safety.models.angler_messages import AnglerMessage
from safety.models.book import Incident, Pulse
from safety.models.messages import Delivery, Drill, GatewayEvent
from safety.models.pushes import PushAddress
from safety.models.recalls import AreaWarning, Recall, RecallCall

__all__ = [
    "Acknowledgement",
    "Alarm",
    "AnglerMessage",
    "AreaWarning",
    "Delivery",
    "Drill",
    "Duty",
    "GatewayEvent",
    "Incident",
    "Pulse",
    "PushAddress",
    "Recall",
    "RecallCall",
]
