"""The wall between fisheries, where rows of this app stand: see `beats/shared/wall.py`."""

from django.db import migrations

from beats.shared.stones import lay, lift, mine, through

STONES = {
    "safety_duty": mine(),
    "safety_incident": mine(),
    "safety_areawarning": mine(),
    "safety_drill": mine(),
    "safety_recall": through("beats_beat", "beat_id"),
    "safety_alarm": through("fishing_sessions_outing", "outing_id"),
    "safety_acknowledgement": through("safety_alarm", "alarm_id"),
    "safety_recallcall": through("safety_recall", "recall_id"),
    "safety_delivery": " OR ".join(
        [
            through("safety_alarm", "alarm_id"),
            through("fishing_sessions_outing", "outing_id"),
            through("safety_recall", "recall_id"),
            through("safety_drill", "drill_id"),
        ]
    ),
}


class Migration(migrations.Migration):
    dependencies = [("safety", "0004_push_addresses"), ("fishing_sessions", "0008_the_wall")]
    operations = [migrations.RunPython(lay(STONES), lift(STONES))]
