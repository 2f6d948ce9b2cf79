"""The wall between fisheries, where rows of this app stand: see `beats/shared/wall.py`."""

from django.db import migrations

from beats.shared.stones import lay, lift, mine, mine_or_nobodys, through

STONES = {
    "beats_fishery": mine("id"),
    "beats_auditentry": mine_or_nobodys(),
    "beats_conservationgrade": mine(),
    "beats_fisheryrule": mine(),
    "beats_daypart": mine(),
    "beats_beat": mine(),
    "beats_gauge": mine(),
    "beats_membership": mine(),
    "beats_pool": through("beats_beat", "beat_id"),
    "beats_tidewater": through("beats_beat", "beat_id"),
    "beats_observation": through("beats_beat", "beat_id"),
    "beats_gaugekey": through("beats_gauge", "gauge_id"),
    "beats_reading": through("beats_gauge", "gauge_id"),
    "beats_poolclosure": through("beats_pool", "pool_id"),
}


class Migration(migrations.Migration):
    dependencies = [("beats", "0008_audit_is_added_to")]
    operations = [migrations.RunPython(lay(STONES), lift(STONES))]
