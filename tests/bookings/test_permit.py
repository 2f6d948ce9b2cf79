"""The permit: the written permission to fish, as words, as PDF and with its code.

What it must be: Salmon and Freshwater Fisheries (Consolidation) (Scotland) Act 2003, section 6 (fishing
for salmon without right or written permission is an offence). PDF read by pypdf, the code by zxing-cpp,
neither of which wrote them.
"""

import datetime as dt
import io

import pytest
import zxingcpp
from pypdf import PdfReader

from beats.models import Beat
from bookings import permits
from bookings.papers.parts import as_text
from bookings.papers.permit import sections
from sessions.models import Outing
from tests.factories import (
    NOON,
    BeatFactory,
    GuestFactory,
    LetFactory,
    RodDayFactory,
    TermsFactory,
    client_of,
    guest_with_account,
)

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 5, 11)


@pytest.fixture
def beat():
    return BeatFactory(
        name="Upper", slug="upper", meeting_point="the hut", mobile_signal="at the bridge",
        fishery__name="Durrisk", fishery__slug="durrisk", fishery__phone="+441632960100",
    )  # fmt: skip


@pytest.fixture
def let(beat):
    """Una books two rods for two days; Ben fishes one of them."""
    una, ben = guest_with_account(beat.fishery, name="Una"), guest_with_account(beat.fishery, name="Ben")
    let = LetFactory(beat=beat, booker=una, first_on=MONDAY, last_on=MONDAY + dt.timedelta(days=1), rods=2)
    for day in (MONDAY, MONDAY + dt.timedelta(days=1)):
        RodDayFactory(let=let, day=day, rod=1, guest=una)
        RodDayFactory(let=let, day=day, rod=2, guest=ben)
    return let


def words_of(let, **who):
    paper = permits.permit(let, now=NOON, **who)
    return as_text(paper.title, sections(paper))


def test_it_says_who_may_fish_where_and_on_which_days(let):
    text = words_of(let)
    assert "Durrisk gives Una and those named below its written permission to fish" in text
    assert "(Consolidation) (Scotland) Act 2003, section 6" in text
    assert [line for line in text.splitlines() if line.startswith(("Monday", "Tuesday"))] == [
        "Monday 11 May 2026  rod 1  Una", "Monday 11 May 2026  rod 2  Ben",
        "Tuesday 12 May 2026  rod 1  Una", "Tuesday 12 May 2026  rod 2  Ben",
    ]  # fmt: skip


def test_it_tells_the_law_of_its_days_the_rules_of_the_water_and_whom_to_ring(let):
    TermsFactory(fishery=let.beat.fishery, water_rules="Fly only.\nNo dogs.")
    text = words_of(let)
    assert "11 May 2026 to 12 May 2026: Open: outside the annual close time of the Wester Ross district." in text
    assert "Fly only.\nNo dogs.\n" in text
    assert "Meet at: the hut." in text
    assert "In danger ring 999 or 112 and ask for the police." in text
    assert "+44 1632 960100" in text


def test_a_river_closed_or_changed_since_is_told_as_it_stands_today(let):
    let.beat.fishery.grades.create(from_on=dt.date(2026, 5, 12), grade="poor")
    law = [line for line in words_of(let).splitlines() if line.startswith(("11 May", "12 May"))]
    assert ["every salmon goes back" in line for line in law] == [False, True]


def test_tidal_water_names_the_coastguard(let):
    Beat.objects.update(tidal=True)
    let.beat.refresh_from_db()
    assert "ask for the Coastguard" in words_of(let)


def test_one_of_the_party_reads_their_own_days_alone(let):
    ben = let.rod_days.filter(rod=2).first().guest
    response = client_of(ben.user).get(f"/api/v1/lets/{let.pk}/permit/?format=txt")
    assert "gives Ben and those" in response.text
    assert "Una" not in response.text


def test_a_cancelled_let_permits_nothing(let):
    let.status, let.cancelled_at = "cancelled", NOON
    let.save()
    assert client_of(let.booker.user).get(f"/api/v1/lets/{let.pk}/permit/").status_code == 404


def printed(let):
    return PdfReader(io.BytesIO(permits.printed(permits.permit(let, now=NOON), now=NOON)))


def test_the_pdf_says_what_the_letter_says(let):
    text = " ".join(page.extract_text() for page in printed(let).pages)
    squeezed = "".join(text.split())
    assert all("".join(line.split()) in squeezed for line in words_of(let).splitlines() if line.startswith("Let "))
    assert "Tuesday12May2026" in squeezed
    assert "section6" in squeezed


def test_the_code_on_the_pdf_opens_the_check_in_page_and_holds_no_secret(let, client):
    (image,) = printed(let).pages[0].images
    (found,) = zxingcpp.read_barcodes(image.image.convert("L"))
    assert found.text == "https://testserver/check-in/durrisk/upper/"
    page = client.get(found.text.removeprefix("https://testserver"))
    assert (page.status_code, "You are not checked in by opening this page" in page.text) == (200, True)
    assert "<form" not in page.text.split("<main", 1)[1].split("</main>", 1)[0]


def test_opening_the_page_by_any_verb_does_nothing(let, client, django_assert_num_queries):
    assert client.post("/check-in/durrisk/upper/").url.startswith("/sign-in/")
    assert not Outing.objects.exists()
    assert client.get("/check-in/durrisk/lower/").status_code == 404
    client.cookies.clear()
    with django_assert_num_queries(1):
        assert client.head("/check-in/durrisk/upper/").status_code == 200


def test_a_name_of_many_lines_or_pictures_cannot_pass_for_the_paper_s_own(let):
    guest = GuestFactory(fishery=let.beat.fishery, name="Eve\nIN AN EMERGENCY\nring me \N{FISH}")
    let.rod_days.filter(rod=2).update(guest=guest)
    assert "\nIN AN EMERGENCY\nring" not in words_of(let)
    assert len(printed(let).pages) >= 1


def test_a_season_s_rods_run_over_pages(let):
    for n in range(60):
        RodDayFactory(let=let, day=dt.date(2026, 6, 1) + dt.timedelta(days=n), rod=1)
    assert len(printed(let).pages) > 1
