"""PostgreSQL's own wall between fisheries, behind every request of a person or of a machine with a key.

Row security as PostgreSQL's manual describes it (chapter 5.9, "Row Security Policies"): a role that neither owns
the table nor bypasses policies sees and writes what the policies say, also in what other policies ask.
"""

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIClient

from beats.api.water import BeatDetail
from beats.authentication import issue_token
from beats.models import AuditEntry, Beat, Fishery, Membership, Pool, User
from beats.shared import wall
from bookings.models import Guest
from safety.models import Alarm
from sessions.models import Outing
from tests.config import world
from tests.factories import BeatFactory, FisheryFactory, PoolFactory, keeper

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif("connection.vendor != 'postgresql'", reason="SQLite has no row security"),
]

OF_NO_FISHERY = {
    "beats_user": "a person may have parts at several waters",
    "beats_accesstoken": "of a person",
    "beats_idempotencyrecord": "an answer to one caller, encrypted under their own key",
    "beats_signin": "asked for before anybody knows who asks",
    "beats_spent": "digests that say nothing of anybody",
    "safety_pulse": "of the service",
    "safety_gatewayevent": "of the gateway, which serves all waters",
    "safety_pushaddress": "a phone is of a person",
}
OURS = ("beats", "bookings", "fishing_sessions", "safety")


@pytest.fixture
def two():
    """Two fisheries with one of everything each, and the keys of each fishery's rows by table."""
    first, second = world.build(), world.build()
    yield first, second
    wall.lower()


def walled_tables() -> set[str]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT tablename FROM pg_policies WHERE policyname = 'of_my_fisheries'")
        return {table for (table,) in cursor.fetchall()}


def test_every_table_stands_behind_the_wall_or_is_of_no_fishery():
    tables = {model._meta.db_table for label in OURS for model in apps.get_app_config(label).get_models()}
    assert walled_tables() == tables - OF_NO_FISHERY.keys()


def test_what_no_question_asked_for_is_not_shown(two):
    """Every model, asked for everything by code that forgot whose request it is."""
    first, second = two
    models = [model for label in OURS for model in apps.get_app_config(label).get_models()]
    models = [model for model in models if model._meta.db_table not in OF_NO_FISHERY]
    whole = {model: set(model._base_manager.values_list("pk", flat=True)) for model in models}
    seen = {}
    for name, fishery in (("first", first.rows["fishery"]), ("second", second.rows["fishery"])):
        wall.raise_around(fishery.pk)
        seen[name] = {model: set(model._base_manager.values_list("pk", flat=True)) for model in models}
    wall.lower()
    for model in models:
        ours, theirs = seen["first"][model], seen["second"][model]
        if model is not AuditEntry:  # rows of no fishery are the service's own
            assert ours.isdisjoint(theirs), model
        assert len(ours | theirs) > 1 or whole[model] == ours | theirs, model
        assert len(whole[model] - ours - theirs) <= 2, "the strangers' own waters alone"
    told = [model for model in models if seen["first"][model] and seen["second"][model]]
    assert len(told) > 40, "the two worlds have one of nearly everything"


def test_another_fisherys_row_is_neither_written_nor_made(two):
    first, second = two
    pool = second.rows["pool"]
    wall.raise_around(first.rows["fishery"].pk)
    assert Pool.objects.filter(pk=pool.pk).update(name="Taken over") == 0
    assert Guest.objects.filter(pk=second.rows["guest"].pk).delete() == (0, {})
    with pytest.raises(DatabaseError, match="row-level security"), transaction.atomic():
        PoolFactory(beat_id=pool.beat_id)
    mine = Beat.objects.get(pk=first.rows["beat"].pk)
    with pytest.raises(DatabaseError, match="row-level security"), transaction.atomic():
        Beat.objects.filter(pk=mine.pk).update(fishery=second.rows["fishery"].pk)
    PoolFactory(beat=mine)


def test_a_person_of_two_waters_sees_both_and_a_stranger_none(two):
    first, second = two
    both = keeper(first.rows["fishery"], Membership.Role.GHILLIE)
    Membership.objects.create(user=both, fishery=second.rows["fishery"], role=Membership.Role.GUEST)
    stranger = User.objects.create_user("nobody@example.org", name="N. Body")
    wall.raise_for(both.pk)
    assert Fishery.objects.count() == 2
    wall.raise_for(stranger.pk)
    assert Fishery.objects.count() == Outing.objects.count() == Alarm.objects.count() == 0


def test_a_question_that_forgot_whose_it_is_answers_with_nothing(two, monkeypatch):
    """The first wall taken away, the second stands."""
    first, second = two
    everything = staticmethod(lambda _user: Beat.objects.select_related("fishery"))
    monkeypatch.setattr(BeatDetail, "visible_to", everything)
    owner = first.people["owner"]
    token = issue_token(owner, label="wall", now=timezone.now())
    api = APIClient(headers={"authorization": f"Bearer {token}"})
    for row, expected in ((first.rows["beat"], 200), (second.rows["beat"], 404)):
        assert api.get(f"/api/v1/beats/{row.pk}/").status_code == expected


def test_the_wall_goes_up_for_a_request_and_down_after_it(two, monkeypatch):
    first, _ = two
    seen = []
    real = wall.raise_for
    monkeypatch.setattr("beats.shared.wall.raise_for", lambda key: (real(key), seen.append(wall.is_up())))
    client = Client()
    client.force_login(first.people["ghillie"])
    assert client.get("/").status_code == 303
    assert seen == [True]
    assert not wall.is_up()
    assert Fishery.objects.count() > 1


def test_work_for_all_waters_lowers_it_and_puts_it_up_again(two):
    first, _ = two
    all_waters = Fishery.objects.count()
    wall.raise_around(first.rows["fishery"].pk)
    with wall.lowered():
        assert Fishery.objects.count() == all_waters > 1
    assert Fishery.objects.count() == 1
    with pytest.raises(DatabaseError), transaction.atomic(), wall.lowered():
        Fishery.objects.raw("SELECT 1/0 AS id")[0]
    assert wall.is_up()
    assert Fishery.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_connection_made_anew_within_a_request_knows_of_it():
    mine = FisheryFactory()
    BeatFactory(fishery=mine)
    BeatFactory()
    wall.raise_around(mine.pk)
    connection.close()
    assert Beat.objects.count() == 1
    wall.lower()
    assert Beat.objects.count() == 2
    connection.close()
    assert Beat.objects.count() == 2


def test_with_no_list_there_is_nothing(two):
    assert two
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"SET LOCAL ROLE {wall.ROLE}")
        assert Fishery.objects.count() == 0
        cursor.execute("RESET ROLE")


def test_a_role_that_was_given_nothing_here_is_not_played(two):
    """Made after the migrations, or for another database of the same server."""
    first, _ = two
    assert wall.stands(connection)
    try:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("DROP POLICY of_my_fisheries ON beats_fishery")
            del connection.has_wall
            assert not wall.stands(connection)
            wall.raise_around(first.rows["fishery"].pk)
            assert not wall.is_up()
            transaction.set_rollback(True)
    finally:
        del connection.has_wall
    assert wall.stands(connection)
