"""What terms and letting policy may say is said once: the service refuses it, and so do API and page."""

from decimal import Decimal

import pytest
from django.urls import reverse

from bookings.models import LettingPolicy, Terms
from bookings.services.policy import BadPolicy, set_policy
from bookings.services.terms import BadTerms, change_terms
from bookings.terms_limits import FIGURES, LONGEST_RULES, MOST_REFUNDS
from tests.bookings.test_terms_pages import terms_of
from tests.factories import NOON, client_of

pytestmark = pytest.mark.django_db

OF_TERMS = [name for name in FIGURES if name in {field.name for field in Terms._meta.fields}]
OUTSIDE = [(name, end) for name in OF_TERMS for end in (FIGURES[name].lowest - 1, FIGURES[name].highest + 1)]
WORDS = [("currency", "gbp"), ("water_rules", "x" * (LONGEST_RULES + 1))]


def change(beat, owner, facts, version=1):
    return change_terms(beat.fishery, facts=facts, version=version, by=owner, now=NOON)


@pytest.mark.parametrize(("name", "value"), OUTSIDE + WORDS)
def test_terms_outside_their_limits_are_refused_by_service_api_and_page(client, beat, owner, name, value):
    with pytest.raises(BadTerms) as refused:
        change(beat, owner, {name: value})
    assert list(refused.value.errors) == [name]
    path, as_read = f"/api/v1/fisheries/{beat.fishery.slug}/terms/", {"If-Match": '"1"'}
    answer = client_of(owner).patch(path, {name: str(value)}, format="json", headers=as_read)
    assert (answer.status_code, list(answer.json()["errors"])) == (400, [name])
    client.force_login(owner)
    page = client.post(reverse("house-terms", args=[beat.fishery.slug]), terms_of(**{name: value}))
    assert page.status_code == 422
    assert not Terms.objects.exists()


@pytest.mark.parametrize("end", ["lowest", "highest"])
def test_both_ends_are_taken(beat, owner, end):
    facts = {name: getattr(FIGURES[name], end) for name in OF_TERMS}
    terms = change(beat, owner, facts)
    assert {name: Decimal(getattr(terms, name)) for name in facts} == facts


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"hold_minutes": 4}, "hold_minutes"),
        ({"offer_minutes": 90 * 1440 + 1}, "offer_minutes"),
        ({"refunds": [(731, 100)]}, "refunds"),
        ({"refunds": [(1, 101)]}, "refunds"),
        ({"refunds": [(days, 50) for days in range(MOST_REFUNDS + 1)]}, "refunds"),
    ],
)
def test_a_letting_policy_outside_its_limits_is_refused_by_the_service(beat, owner, wrong, named):
    facts = {"hold_minutes": 60, "offer_minutes": 60, "refunds": []} | wrong
    with pytest.raises(BadPolicy) as refused:
        set_policy(beat.fishery, **facts, version=1, by=owner, now=NOON)
    assert list(refused.value.errors) == [named]
    assert not LettingPolicy.objects.exists()
