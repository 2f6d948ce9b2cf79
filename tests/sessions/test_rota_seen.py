"""Who sees what of a rota."""

import pytest

from tests.factories import RotaFactory, TurnFactory, client_of, guest_with_account, keeper

pytestmark = pytest.mark.django_db


@pytest.fixture
def guest(beat):
    return guest_with_account(beat.fishery)


def turns(rota, guest):
    """A turn of the guest, and one of somebody else."""
    own = TurnFactory(rota=rota, guest=guest)
    return own, TurnFactory(rota=rota, part=own.part, guest=guest_with_account(rota.beat.fishery))


def seen(user, path):
    body = client_of(user).get(path).json()
    return [row["id"] for row in body["results"]]


def test_a_guest_sees_only_their_own_line_of_a_published_rota(beat, guest):
    rota = RotaFactory(beat=beat, status="published")
    own, _ = turns(rota, guest)
    body = client_of(guest.user).get(f"/api/v1/rotas/{rota.pk}/").json()
    assert [turn["id"] for turn in body["turns"]] == [own.pk]
    assert body["certificate"] is None  # it names every rod
    assert seen(guest.user, "/api/v1/turns/") == [own.pk]


@pytest.mark.parametrize("status", ["draft", "superseded"])
def test_a_rota_that_is_not_the_week_s_is_not_there_for_a_guest(beat, guest, status):
    rota = RotaFactory(beat=beat, status=status)
    turns(rota, guest)
    assert client_of(guest.user).get(f"/api/v1/rotas/{rota.pk}/").status_code == 404
    assert (seen(guest.user, "/api/v1/rotas/"), seen(guest.user, "/api/v1/turns/")) == ([], [])


def test_a_published_rota_without_a_turn_of_theirs_is_not_there_for_a_guest(beat, guest):
    rota = RotaFactory(beat=beat, status="published")
    TurnFactory(rota=rota)
    assert client_of(guest.user).get(f"/api/v1/rotas/{rota.pk}/").status_code == 404


def test_keepers_see_every_line_and_how_good_the_rota_is(beat, guest):
    rota = RotaFactory(beat=beat)
    both = turns(rota, guest)
    for role in ("owner", "ghillie"):
        body = client_of(keeper(beat.fishery, role)).get(f"/api/v1/rotas/{rota.pk}/").json()
        assert {turn["id"] for turn in body["turns"]} == {turn.pk for turn in both}
        assert body["certificate"]["status"] == "proven best"
