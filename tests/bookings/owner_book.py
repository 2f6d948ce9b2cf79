"""An owner's book over HTTP, for tests of money: lets, changes, entries and what each account says."""

import datetime as dt
from decimal import Decimal

from bookings.models import LettingPolicy, RefundStep
from tests.bookings.book import next_wednesday_in_may
from tests.factories import GuestFactory, TariffFactory

DAY = dt.timedelta(days=1)
LONG_AGO = dt.date(2026, 1, 1)


class Book:
    def __init__(self, beat, client):
        self.beat, self.client, self.slug = beat, client, beat.fishery.slug
        self.monday = next_wednesday_in_may() - 2 * DAY + 7 * DAY

    def guest(self, name="Una"):
        return GuestFactory(fishery=self.beat.fishery, name=name)

    def let(self, guest, *, days=6, **more):
        facts = {"beat": self.beat.pk, "booker": guest.pk, "first_on": str(self.monday), "rods": 1,
                 "last_on": str(self.monday + (days - 1) * DAY)} | more  # fmt: skip
        return self._sent("post", "lets/", facts)["id"]

    def change(self, let, **facts):
        etag = self.client.get(f"/api/v1/lets/{let}/")["ETag"]
        return self._sent("patch", f"lets/{let}/", facts, headers={"If-Match": etag})

    def terms(self, **facts):
        path = f"fisheries/{self.slug}/terms/"
        etag = self.client.get(f"/api/v1/{path}")["ETag"]
        return self._sent("patch", path, facts, headers={"If-Match": etag})

    def enter(self, guest, let, kind, amount, *, status=201):
        facts = {"guest": guest.pk, "let": let, "kind": kind, "amount": amount, "currency": "GBP"}
        return self._sent("post", "ledger/", facts, status=status)

    def act(self, path, **facts):
        return self._sent("post", path, facts)

    def money(self, let):
        return self.client.get(f"/api/v1/lets/{let}/money/").json()

    def price(self, let):
        told = self.money(let)
        return told["price"], told["vat"]

    def statement(self, guest):
        return self.client.get(f"/api/v1/guests/{guest.pk}/statement/").json()

    def to_come(self):
        years = range(dt.date.today().year, self.monday.year + 1)  # noqa: DTZ011 - as the server's, within a year
        answers = [self.client.get(f"/api/v1/fisheries/{self.slug}/takings/?year={year}").json() for year in years]
        return sum(Decimal(told["to_come"]) for told in answers)

    def refunds(self, *steps):
        policy, _ = LettingPolicy.objects.get_or_create(fishery=self.beat.fishery)
        policy.refund_steps.all().delete()
        for days, percent in steps:
            RefundStep.objects.create(policy=policy, notice_days=days, percent=percent)

    def tariff(self, price, **more):
        TariffFactory(**{"fishery": self.beat.fishery, "rod_day": Decimal(price), "first_on": LONG_AGO} | more)

    def _sent(self, verb, path, facts, *, status=None, **more):
        answer = getattr(self.client, verb)(f"/api/v1/{path}", facts, format="json", **more)
        assert answer.status_code in ((status,) if status else (200, 201)), answer.json()
        return answer.json()
