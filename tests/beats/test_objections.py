"""A new fishery file may not take away water that somebody has booked or fished."""

import datetime as dt
from importlib import resources

import pytest

from beats.fishery_faults import parse
from beats.models import Beat, Fishery, Pool
from beats.services.fishery_loading import WouldOrphan, fishery_file, load_fishery
from tests.factories import NOON, CatchFactory, LetFactory, OutingFactory, RodDayFactory, RotaFactory, TurnFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def file():
    return parse(resources.files("beats").joinpath("data/durrisk.toml").read_text(encoding="utf-8"))


@pytest.fixture
def fishery(file):
    return load_fishery(file, by=None, now=NOON).fishery


def upper():
    return Beat.objects.get(slug="upper")


def changed(file, **upper_beat):
    """The file with its first beat changed."""
    beats = [file.beats[0].model_copy(update=upper_beat), *file.beats[1:]]
    return file.model_copy(update={"beats": beats})


def without_pool(file, slug):
    return changed(file, pools=[pool for pool in file.beats[0].pools if pool.slug != slug])


def refused(fishery, file):
    """Load a file that is refused; the water stays to the letter as it was."""
    before = fishery_file(fishery)
    with pytest.raises(WouldOrphan) as caught:
        load_fishery(file.model_copy(update={"rules": [], "grades": []}), by=None, now=NOON)
    assert fishery_file(Fishery.objects.get()) == before
    return caught.value.sentence


def test_a_pool_nobody_used_may_go(fishery, file):
    load_fishery(without_pool(file, "kiln-pot"), by=None, now=NOON)
    assert not Pool.objects.filter(slug="kiln-pot").exists()


def test_a_pool_with_fish_outings_and_turns_stays(fishery, file):
    pool = Pool.objects.get(slug="kiln-pot")
    CatchFactory.create_batch(2, beat=pool.beat, pool=pool)
    OutingFactory(beat=pool.beat, pool=pool)
    TurnFactory(rota__beat=pool.beat, pool=pool, part=fishery.parts.get(slug="morning"))
    assert refused(fishery, without_pool(file, "kiln-pot")) == (
        "Nothing was changed. Pool kiln-pot of upper has 1 turns, 1 outings, 2 fish in the book; "
        "keep it with retired = true."
    )


def test_a_used_pool_may_be_retired(fishery, file):
    CatchFactory(beat=upper(), pool=Pool.objects.get(slug="kiln-pot"))
    pools = [
        pool.model_copy(update={"retired": pool.slug == "kiln-pot"}) for pool in file.beats[0].pools
    ]  # fmt: skip
    load_fishery(changed(file, pools=pools), by=None, now=NOON)
    assert list(Pool.objects.filter(retired=True).values_list("slug", flat=True)) == ["kiln-pot"]


def test_a_beat_that_was_ever_let_stays(fishery, file):
    LetFactory.create_batch(2, beat=upper())
    assert refused(fishery, file.model_copy(update={"beats": file.beats[1:]})) == (
        "Nothing was changed. Beat upper has 2 lets in the book; keep it in the file."
    )


def test_a_beat_never_let_but_fished_stays_too(fishery, file):
    OutingFactory(beat=upper())
    sentence = refused(fishery, file.model_copy(update={"beats": file.beats[1:]}))
    assert sentence.startswith("Something still refers to the water this file takes away:")


def test_rods_booked_from_today_on_stay(fishery, file):
    today = NOON.date()
    for day, rod in ((today, 4), (today + dt.timedelta(days=1), 4), (today, 2)):
        RodDayFactory(let__beat=upper(), day=day, rod=rod)
    assert refused(fishery, changed(file, rods=3)) == (
        "Nothing was changed. Beat upper would keep 3 rods, but 2 rod-days above that are booked from "
        "6 May 2026; move or cancel those lets first."
    )


def test_rods_fished_yesterday_do_not_stand_in_the_way(fishery, file):
    RodDayFactory(let__beat=upper(), day=NOON.date() - dt.timedelta(days=1), rod=4)
    load_fishery(changed(file, rods=3), by=None, now=NOON)
    assert upper().rods == 3


def test_a_part_of_the_day_in_a_rota_stays(fishery, file):
    rota = RotaFactory(beat=upper())
    TurnFactory(rota=rota, part=fishery.parts.get(slug="afternoon"), pool=Pool.objects.get(slug="kiln-pot"))
    fewer = file.model_copy(update={"parts": [part for part in file.parts if part.slug == "morning"]})
    assert refused(fishery, fewer) == (
        "Nothing was changed. The part afternoon has 1 turns in rotas; keep it in the file."
    )


def test_every_objection_is_named_at_once(fishery, file):
    CatchFactory(beat=upper(), pool=Pool.objects.get(slug="kiln-pot"))
    RodDayFactory(let__beat=upper(), day=NOON.date(), rod=4)
    fewer = without_pool(changed(file, rods=3), "kiln-pot")
    sentence = refused(fishery, changed(fewer, rods=3))
    assert "Pool kiln-pot of upper has 1 fish in the book" in sentence
    assert "Beat upper would keep 3 rods" in sentence
