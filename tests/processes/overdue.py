"""A guest goes out alone and is overdue: what they and the keepers see of it, over HTTP and in the letter box."""

import datetime as dt
import email
import email.policy

from tests.processes.service import OWNER, asked, until

GHILLIE = "callum.baird@durrisk.example"
TOLD = [("email", GHILLIE, "sent"), ("email", OWNER, "sent"), ("log", "durrisk-water", "sent")]


def go_out(service, name, *, seconds):
    """Once somebody watches, a new guest goes out alone, due back in `seconds`; the outing as it is answered."""
    until(lambda: asked(service, "/health/watch")[0] == 200, 40, "somebody watches")
    status, guest = asked(service, "/api/v1/guests/", {"fishery": "durrisk-water", "name": name})
    assert status == 201, guest
    due = dt.datetime.now(dt.UTC) + dt.timedelta(seconds=seconds)
    facts = {"guest": guest["id"], "beat": a_beat(service), "alone": True, "due_back_at": due.isoformat()}
    status, outing = asked(service, "/api/v1/outings/", facts)
    assert status == 201, outing
    return outing


def a_beat(service):
    return min(beat["id"] for beat in asked(service, "/api/v1/beats/")[1]["results"])


def alarms(service, outing):
    return asked(service, f"/api/v1/alarms/?outing={outing['id']}")[1]["results"]


def deliveries(alarm):
    return sorted((each["channel"], each["recipient"], each["state"]) for each in alarm["deliveries"])


def all_told(service, outing, *, count=1, seconds=25):
    """Wait until `count` alarms of this outing have been raised and every message about them has left."""

    def gone():
        found = alarms(service, outing)
        sent = all(state == "sent" for alarm in found for *_who, state in deliveries(alarm))
        return found if len(found) == count and sent else None

    return until(gone, seconds, f"the alarm for {outing['guest_name']}")


def letters(service, name):
    """Who was written to about this guest, as the mail server got it."""
    texts = [text for path in service.mail.glob("*") for text in path.read_text().split("-" * 79 + "\n")]
    messages = [email.message_from_string(text, policy=email.policy.default) for text in texts if text.strip()]
    return sorted(message["To"] for message in messages if name in message["Subject"])


def swept(service):
    """How many sweeps the workers have finished."""
    logs = "".join(path.read_text() for path in service.folder.glob("*worker*.log"))
    return logs.count("Task safety.sweep[") // 2  # received, succeeded


def overdue(outing):
    return dt.datetime.now(dt.UTC) > dt.datetime.fromisoformat(outing["due_back_at"])
