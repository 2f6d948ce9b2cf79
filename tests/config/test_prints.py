"""What comes out of the printer: all of it is reached from the owner's desk, on A4, on the pages promised."""

import datetime as dt
import io
import re

import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from beats.queries import local_day
from tests.config.world import build
from tests.factories import LetFactory, RodDayFactory, RotaFactory, TurnFactory

pytestmark = pytest.mark.django_db
A4_PT = (595.28, 841.89)
"""210 mm by 297 mm (ISO 216) in points of 1/72 inch."""


@pytest.fixture
def place(client):
    world = build()
    client.force_login(world.people["owner"])
    fishery, beat = world.rows["fishery"], world.rows["beat"]
    today = local_day(fishery, timezone.now())
    rota = RotaFactory(beat=beat, status="published", first_on=today - dt.timedelta(days=today.weekday()))
    facts = {"guest": world.rows["guest"], "pool": world.rows["pool"], "part": world.rows["part"]}
    TurnFactory(rota=rota, rod=1, day=today, **facts)
    let = LetFactory(beat=beat, booker=world.rows["guest"], first_on=today, last_on=today)
    RodDayFactory(let=let, guest=world.rows["guest"], day=today, rod=2)

    def at(name, *more):
        return reverse(name, args=[fishery.slug, *more])

    papers = {
        at("water-poster", beat.slug): at("house"),
        at("water-rota-sheet", rota.pk): at("house"),
        at("house-permit", let.pk): at("house-let", let.pk),
        at("house-season-report", today.year): at("house"),
        at("house-return-paper", today.year): at("house"),
    }
    steps = {at("house-let", let.pk): at("house-lets"), at("house-lets"): at("house")}
    return papers, steps


def links(client, path):
    return set(re.findall(r'href="([^"]+)"', client.get(path).content.decode()))


def test_every_paper_is_reached_from_the_owners_desk(client, place):
    papers, steps = place
    for path, page in (papers | steps).items():
        assert path in links(client, page), path


def test_every_paper_is_on_a4(client, place):
    papers, _ = place
    for path in papers:
        answer = client.get(path)
        if answer["Content-Type"] != "application/pdf":
            assert re.search(r"@page\s*{\s*size:\s*A4", answer.content.decode()), path
            continue
        for page in PdfReader(io.BytesIO(answer.content)).pages:
            assert sorted(map(float, page.mediabox[2:])) == pytest.approx(A4_PT, abs=1), path


@pytest.mark.parametrize(("name", "most"), [("permit", 1), ("season", 4), ("return", 2)])
def test_papers_have_no_more_pages_than_promised(name, most, client, place):
    """A permission for a day, the season in four; posters and rota sheets are one page of HTML each."""
    (path,) = [path for path in place[0] if path.endswith(".pdf") and name in path.removesuffix("report.pdf")]
    assert 1 <= len(PdfReader(io.BytesIO(client.get(path).content)).pages) <= most
