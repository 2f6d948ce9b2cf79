"""The wall between fisheries, where rows of this app stand: see `beats/shared/wall.py`."""

from django.db import migrations

from beats.shared.stones import lay, lift, mine, through

STONES = {
    "fishing_sessions_oldbook": mine(),
    "fishing_sessions_monthlytotal": mine(),
    "fishing_sessions_return": mine(),
    "fishing_sessions_returndue": mine(),
    "fishing_sessions_boardkey": mine(),
    "fishing_sessions_effortdecision": mine(),
    "fishing_sessions_outing": through("beats_beat", "beat_id"),
    "fishing_sessions_plan": through("beats_beat", "beat_id"),
    "fishing_sessions_catch": through("beats_beat", "beat_id"),
    "fishing_sessions_rota": through("beats_beat", "beat_id"),
    "fishing_sessions_rotajob": through("beats_beat", "beat_id"),
    "fishing_sessions_turn": through("beats_daypart", "part_id"),
    "fishing_sessions_phonenote": through("bookings_guest", "guest_id"),
}


class Migration(migrations.Migration):
    dependencies = [("fishing_sessions", "0007_turns_by_day"), ("bookings", "0005_the_wall")]
    operations = [migrations.RunPython(lay(STONES), lift(STONES))]
