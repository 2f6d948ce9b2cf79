"""Terms, tariff, letting policy and the opening of a season by page: seen first, done once, refused in words."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from beats.models import AuditEntry
from bookings.models import LettingPolicy, LettingSeason, RefundStep, Tariff, Terms
from tests.factories import BeatFactory, GuestFactory, LetFactory, TariffFactory, TermsFactory

pytestmark = pytest.mark.django_db
RTL = "\u05db\u05dc\u05dc\u05d9\u05dd \u202eselur"


@pytest.fixture
def at(beat):
    return lambda name, *more: reverse(name, args=[beat.fishery.slug, *more])


def looked_at(house, path, form):
    answer = house.post(path, form)
    page = answer.content.decode()
    assert (answer.status_code, "Nothing is done yet" in page) == (200, True), re.findall(r'fault">(.*?)<', page)
    return page, form | {"seen": re.search(r'name="seen" value="(\w+)"', page)[1]}


def terms_of(**more):
    return {
        "version": 1, "deposit_percent": 25, "deposit_days": 14, "balance_days": 56, "vat_percent": "20.00",
        "vat_included": "on", "currency": "GBP", "water_rules": "", "keep_guests_months": 84,
        "keep_contacts_months": 24, "keep_letters_months": 24,
    } | more  # fmt: skip


def test_terms_are_shown_then_changed_and_a_second_tap_changes_nothing(house, beat, at):
    page, form = looked_at(house, at("house-terms"), terms_of(deposit_percent=1, water_rules=RTL))
    assert "Deposit, in percent of the price: 25 → 1<" in page
    assert RTL in page
    assert not Terms.objects.exists()
    for _ in range(2):
        assert house.post(at("house-terms"), form)["Location"] == at("house-policies")
    terms = Terms.objects.get(fishery=beat.fishery)
    assert (terms.deposit_percent, terms.water_rules, terms.version) == (1, RTL, 2)
    assert AuditEntry.objects.filter(verb="change terms").count() == 1


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"deposit_percent": 101}, "100"),
        ({"currency": "pounds"}, "3 characters"),
        ({"currency": "gbp"}, "Three capital letters"),
        ({"vat_percent": "-1"}, "greater than or equal to 0"),
        ({"keep_guests_months": 3}, "12"),
        ({"water_rules": "x" * 2001}, "2000 characters"),
        ({"version": 7}, "Read them again"),
    ],
)
def test_terms_that_make_no_sense_are_refused_and_stay_typed(wrong, told, house, at):
    answer = house.post(at("house-terms"), terms_of(balance_days=77) | wrong)
    assert (answer.status_code, told in answer.content.decode()) == (422, True)
    assert 'value="77"' in answer.content.decode()
    assert not Terms.objects.exists()


def price_of(**more):
    return {"key": "k", "rod_day": "85.00", "first_on": "2028-01-01", "last_on": "", "beat": "", "kind": "",
            "first_week": 1, "last_week": 53} | more  # fmt: skip


def test_a_price_is_added_once_and_its_last_day_said(house, beat, at):
    page, form = looked_at(house, at("house-new-price"), price_of(beat=beat.pk))
    assert f"85.00 GBP: {beat.name}, every kind of let, weeks 1 to 53 of the season" in page
    assert not Tariff.objects.exists()
    for _ in range(2):
        assert house.post(at("house-new-price"), form)["Location"] == at("house-tariff")
    row = Tariff.objects.get()
    end = at("house-end-price", row.pk)
    assert end in house.get(at("house-tariff")).content.decode()
    _, form = looked_at(house, end, {"key": "k", "last_on": "2028-09-30"})
    assert Tariff.objects.get().last_on is None
    for _ in range(2):
        assert house.post(end, form)["Location"] == at("house-tariff")
    assert Tariff.objects.get().last_on == dt.date(2028, 9, 30)
    assert "30 September 2028" in house.get(at("house-tariff")).content.decode()


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"rod_day": "-1"}, "greater than or equal to 0"),
        ({"rod_day": "1.005"}, "2 decimal places"),
        ({"last_on": "2027-01-01"}, "before the first"),
        ({"first_week": 9, "last_week": 3}, "before the first"),
        ({"first_on": "soon"}, "valid date"),
    ],
)
def test_a_price_that_makes_no_sense_is_refused(wrong, told, house, at):
    answer = house.post(at("house-new-price"), price_of() | wrong)
    assert (answer.status_code, told in answer.content.decode()) == (422, True)
    assert not Tariff.objects.exists()


def test_another_waters_beat_or_price_is_not_here(house, beat, at):
    assert house.post(at("house-new-price"), price_of(beat=BeatFactory().pk)).status_code == 422
    stray = TariffFactory(rod_day=Decimal("9.00"))
    assert house.post(at("house-end-price", stray.pk), {"key": "k", "last_on": "2028-09-30"}).status_code == 404
    assert Tariff.objects.get().last_on is None


def letting_of(**more):
    return {"version": 1, "hold": 36, "hold_unit": "hours", "offer": 3,
            "offer_unit": "days", "days_1": 60, "percent_1": 75, "days_2": 14,
            "percent_2": 20} | more  # fmt: skip


def test_the_letting_policy_is_shown_then_set_and_a_second_tap_changes_nothing(house, beat, at):
    path = at("house-letting-policy")
    page, form = looked_at(house, path, letting_of())
    assert "Rods are held for 36 hours." in page
    assert "Cancelled 60 days or more before the first day: 75 % goes back." in page
    assert not LettingPolicy.objects.exists()
    for _ in range(2):
        assert house.post(path, form)["Location"] == at("house-policies")
    policy = LettingPolicy.objects.get(fishery=beat.fishery)
    assert (policy.hold_minutes, policy.offer_minutes, policy.version) == (2160, 4320, 2)
    assert list(RefundStep.objects.order_by("notice_days").values_list("notice_days", "percent")) == [
        (14, 20),
        (60, 75),
    ]
    page = house.get(path).content.decode()
    assert 'value="36"' in page
    assert 'name="days_5"' in page  # three lines more than there are steps


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"percent_2": ""}, "Give both, days and percent"),
        ({"percent_2": 90}, "give back less"),
        ({"days_2": 60}, "two refunds"),
        ({"hold": 1, "hold_unit": "minutes"}, "from 5 minutes to 90 days"),
        ({"hold": 91, "hold_unit": "days"}, "from 5 minutes to 90 days"),
        ({"hold_unit": "years"}, "years"),
        ({"version": 4}, "Read it again"),
    ],
)
def test_a_letting_policy_that_makes_no_sense_is_refused_and_stays_typed(wrong, told, house, at):
    answer = house.post(at("house-letting-policy"), letting_of() | wrong)
    assert (answer.status_code, told in answer.content.decode()) == (422, True)
    assert 'value="75"' in answer.content.decode()
    assert not LettingPolicy.objects.exists()


@pytest.fixture
def next_year():
    return timezone.now().year + 1


def season_of(year, **more):
    until = (timezone.now() + dt.timedelta(days=20)).date().isoformat()
    return {"key": "k", "year": year, "answer_by": until} | more


def test_a_season_is_opened_once_after_it_was_seen_whose_weeks_are_held(house, beat, at, next_year):
    booker = GuestFactory(fishery=beat.fishery, name="Una Mossgrove")
    day = dt.date(next_year - 1, 5, 6)
    LetFactory(beat=beat, booker=booker, first_on=day, last_on=day)
    page, form = looked_at(house, at("house-open-season"), season_of(next_year))
    assert f"Una Mossgrove, {beat.name}, as from 6 May" in page
    assert not LettingSeason.objects.exists()
    for _ in range(2):
        assert house.post(at("house-open-season"), form)["Location"] == at("house-rights")
    assert LettingSeason.objects.get().year == next_year
    page, _ = looked_at(house, at("house-open-season"), season_of(next_year, key="k2"))
    assert "is open already" in page


def test_a_season_with_an_answer_date_that_is_past_is_refused(house, at, next_year):
    for more, told in (({"answer_by": "2020-01-01"}, "a day to answer by"), ({"year": 1999}, "1999")):
        answer = house.post(at("house-open-season"), season_of(next_year) | more)
        assert (answer.status_code, told in answer.content.decode()) == (422, True)
    assert not LettingSeason.objects.exists()


PAGES = ("house-terms", "house-tariff", "house-new-price", "house-letting-policy", "house-open-season")


def test_opening_a_page_writes_nothing_and_the_desk_leads_to_each(house, beat, at):
    TermsFactory(fishery=beat.fishery)
    before = AuditEntry.objects.count()
    assert {house.get(at(name)).status_code for name in PAGES} == {200}
    assert AuditEntry.objects.count() == before
    desk = house.get(at("house")).content.decode() + house.get(at("house-policies")).content.decode()
    desk += house.get(at("house-rights")).content.decode() + house.get(at("house-tariff")).content.decode()
    assert all(f'href="{at(name)}"' in desk for name in PAGES)
