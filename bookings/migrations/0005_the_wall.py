"""The wall between fisheries, where rows of this app stand: see `beats/shared/wall.py`."""

from django.db import migrations

from beats.shared.stones import lay, lift, mine, through

STONES = {
    "bookings_guest": mine(),
    "bookings_hook": mine(),
    "bookings_paymentkey": mine(),
    "bookings_lettingpolicy": mine(),
    "bookings_lettingseason": mine(),
    "bookings_waiting": mine(),
    "bookings_letimport": mine(),
    "bookings_terms": mine(),
    "bookings_tariff": mine(),
    "bookings_ledgerentry": mine(),
    "bookings_calendarfeed": mine(),
    "bookings_let": through("beats_beat", "beat_id"),
    "bookings_rodday": through("beats_beat", "beat_id"),
    "bookings_beatclosure": through("beats_beat", "beat_id"),
    "bookings_diaryday": through("beats_beat", "beat_id"),
    "bookings_hookmessage": through("bookings_hook", "hook_id"),
    "bookings_refundstep": through("bookings_lettingpolicy", "policy_id"),
    "bookings_sameweek": through("bookings_lettingseason", "season_id"),
    "bookings_offer": through("bookings_sameweek", "same_week_id"),
    "bookings_paper": through("bookings_let", "let_id"),
}


class Migration(migrations.Migration):
    dependencies = [("bookings", "0004_money_and_papers"), ("beats", "0009_the_wall")]
    operations = [migrations.RunPython(lay(STONES), lift(STONES))]
