"""The auditor: what must be true of the tables and of the letter box, in plain SQL, knowing none of the code.

Each question answers with the rows that break the promise; nothing lost, no record doubled.
"""

import collections
import email
import email.policy
import re
from pathlib import Path

QUESTIONS = {
    "open and overdue, without an alarm for its deadline": """
        SELECT o.id FROM fishing_sessions_outing o
        WHERE o.checked_out_at IS NULL AND o.alarm_at <= %(now)s AND NOT EXISTS (
            SELECT 1 FROM safety_alarm a WHERE a.outing_id = o.id AND a.kind = 'overdue'
            AND a.deadline_number = o.deadline_number AND a.stage = 1)""",
    "the same stage twice": """
        SELECT MIN(id) FROM safety_alarm GROUP BY outing_id, kind, deadline_number, occasion, stage
        HAVING COUNT(*) > 1""",
    "a stage without the one below it": """
        SELECT a.id FROM safety_alarm a WHERE a.stage > 1 AND NOT EXISTS (
            SELECT 1 FROM safety_alarm b WHERE b.outing_id = a.outing_id AND b.kind = a.kind
            AND b.deadline_number = a.deadline_number AND b.occasion = a.occasion AND b.stage = a.stage - 1)""",
    "an alarm that told nobody": """
        SELECT a.id FROM safety_alarm a WHERE NOT EXISTS (
            SELECT 1 FROM safety_delivery d WHERE d.alarm_id = a.id AND d.about = 'overdue' AND d.channel = 'email'
            AND d.turn = 0)""",
    "an alarm before its time": """
        SELECT a.id FROM safety_alarm a WHERE a.raised_at < a.alarm_at AND a.stage > 0""",
    "a message that never left": """
        SELECT d.id FROM safety_delivery d WHERE d.state NOT IN ('sent', 'delivered', 'not_needed')""",
    "an alarm that goes on though its angler is back": """
        SELECT a.id FROM safety_alarm a JOIN fishing_sessions_outing o ON o.id = a.outing_id
        WHERE o.checked_out_at IS NOT NULL AND a.cleared_at IS NULL""",
    "somebody who had the alarm and no all-clear": """
        SELECT d.id FROM safety_delivery d JOIN safety_alarm a ON a.id = d.alarm_id
        JOIN fishing_sessions_outing o ON o.id = a.outing_id
        WHERE o.checked_out_at IS NOT NULL AND d.about = 'overdue' AND d.state <> 'not_needed' AND NOT EXISTS (
            SELECT 1 FROM safety_delivery e JOIN safety_alarm b ON b.id = e.alarm_id
            WHERE b.outing_id = a.outing_id AND b.kind = a.kind AND b.deadline_number = a.deadline_number
            AND b.occasion = a.occasion AND e.about = 'all_clear' AND e.channel = d.channel
            AND e.recipient = d.recipient)""",
    "an alarm raised after its angler was back": """
        SELECT a.id FROM safety_alarm a JOIN fishing_sessions_outing o ON o.id = a.outing_id
        WHERE o.checked_out_at < a.raised_at""",
    "a ladder that stopped though nobody answers": """
        SELECT o.id FROM fishing_sessions_outing o
        WHERE o.checked_out_at IS NULL AND o.alarm_at <= %(now)s AND NOT EXISTS (
            SELECT 1 FROM safety_alarm a WHERE a.outing_id = o.id AND a.deadline_number = o.deadline_number
            AND a.kind = 'overdue' AND a.next_at > %(now)s AND a.cleared_at IS NULL)""",
}
DOUBLED = "doubled messages beyond the one window"


def faults(cursor, *, now: str, mail: Path, windows: int) -> list[str]:
    """Everything that is wrong. `windows`: how often a sender was ended or held between sending and noting it."""
    found = []
    for what, sql in QUESTIONS.items():
        wanted = {"now": now} if "%(now)s" in sql else None
        cursor.execute(sql, wanted) if wanted else cursor.execute(sql)
        if rows := cursor.fetchall():
            found.append(f"{what}: {rows[:3]}")
    cursor.execute("SELECT id FROM safety_delivery WHERE channel = 'email' AND state = 'sent'")
    sent = {re.sub("-", "", str(pk)) for (pk,) in cursor.fetchall()}
    had = letters(mail)
    if lost := sent - set(had):
        found.append(f"noted as sent and never in the letter box: {sorted(lost)[:3]}")
    repeats = sum(count - 1 for count in had.values())
    if repeats > windows:
        found.append(f"{DOUBLED}: {repeats} of {windows}")
    return found


def letters(mail: Path) -> collections.Counter:
    """How often each message lies in the letter box, by the id in its Message-ID."""
    found: collections.Counter = collections.Counter()
    for path in mail.glob("*"):
        for part in path.read_text(errors="replace").split("-" * 79 + "\n"):
            if part.strip():
                message = email.message_from_string(part, policy=email.policy.default)
                found[re.sub("-", "", message["Message-ID"].strip("<> ").partition("@")[0])] += 1
    return found
