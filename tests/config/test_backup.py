"""A backup put into an empty database is the database it was made from, and the watch goes on from there."""

import datetime as dt
import gzip
import stat
import threading
from contextlib import closing
from pathlib import Path

import pyrage
import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from beats.models import AuditEntry, IdempotencyRecord
from bookings.models import AgreedPrice, TenancyNotice
from config.backup.file import NotABackup, write
from config.backup.rows import fill_from, lines_of_everything
from sessions.models import OutingEntry
from tests.config.elsewhere import SERVER, run
from tests.config.world import build
from tests.factories import MonthStatementFactory, OutingFactory, ReviewAnswerFactory

ROOT = Path(__file__).parents[2]
MICROSECOND = dt.datetime(2026, 3, 29, 1, 0, 0, 1, tzinfo=dt.UTC)  # the night clocks go forward, to the last digit
TABLES = sorted(
    model._meta.db_table for model in apps.get_models(include_auto_created=True) if model._meta.managed
)
NOT_IN_THE_WORLD = 23
"""So many tables may be empty in it: what admin, permissions and Django's own sessions keep, and rarer rows."""


def rows_of(cursor, table):
    """Each row as the database itself writes it, columns by name: no driver has a say in it."""
    cursor.execute(f'SELECT * FROM "{table}" WHERE 1 = 0')
    names = sorted(column[0] for column in cursor.description)
    texts = ", ".join(f'CAST("{name}" AS text)' for name in names)
    cursor.execute(f'SELECT {texts} FROM "{table}"')
    return sorted(map(str, cursor.fetchall()))


def all_rows(cursor):
    if SERVER:
        cursor.execute("SET TIME ZONE 'UTC'")
    return {table: rows_of(cursor, table) for table in TABLES}


def everything():
    with connection.cursor() as cursor:
        return all_rows(cursor.cursor)


def a_full_world():
    world = build()
    AuditEntry.objects.create(
        at=MICROSECOND, verb="write", subject="x:1", after={"said": "שלום 🐟 \\N '\"\n", "none": None, "n": 1.5}
    )
    IdempotencyRecord.objects.create(
        caller="user:1",
        key_digest="d" * 64,
        fingerprint="f" * 64,
        status=200,
        answer="gAAAA_-=",
        created_at=MICROSECOND,
    )
    OutingEntry.objects.create(
        outing=world.rows["outing"], act="check_in", at=MICROSECOND, by_angler=False, by_name="Ghillie",
        reported_by="A caller", reported_via="telephone",
    )  # fmt: skip
    MonthStatementFactory(fishery=world.rows["fishery"])
    ReviewAnswerFactory(fishery=world.rows["fishery"])
    let, offer = world.rows["let"], world.rows["offer"]
    AgreedPrice.objects.create(
        let=let, beat=let.beat, day=dt.date(2026, 5, 4), rod_day="85.00", vat_percent="20.00", vat_included=True,
        currency="GBP", gross="85.00", vat="14.17", agreed_at=MICROSECOND,
    )  # fmt: skip
    TenancyNotice.objects.create(
        season=offer.same_week.season, guest=world.rows["guest"], recipient="una@example.org", subject="Your week",
        written_at=MICROSECOND, next_try_at=MICROSECOND,
    )  # fmt: skip
    return world


@pytest.mark.long
@pytest.mark.django_db
def test_what_is_restored_is_what_was_there_in_every_table(tmp_path, elsewhere):
    url, reading = elsewhere
    a_full_world()
    sealed, key = tmp_path / "all.bak", pyrage.x25519.Identity.generate()
    (tmp_path / "key").write_text(f"# kept in the office\n{key}\n", encoding="utf-8")
    call_command("backup", sealed, to=[str(key.to_public())], verbosity=0)
    before = everything()
    assert sum(not rows for rows in before.values()) <= NOT_IN_THE_WORLD, [t for t in TABLES if not before[t]]
    done = run(url, "restore", sealed, "--identity", tmp_path / "key")
    assert done.returncode == 0, done.stderr
    with reading() as other, closing(other.cursor()) as cursor:
        after = all_rows(cursor)
    assert [(before[table], after[table]) for table in TABLES if before[table] != after[table]] == []
    assert "Out on the water when this backup was made" in done.stdout


@pytest.mark.long
@pytest.mark.django_db
def test_after_a_restore_from_an_hour_ago_every_outing_due_meanwhile_is_raised(tmp_path, elsewhere):
    url, reading = elsewhere
    now = timezone.now()
    due = now - dt.timedelta(minutes=30)
    missing = [
        OutingFactory(checked_in_at=now - dt.timedelta(hours=3), due_back_at=due, alarm_at=due) for _ in range(3)
    ]
    OutingFactory(checked_in_at=now - dt.timedelta(hours=3), due_back_at=due, alarm_at=due, checked_out_at=now)
    call_command("backup", tmp_path / "all.bak", verbosity=0)
    assert run(url, "restore", tmp_path / "all.bak").returncode == 0
    assert run(url, "watch", "--once").returncode == 0
    with reading() as other, closing(other.cursor()) as cursor:
        cursor.execute("SELECT outing_id FROM safety_alarm ORDER BY outing_id")
        assert [row[0] for row in cursor.fetchall()] == [outing.pk for outing in missing]


@pytest.mark.django_db
def test_a_sealed_backup_opens_with_its_key_alone_and_nobody_else_reads_the_file(tmp_path):
    world = build()
    (tmp_path / "other").write_text(str(pyrage.x25519.Identity.generate()), encoding="utf-8")
    sealed = tmp_path / "all.bak"
    call_command("backup", sealed, to=[str(pyrage.x25519.Identity.generate().to_public())], verbosity=0)
    assert world.rows["guest"].name.encode() not in sealed.read_bytes()
    assert stat.S_IMODE(sealed.stat().st_mode) == 0o600
    with pytest.raises(CommandError, match="Name the file of the key"):
        call_command("restore", sealed)
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("restore", sealed, identity=tmp_path / "other")


@pytest.mark.django_db
def test_where_there_is_a_row_nothing_is_restored(tmp_path):
    build()
    call_command("backup", tmp_path / "all.bak", verbosity=0)
    before = everything()
    with pytest.raises(CommandError, match="A backup goes into an empty database"):
        call_command("restore", tmp_path / "all.bak")
    assert everything() == before


def lines_of(path):
    return gzip.decompress(path.read_bytes()).splitlines(keepends=True)


def cut_off(lines):
    return lines[:-1]


def changed(lines):
    return [line.replace(b"durrisk", b"durrism").replace(b"Guest", b"Gusst") for line in lines]


def goes_on(lines):
    return [*lines, lines[-2]]


def from_tomorrow(lines):
    return [lines[0].replace(b"0001_first", b"0099_tomorrow"), *lines[1:]]


def of_another(_lines):
    return [b'{"hello":1}\n']


@pytest.mark.django_db
@pytest.mark.parametrize("harm", [cut_off, changed, goes_on, of_another])
def test_a_file_that_was_harmed_is_refused_whole(tmp_path, harm):
    build()
    path = tmp_path / "all.bak"
    call_command("backup", path, verbosity=0)
    path.write_bytes(gzip.compress(b"".join(harm(lines_of(path)))))
    before = everything()
    with pytest.raises(CommandError, match="Take another copy"):
        call_command("restore", path)
    assert everything() == before


@pytest.mark.parametrize("bytes_kept", [0, 1, 12, 400])
@pytest.mark.django_db
def test_bytes_that_are_no_whole_file_are_refused(tmp_path, bytes_kept):
    path = tmp_path / "all.bak"
    call_command("backup", path, verbosity=0)
    path.write_bytes(path.read_bytes()[:bytes_kept])
    with pytest.raises(CommandError, match="Take another copy"):
        call_command("restore", path)


@pytest.mark.django_db
def test_a_backup_of_a_newer_release_says_so(tmp_path):
    head, *rest = lines_of_everything(now=timezone.now())
    head["migrations"].append(("safety", "0099_tomorrow"))
    with pytest.raises(NotABackup, match=r"newer release .*safety\.0099_tomorrow"):
        fill_from([head, *rest])
    assert write(tmp_path / "all.bak", [head, *rest], recipients=[]) == 1 + len(rest)


@pytest.mark.django_db
def test_a_wrong_public_key_writes_nothing(tmp_path):
    with pytest.raises(CommandError, match="age public key"):
        call_command("backup", tmp_path / "all.bak", to=["age1nonsense"])
    assert list(tmp_path.iterdir()) == []


@pytest.mark.django_db(transaction=True)
def test_whoever_writes_meanwhile_neither_waits_nor_shows_in_it(transactional_db):
    """One snapshot: a row written by another connection between the first table and the last is not in it."""
    lines = lines_of_everything(now=timezone.now())
    head = next(lines)

    def write():
        AuditEntry.objects.create(at=MICROSECOND, verb="meanwhile", subject="x:1")
        connection.close()

    other = threading.Thread(target=write)
    other.start()
    other.join(timeout=15)
    assert (other.is_alive(), head["rodtally"]) == (False, "backup")
    assert not [line for line in lines if isinstance(line, list) and "meanwhile" in line]
    assert AuditEntry.objects.filter(verb="meanwhile").exists()
