"""A season of seeded dice, and every file and figure made of it as recorded.

RECORD=1 uv run pytest --on postgres tests/recorded/test_season.py
"""

import datetime as dt
import random
import re
from decimal import Decimal

import pytest
from django.db import connection

from sessions.models import Catch
from tests.factories import (
    BeatFactory,
    CatchFactory,
    LetFactory,
    OutingFactory,
    PoolFactory,
    RodDayFactory,
    client_of,
    guest_with_account,
    keeper,
)
from tests.recorded.reading import as_text
from tests.recorded.recording import compare
from tests.recorded.stopped import seeded, stopped
from tests.sessions.season_records import SIGNER, stated

pytestmark = pytest.mark.django_db

FISH = 240
OPENS = dt.datetime(2025, 4, 1, 8, tzinfo=dt.UTC)
FILES = (
    "returns/2025/", "returns/2025/?format=csv", "returns/2025/?format=xlsx", "returns/2025/?format=pdf",
    "statistics/2025/", "fish/?season=2025", "fish/?season=2025&format=csv", "fish/?season=2025&format=parquet",
    "returns/2025/signed/1/", "returns/2025/signed/1/?format=pdf", "returns/2025/signed/1/?format=xlsx",
)  # fmt: skip


@pytest.fixture(autouse=True)
def _on_postgresql():
    if connection.vendor == "sqlite":
        pytest.skip("recorded on PostgreSQL")


def test_every_cell_of_the_season_is_as_recorded():
    with stopped():
        beats = season()
        stated(beats[0], 2025, {2, 3, 10})
        client = client_of(keeper(beats[0].fishery))
        root = f"/api/v1/fisheries/{beats[0].fishery.slug}/"
        asked = {"content_hash": client.get(f"{root}returns/2025/").json()["content_hash"]} | SIGNER
        with seeded("sign"):
            signed = client.post(f"{root}returns/2025/signed/", asked, format="json")
        assert signed.status_code == 201, signed.json()
        found = {f"{name_of(path)}.txt": as_text(client.get(root + path)) for path in FILES}
    assert all(text.startswith("200\n") for text in found.values()), found
    compare("season", found)


def name_of(path: str) -> str:
    return "-".join(re.findall("[a-z0-9]+", path))


def season():
    """Two beats with 240 fish and the rod-days and outings that go with them."""
    dice = random.Random(2025)
    first = BeatFactory(rods=4)
    beats = [first, BeatFactory(fishery=first.fishery, rods=2)]
    pools = {beat: PoolFactory.create_batch(3, beat=beat) for beat in beats}
    guests = [guest_with_account(first.fishery) for _ in range(6)]
    for beat, own in zip(beats, (guests[:3], guests[3:]), strict=True):
        let = LetFactory(beat=beat, booker=guests[0])
        for day in sorted(dice.sample(range(180), 90)):
            on = (OPENS + dt.timedelta(days=day)).date()
            if on.weekday() < 6:
                RodDayFactory(let=let, day=on, rod=1, guest=dice.choice([*own, None]))
    for _ in range(30):
        at = OPENS + dt.timedelta(days=dice.randint(0, 180), hours=dice.randint(0, 4))
        if at.weekday() < 6:
            OutingFactory(
                beat=dice.choice(beats), guest=dice.choice(guests), checked_in_at=at,
                due_back_at=at + dt.timedelta(hours=6), checked_out_at=at + dt.timedelta(hours=5),
            )  # fmt: skip
    for _ in range(FISH):
        fish(dice, beats, pools, guests)
    return beats


def fish(dice, beats, pools, guests):
    kind = dice.choice([*Catch.Kind.values[:6], "kelt"])
    beat = dice.choice(beats)
    at = OPENS + dt.timedelta(days=dice.randint(0, 180), hours=dice.randint(0, 10), minutes=dice.randint(0, 59))
    heaviest = {"msw": 900, "farmed_msw": 900, "kelt": 500}.get(kind, 300 if kind != "finnock" else 40)
    weight = Decimal(dice.randint(heaviest // 4, heaviest)) / 100
    CatchFactory(
        beat=beat, pool=dice.choice([*pools[beat], None]), guest=dice.choice([*guests, None]), caught_at=at,
        kind=kind, fate="released" if kind == "kelt" or at.month < 5 else dice.choice(["kept", "released"]),
        weight_kg=dice.choice([weight, weight, weight, None]),
    )  # fmt: skip
