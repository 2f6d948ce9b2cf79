"""Money, papers, calendars and messages; and the triggers that keep the ledger as it was written."""

from collections import Counter

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models
from django.utils import timezone

WORDS = {
    "changed": "a ledger entry is never changed or taken out",
    "mixed": "a fishery keeps its ledger in one currency",
}
SQLITE = [
    f"""CREATE TRIGGER ledger_unchanged BEFORE UPDATE ON bookings_ledgerentry
        BEGIN SELECT RAISE(ABORT, '{WORDS["changed"]}'); END""",
    f"""CREATE TRIGGER ledger_kept BEFORE DELETE ON bookings_ledgerentry
        BEGIN SELECT RAISE(ABORT, '{WORDS["changed"]}'); END""",
    f"""CREATE TRIGGER ledger_currency BEFORE INSERT ON bookings_ledgerentry
        WHEN EXISTS (SELECT 1 FROM bookings_terms WHERE fishery_id = NEW.fishery_id AND currency <> NEW.currency)
        BEGIN SELECT RAISE(ABORT, '{WORDS["mixed"]}'); END""",
    f"""CREATE TRIGGER terms_currency BEFORE UPDATE OF currency ON bookings_terms
        WHEN OLD.currency <> NEW.currency
        AND EXISTS (SELECT 1 FROM bookings_ledgerentry WHERE fishery_id = NEW.fishery_id)
        BEGIN SELECT RAISE(ABORT, '{WORDS["mixed"]}'); END""",
]
# 23514 is check_violation: to Django an IntegrityError, as on SQLite. A row lock on the terms keeps an
# entry and a change of the currency from passing each other by.
POSTGRESQL = [
    f"""CREATE FUNCTION bookings_ledger_unchanged() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN RAISE EXCEPTION '{WORDS["changed"]}' USING ERRCODE = '23514'; END $$""",
    """CREATE TRIGGER ledger_unchanged BEFORE UPDATE OR DELETE ON bookings_ledgerentry
        FOR EACH ROW EXECUTE FUNCTION bookings_ledger_unchanged()""",
    f"""CREATE FUNCTION bookings_ledger_currency() RETURNS trigger LANGUAGE plpgsql AS $$
        DECLARE kept text;
        BEGIN
          SELECT currency INTO kept FROM bookings_terms WHERE fishery_id = NEW.fishery_id FOR SHARE;
          IF kept <> NEW.currency THEN
            RAISE EXCEPTION '{WORDS["mixed"]}' USING ERRCODE = '23514';
          END IF;
          RETURN NEW;
        END $$""",
    """CREATE TRIGGER ledger_currency BEFORE INSERT ON bookings_ledgerentry
        FOR EACH ROW EXECUTE FUNCTION bookings_ledger_currency()""",
    f"""CREATE FUNCTION bookings_terms_currency() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN
          IF OLD.currency <> NEW.currency
             AND EXISTS (SELECT 1 FROM bookings_ledgerentry WHERE fishery_id = NEW.fishery_id) THEN
            RAISE EXCEPTION '{WORDS["mixed"]}' USING ERRCODE = '23514';
          END IF;
          RETURN NEW;
        END $$""",
    """CREATE TRIGGER terms_currency BEFORE UPDATE ON bookings_terms
        FOR EACH ROW EXECUTE FUNCTION bookings_terms_currency()""",
]
UNDO = {
    "sqlite": [
        f"DROP TRIGGER IF EXISTS {name}"
        for name in ("ledger_unchanged", "ledger_kept", "ledger_currency", "terms_currency")
    ],
    "postgresql": [
        "DROP TRIGGER IF EXISTS ledger_unchanged ON bookings_ledgerentry",
        "DROP TRIGGER IF EXISTS ledger_currency ON bookings_ledgerentry",
        "DROP TRIGGER IF EXISTS terms_currency ON bookings_terms",
        "DROP FUNCTION IF EXISTS bookings_ledger_unchanged()",
        "DROP FUNCTION IF EXISTS bookings_ledger_currency()",
        "DROP FUNCTION IF EXISTS bookings_terms_currency()",
    ],
}


def guard_the_ledger(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for statement in {"sqlite": SQLITE, "postgresql": POSTGRESQL}[vendor]:
        schema_editor.execute(statement, params=None)


def unguard_the_ledger(apps, schema_editor):
    for statement in UNDO[schema_editor.connection.vendor]:
        schema_editor.execute(statement, params=None)


def know_the_lets_of_old(apps, schema_editor):
    """Lets made before there were letters get none now; calendars show them from their rod-days. Holds wait."""
    Let, RodDay = apps.get_model("bookings", "Let"), apps.get_model("bookings", "RodDay")
    Paper, DiaryDay = apps.get_model("bookings", "Paper"), apps.get_model("bookings", "DiaryDay")
    Guest = apps.get_model("bookings", "Guest")
    Guest.objects.update(entered_at=timezone.now())
    for let in Let.objects.exclude(status="held").exclude(confirmed_at=None).iterator():
        Paper.objects.create(
            let=let, edition=1, state="not_needed", written_at=let.made_at, next_try_at=let.made_at
        )
        rows = Counter()
        for day, *whose in RodDay.objects.filter(let=let).values_list("day", "guest", "sharer"):
            for guest in {None, let.booker_id, *whose}:
                rows[day, guest] += 1
        DiaryDay.objects.bulk_create(
            DiaryDay(let=let, beat_id=let.beat_id, day=day, guest_id=guest, rods=rods, changed_at=let.made_at)
            for (day, guest), rods in rows.items()
        )


class Migration(migrations.Migration):

    dependencies = [
        ('beats', '0005_water_of_the_day'),
        ('bookings', '0003_holds_and_seasons'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='guest',
            name='casting_shoulder',
            field=models.CharField(blank=True, choices=[('left', 'Left'), ('right', 'Right'), ('both', 'Both')], help_text='Blank: not said', max_length=5),
        ),
        migrations.AddField(
            model_name='guest',
            name='entered_at',
            field=models.DateTimeField(help_text='Null: before this was kept', null=True),
        ),
        migrations.AddField(
            model_name='guest',
            name='erased_at',
            field=models.DateTimeField(help_text='When all that names them was taken out', null=True),
        ),
        migrations.AddField(
            model_name='guest',
            name='needs',
            field=models.CharField(blank=True, help_text='What the ghillie must know to help them', max_length=300),
        ),
        migrations.AddField(
            model_name='guest',
            name='wants_boat',
            field=models.BooleanField(default=False, help_text='Would rather fish from a boat'),
        ),
        migrations.AddField(
            model_name='let',
            name='edition',
            field=models.PositiveIntegerField(db_default=1, default=1, help_text='One higher with every change that whoever fishes must be told of'),
        ),
        migrations.CreateModel(
            name='Hook',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('request_key', models.CharField(editable=False, max_length=80, null=True)),
                ('request_fingerprint', models.CharField(blank=True, editable=False, max_length=64)),
                ('url', models.URLField(help_text='https only', max_length=500)),
                ('label', models.CharField(max_length=80)),
                ('secret', models.CharField(editable=False, max_length=80)),
                ('created_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(null=True)),
                ('fishery', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='hooks', to='beats.fishery')),
                ('made_by', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='HookMessage',
            fields=[
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('sending', 'Sending'), ('sent', 'Sent'), ('given_up', 'Given Up'), ('not_needed', 'Not Needed')], default='waiting', max_length=10)),
                ('written_at', models.DateTimeField()),
                ('next_try_at', models.DateTimeField()),
                ('lease', models.UUIDField(editable=False, null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('sent_at', models.DateTimeField(null=True)),
                ('last_fault', models.CharField(blank=True, max_length=300)),
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('event', models.CharField(choices=[('let.confirmed', 'Confirmed'), ('let.changed', 'Changed'), ('let.cancelled', 'Cancelled')], max_length=20)),
                ('body', models.TextField(help_text='The JSON as it is signed and sent')),
                ('hook', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='messages', to='bookings.hook')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='LedgerEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('request_key', models.CharField(editable=False, max_length=80, null=True)),
                ('request_fingerprint', models.CharField(blank=True, editable=False, max_length=64)),
                ('kind', models.CharField(choices=[('charge', 'the price of a let'), ('credit', 'a price taken back'), ('payment', 'paid by the guest'), ('refund', 'paid back to the guest')], max_length=8)),
                ('amount', models.DecimalField(decimal_places=2, max_digits=12)),
                ('vat', models.DecimalField(decimal_places=2, default=0, help_text='Held in the amount', max_digits=12)),
                ('currency', models.CharField(max_length=3)),
                ('booked_on', models.DateField(help_text='The date at the river it counts by')),
                ('entered_at', models.DateTimeField()),
                ('reference', models.CharField(blank=True, help_text='What the bank or the payer calls it', max_length=80)),
                ('note', models.CharField(blank=True, max_length=200)),
                ('hook_id', models.CharField(help_text='The id of the signed message that brought it', max_length=128, null=True)),
                ('fishery', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ledger', to='beats.fishery')),
                ('guest', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='ledger', to='bookings.guest')),
                ('let', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='ledger', to='bookings.let')),
                ('made_by', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name_plural': 'ledger entries',
                'abstract': False,
                'base_manager_name': 'objects',
            },
        ),
        migrations.CreateModel(
            name='Paper',
            fields=[
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('sending', 'Sending'), ('sent', 'Sent'), ('given_up', 'Given Up'), ('not_needed', 'Not Needed')], default='waiting', max_length=10)),
                ('written_at', models.DateTimeField()),
                ('next_try_at', models.DateTimeField()),
                ('lease', models.UUIDField(editable=False, null=True)),
                ('attempts', models.PositiveSmallIntegerField(default=0)),
                ('sent_at', models.DateTimeField(null=True)),
                ('last_fault', models.CharField(blank=True, max_length=300)),
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('edition', models.PositiveIntegerField()),
                ('recipient', models.CharField(blank=True, max_length=254)),
                ('subject', models.CharField(blank=True, max_length=200)),
                ('let', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='papers', to='bookings.let')),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PaymentKey',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('request_key', models.CharField(editable=False, max_length=80, null=True)),
                ('request_fingerprint', models.CharField(blank=True, editable=False, max_length=64)),
                ('label', models.CharField(max_length=80)),
                ('secret', models.CharField(editable=False, max_length=80)),
                ('created_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(null=True)),
                ('fishery', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='payment_keys', to='beats.fishery')),
                ('made_by', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Tariff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('request_key', models.CharField(editable=False, max_length=80, null=True)),
                ('request_fingerprint', models.CharField(blank=True, editable=False, max_length=64)),
                ('kind', models.CharField(blank=True, choices=[('day', 'days as they come'), ('week', 'the fishing days of one week'), ('whole_beat', 'every rod of the beat'), ('season', 'one weekday, every week')], max_length=10)),
                ('first_week', models.PositiveSmallIntegerField(default=1, help_text='Week of the season; 1 holds its first day')),
                ('last_week', models.PositiveSmallIntegerField(default=53)),
                ('first_on', models.DateField(help_text='The first day of fishing it prices')),
                ('last_on', models.DateField(help_text='The last; null: until further notice', null=True)),
                ('rod_day', models.DecimalField(decimal_places=2, max_digits=9)),
                ('beat', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='tariff', to='beats.beat')),
                ('fishery', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='tariff', to='beats.fishery')),
                ('made_by', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Terms',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('currency', models.CharField(default='GBP', help_text='ISO 4217, such as GBP', max_length=3)),
                ('vat_percent', models.DecimalField(decimal_places=2, default=20, max_digits=4)),
                ('vat_included', models.BooleanField(default=True, help_text="Whether the tariff's prices hold VAT already")),
                ('deposit_percent', models.PositiveSmallIntegerField(default=25)),
                ('deposit_days', models.PositiveSmallIntegerField(default=14, help_text='Days after booking to pay it')),
                ('balance_days', models.PositiveSmallIntegerField(default=56, help_text='Days before fishing to pay the rest')),
                ('water_rules', models.TextField(blank=True, help_text='Rules of the water, for every permit', max_length=2000)),
                ('keep_guests_months', models.PositiveSmallIntegerField(default=84, help_text='Names, counted from the last day they fished, booked or paid')),
                ('keep_contacts_months', models.PositiveSmallIntegerField(default=24, help_text='Emergency contact and needs, counted the same')),
                ('keep_letters_months', models.PositiveSmallIntegerField(default=24, help_text='What was mailed and to whom')),
                ('version', models.PositiveIntegerField(default=1)),
                ('fishery', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='terms', to='beats.fishery')),
            ],
            options={
                'verbose_name_plural': 'terms',
            },
        ),
        migrations.CreateModel(
            name='CalendarFeed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('request_key', models.CharField(editable=False, max_length=80, null=True)),
                ('request_fingerprint', models.CharField(blank=True, editable=False, max_length=64)),
                ('label', models.CharField(max_length=80)),
                ('digest', models.CharField(editable=False, max_length=64, unique=True)),
                ('created_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(null=True)),
                ('last_used_at', models.DateTimeField(null=True)),
                ('beat', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='feeds', to='beats.beat')),
                ('fishery', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='feeds', to='beats.fishery')),
                ('ghillie', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='feeds', to=settings.AUTH_USER_MODEL)),
                ('guest', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='feeds', to='bookings.guest')),
                ('made_by', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
                'constraints': [models.UniqueConstraint(fields=('made_by', 'request_key'), name='bookings_calendarfeed_made_once'), models.CheckConstraint(condition=models.Q(models.Q(('beat__isnull', False), ('ghillie__isnull', True), ('guest__isnull', True)), models.Q(('beat__isnull', True), ('ghillie__isnull', True), ('guest__isnull', False)), models.Q(('beat__isnull', True), ('ghillie__isnull', False), ('guest__isnull', True)), _connector='OR'), name='a_feed_is_of_one_thing')],
            },
        ),
        migrations.CreateModel(
            name='DiaryDay',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('rods', models.PositiveSmallIntegerField()),
                ('sequence', models.PositiveIntegerField(default=0)),
                ('changed_at', models.DateTimeField()),
                ('gone_at', models.DateTimeField(null=True)),
                ('beat', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='diary', to='beats.beat')),
                ('guest', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='diary', to='bookings.guest')),
                ('let', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='diary', to='bookings.let')),
            ],
            options={
                'indexes': [models.Index(fields=['beat', 'day'], name='diary_by_beat_and_day')],
                'constraints': [models.UniqueConstraint(condition=models.Q(('guest__isnull', True)), fields=('let', 'day'), name='one_diary_day_of_a_beat'), models.UniqueConstraint(fields=('let', 'day', 'guest'), name='one_diary_day_of_a_guest')],
            },
        ),
        migrations.AddConstraint(
            model_name='hook',
            constraint=models.UniqueConstraint(fields=('made_by', 'request_key'), name='bookings_hook_made_once'),
        ),
        migrations.AddConstraint(
            model_name='hook',
            constraint=models.CheckConstraint(condition=models.Q(('url__startswith', 'https://')), name='a_hook_is_told_over_https'),
        ),
        migrations.AddIndex(
            model_name='hookmessage',
            index=models.Index(condition=models.Q(('state__in', ['waiting', 'sending'])), fields=['next_try_at'], name='bookings_hookmessage_to_send'),
        ),
        migrations.AddIndex(
            model_name='ledgerentry',
            index=models.Index(fields=['fishery', 'booked_on'], name='ledger_by_fishery_and_day'),
        ),
        migrations.AddConstraint(
            model_name='ledgerentry',
            constraint=models.UniqueConstraint(fields=('made_by', 'request_key'), name='bookings_ledgerentry_made_once'),
        ),
        migrations.AddConstraint(
            model_name='ledgerentry',
            constraint=models.UniqueConstraint(fields=('fishery', 'hook_id'), name='one_entry_of_a_message'),
        ),
        migrations.AddConstraint(
            model_name='ledgerentry',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('amount__gt', 0), ('kind__in', ['charge', 'refund'])), models.Q(('amount__lt', 0), ('kind__in', ['credit', 'payment'])), _connector='OR'), name='a_ledger_entry_points_the_right_way'),
        ),
        migrations.AddIndex(
            model_name='paper',
            index=models.Index(condition=models.Q(('state__in', ['waiting', 'sending'])), fields=['next_try_at'], name='bookings_paper_to_send'),
        ),
        migrations.AddConstraint(
            model_name='paper',
            constraint=models.UniqueConstraint(fields=('let', 'edition'), name='one_letter_of_an_edition'),
        ),
        migrations.AddConstraint(
            model_name='paymentkey',
            constraint=models.UniqueConstraint(fields=('made_by', 'request_key'), name='bookings_paymentkey_made_once'),
        ),
        migrations.AddConstraint(
            model_name='tariff',
            constraint=models.UniqueConstraint(fields=('made_by', 'request_key'), name='bookings_tariff_made_once'),
        ),
        migrations.AddConstraint(
            model_name='tariff',
            constraint=models.CheckConstraint(condition=models.Q(('rod_day__gte', 0)), name='a_price_is_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='tariff',
            constraint=models.CheckConstraint(condition=models.Q(('first_week__gte', 1), ('first_week__lte', models.F('last_week'))), name='weeks_run_forward'),
        ),
        migrations.AddConstraint(
            model_name='tariff',
            constraint=models.CheckConstraint(condition=models.Q(('last_on__isnull', True), ('last_on__gte', models.F('first_on')), _connector='OR'), name='a_price_ends_after_it_starts'),
        ),
        migrations.AddConstraint(
            model_name='tariff',
            constraint=models.UniqueConstraint(fields=('fishery', 'beat', 'kind', 'first_week', 'last_week', 'first_on'), name='one_price_of_a_beat_and_span'),
        ),
        migrations.AddConstraint(
            model_name='tariff',
            constraint=models.UniqueConstraint(condition=models.Q(('beat__isnull', True)), fields=('fishery', 'kind', 'first_week', 'last_week', 'first_on'), name='one_price_of_all_beats_and_span'),
        ),
        migrations.AddConstraint(
            model_name='terms',
            constraint=models.CheckConstraint(condition=models.Q(('deposit_percent__lte', 100), ('vat_percent__gte', 0)), name='terms_keep_within_the_price'),
        ),
        migrations.RunPython(guard_the_ledger, unguard_the_ledger),
        migrations.RunPython(know_the_lets_of_old, migrations.RunPython.noop),
    ]
