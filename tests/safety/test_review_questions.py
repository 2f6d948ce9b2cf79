"""Every question that the review of a return asks is answered on a page that the question leads to, and is gone.

Above the watch, since an outing left open is checked out on the keeper's page.
"""

import datetime as dt
import inspect
import re
from decimal import Decimal

import pytest
from django.urls import reverse

from sessions import review
from sessions.models import Catch, Return, ReviewAnswer
from tests.factories import (
    BeatFactory,
    CatchFactory,
    MonthlyTotalFactory,
    OutingFactory,
    RodDayFactory,
    client_of,
)
from tests.pages import Page
from tests.sessions.season_records import SIGNER, stated

pytestmark = pytest.mark.django_db
JULY = dt.datetime(2025, 7, 9, 11, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)
RIGHT = {"reason": "Looked at the paper book."}
SIZE = {"weight": "4.20", "unit": "kg", "length": "72", "length_unit": "cm", "reason": "Misread."}


@pytest.fixture
def beat():
    return BeatFactory(fishery__slug="upper-water", rods=4)


@pytest.fixture
def client(client, owner):
    client.force_login(owner)
    return client


def fish(beat, **facts):
    return CatchFactory(beat=beat, **{"caught_at": JULY, "length_cm": Decimal(74)} | facts)


def let(beat):
    RodDayFactory(let__beat=beat, day=JULY.date())


def outing(beat, **facts):
    OutingFactory(beat=beat, checked_in_at=JULY, due_back_at=JULY + HOUR, alarm_at=JULY + HOUR, **facts)


def two_books(beat):
    fish(beat)
    MonthlyTotalFactory(old_book__fishery=beat.fishery, season=2025, month=7, number=3)


def seen_on_another_day(beat):
    let(beat)
    fish(beat)
    for hours in (0, 24):
        at = JULY + hours * HOUR
        OutingFactory(beat=beat, checked_in_at=at, due_back_at=at + HOUR, checked_out_at=at + HOUR)


# What is in the book; which link of the question's own page leads to the answer ("" where that page has the form);
# and what is entered there.
WORLDS = {
    "no-record": (lambda _beat: None, "", {"month_7": "none_caught"}),
    "no-effort": (fish, "", {"rod_days": "3", "reason": "Counted by the ghillie."}),
    "effort-differs": (seen_on_another_day, "", {"rod_days": "2", "reason": "Both came."}),
    "no-weight": (lambda beat: fish(beat, weight_kg=None), r"/fish/\d+/$", SIZE),
    "mean-weight": (lambda beat: fish(beat, weight_kg=Decimal(23), length_cm=None), "", RIGHT),
    "doubtful-size": (lambda beat: fish(beat, length_cm=Decimal(30)), r"/fish/\d+/$", SIZE),
    "open-outing": (outing, r"/off/$", {}),
    "out-of-season": (
        lambda beat: fish(beat, caught_at=JULY.replace(month=12)), r"/fish/\d+/$",
        SIZE | {"day": "2025-07-09"},
    ),
    "flagged": (lambda beat: fish(beat, flag="Caught on a Sunday."), "", RIGHT),
    "monthly-totals": (
        lambda beat: MonthlyTotalFactory(old_book__fishery=beat.fishery, season=2025, month=7), "", RIGHT,
    ),
    "two-books": (two_books, "", RIGHT),
}  # fmt: skip


def asked(client, code):
    found = client_of(None)
    found.force_authenticate(client.owner)
    body = found.get("/api/v1/fisheries/upper-water/returns/2025/").json()
    return [one for one in body["findings"] if one["code"] == code and not one["answer"]]


def form_of(page):
    return next(form for form in page.forms if any(each.name == "key" for each in form.fields))


def typed(form):
    return {name: value for name, value in form.typed() if value != "on"}


def test_the_table_has_every_question_there_is():
    """But one: that months do not add up to their totals would be an error of the service, not of the record."""
    codes = set(re.findall(r'Finding\(\s*"([a-z-]+)"', inspect.getsource(review)))
    assert codes == review.CODES == {*WORLDS, "does-not-add"}


@pytest.mark.parametrize("code", WORLDS)
def test_each_question_is_answered_on_the_page_it_leads_to(client, owner, beat, code):
    client.owner = owner
    make, way, entries = WORLDS[code]
    make(beat)
    before = asked(client, code)
    assert before
    month = 7 if any(one["month"] == 7 for one in before) else before[0]["month"] or 0
    home = reverse("house-return", args=["upper-water", 2025])
    place = reverse("house-return-months", args=["upper-water", 2025])
    if code != "no-record":
        place = reverse("house-return-question", args=["upper-water", 2025, code, month])
    assert place in Page(client.get(home).content.decode()).links
    page = Page(client.get(place).content.decode())
    if way:
        place = next(link for link in page.links if re.search(way, link))
        page = Page(client.get(place).content.decode())
    answer = client.post(place, typed(form_of(page)) | entries)
    assert answer.status_code == 303, re.findall(r'(?:fault"|alert")[^>]*>(.*?)</', answer.content.decode())
    left = [one["month"] for one in asked(client, code)]
    assert (month or None) not in left, left


def test_an_answer_in_words_is_kept_shown_and_printed_and_asked_again_when_the_figures_change(client, owner, beat):
    client.owner = owner
    stated(beat, 2025, set(range(2, 11)) - {7})
    fish(beat, weight_kg=None)
    let(beat)
    place = reverse("house-return-question", args=["upper-water", 2025, "no-weight", 7])
    form = typed(form_of(Page(client.get(place).content.decode()))) | RIGHT
    assert [client.post(place, form).status_code for _ in range(2)] == [303, 303]
    assert ReviewAnswer.objects.count() == 1
    home = reverse("house-return", args=["upper-water", 2025])
    page = client.get(home).content.decode()
    assert RIGHT["reason"] in page
    assert place not in Page(page).links
    signing = typed(form_of(Page(page))) | SIGNER | {"declared": "on", "reason": ""}
    assert client.post(home, signing).status_code == 303
    assert RIGHT["reason"] in [one["answer"] for one in Return.objects.get().findings]
    fish(beat, weight_kg=None, caught_at=JULY + HOUR)
    assert asked(client, "no-weight")


def test_words_do_not_settle_a_month_without_a_record(client, owner, beat):
    machine = client_of(owner)
    body = {"code": "no-record", "month": 7} | RIGHT
    answer = machine.post("/api/v1/fisheries/upper-water/returns/2025/answers/", body, format="json")
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/needs-record")
    gone = body | {"code": "flagged", "month": None}
    answer = machine.post("/api/v1/fisheries/upper-water/returns/2025/answers/", gone, format="json")
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/no-such-question")


def test_a_fish_is_struck_out_on_its_page(client, owner, beat):
    client.owner = owner
    one = fish(beat, caught_at=JULY.replace(month=12))
    page = Page(client.get(reverse("water-fish-correct", args=["upper-water", one.pk])).content.decode())
    place = reverse("water-fish-strike", args=["upper-water", one.pk])
    assert place in page.links
    form = typed(form_of(Page(client.get(place).content.decode()))) | {"reason": "Entered twice."}
    assert client.post(place, form).status_code == 303
    assert Catch.objects.get().struck_out_at is not None
    assert not asked(client, "out-of-season")


def test_a_correction_somebody_else_overtook_is_refused_and_keeps_what_was_typed(client, owner, beat):
    one = fish(beat)
    place = reverse("water-fish-correct", args=["upper-water", one.pk])
    form = typed(form_of(Page(client.get(place).content.decode()))) | SIZE
    Catch.objects.update(version=2)
    answer = client.post(place, form)
    assert (answer.status_code, 'value="4.20"' in answer.content.decode()) == (422, True)
    assert Catch.objects.get().weight_kg == Decimal("4.50")
