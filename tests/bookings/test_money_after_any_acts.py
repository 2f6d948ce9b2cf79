"""After any thirty letting acts the ledger, agreed prices, statements and takings agree to the penny.

Thirty that were not refused, drawn at random and done through the services; `referee.Referee` keeps its own
account of them. The name of a test is its seed: LEDGER_SEED repeats it, LEDGER_SEQUENCES draws more.
"""

import datetime as dt
import os
import random
from decimal import Decimal

import pytest

from beats.shared.refusals import Refusal
from bookings import accounts, let_prices, reckoning
from bookings.models import LedgerEntry, Let, LettingPolicy
from bookings.services.changes import change_let, split_let, transfer_let
from bookings.services.closures import close_beat
from bookings.services.holds import cancel_let, confirm_let
from bookings.services.ledger import enter
from bookings.services.lets import let_rods
from bookings.services.policy import set_policy
from bookings.services.terms import add_price, change_terms
from tests.bookings import referee
from tests.bookings.referee import DAY, Fraction, Referee
from tests.factories import BeatFactory, GuestFactory, client_of

pytestmark = pytest.mark.django_db
SEED = int(os.environ.get("LEDGER_SEED") or random.SystemRandom().randrange(10**9))
SEQUENCES = int(os.environ.get("LEDGER_SEQUENCES") or 4)
ACTS = 30
BEGINS = dt.datetime(2026, 11, 2, 12, tzinfo=dt.UTC)
MONDAYS = [dt.date(2027, 3, 1) + 7 * n * DAY for n in range(12)]
PRICES = [2080, 8480, 10000, 12480, 30000]  # whole pence with each of the rates
RATES = ["20.00", "5.00", "0.00", "12.50"]
USUAL = 3 * ["make"] + ["hold", "add rods", "fewer rods", "shorten", "lengthen", "move", "beat", "company"] + [
    "credit", "charge", "pay", "pay", "refund", "tariff", "vat", "policy", "split days", "split rods",
    "transfer", "transfer", "cancel", "close", "confirm",
]  # fmt: skip


class Days:
    """One fishery and thirty acts upon it."""

    def __init__(self, seed, owner, beat):
        self.dice, self.owner, self.now = random.Random(seed), owner, BEGINS
        self.fishery = beat.fishery
        self.beats = {each.pk: each for each in (beat, BeatFactory(fishery=self.fishery, rods=4))}
        self.guests = {each.pk: each for each in (GuestFactory(fishery=self.fishery) for _ in range(3))}
        self.book, self.done = Referee(), []
        if self.dice.random() < 0.8:
            self.tariff(beat=None, price=8480, first_on=dt.date(2026, 1, 1))

    @property
    def today(self):
        return self.now.date()  # in winter Britain keeps UTC; at noon it is one day all year

    def act(self):
        name = self.dice.choice(USUAL)
        self.now += dt.timedelta(hours=self.dice.choice([1, 24, 24 * 7]))
        before = list(LedgerEntry.objects.order_by("id").values_list())
        if name in {"make", "hold"}:
            done = self.make(hold=name == "hold")
        elif name in {"tariff", "vat", "policy", "close"}:
            done = getattr(self, name)()
        else:
            done = self.with_let(name)
        self.done.append((name, done))
        after = list(LedgerEntry.objects.order_by("id").values_list())
        assert after[: len(before)] == before, "an entry was changed"
        if not done or name in {"company", "tariff", "vat", "policy", "close"}:
            assert after == before, f"{name} wrote money"

    def make(self, *, hold):
        monday, first, last = self.dice.choice(MONDAYS), *sorted(self.dice.choices(range(6), k=2))
        beat, guest = self.dice.choice(list(self.beats)), self.dice.choice(list(self.guests))
        rods = self.dice.randint(1, 2)
        facts = {"first_on": monday + first * DAY, "last_on": monday + last * DAY, "rods": rods, "hold": hold}
        made = self.tried(
            lambda: let_rods(self.beats[beat], booker=self.guests[guest], **facts, by=self.owner, now=self.now)[0]
        )
        if made:
            days = [monday + n * DAY for n in range(first, last + 1)]
            self.book.lets[made.pk] = let = referee.Let(guest, beat, days, rods, confirmed=not hold)
            if not hold:
                self.book.price_whole(let)
        return made

    def tariff(self, **facts):
        """A price may be new for one beat or all, and from any day."""
        day = self.dice.choice(MONDAYS) + self.dice.randint(0, 6) * DAY
        facts = facts or {"beat": self.dice.choice([None, *self.beats]), "price": self.dice.choice(PRICES),
                          "first_on": self.dice.choice([dt.date(2026, 1, 2), day])}  # fmt: skip
        span = {"last_on": None, "first_week": 1, "last_week": 53, "kind": ""}
        added = self.tried(
            lambda: add_price(
                self.fishery, beat=self.beats.get(facts["beat"]), rod_day=Decimal(facts["price"]) / 100,
                currency="GBP", by=self.owner, now=self.now, first_on=facts["first_on"], **span,
            )
        )  # fmt: skip
        if added:
            self.book.tariff.append((facts["beat"], facts["first_on"], facts["price"]))
        return added

    def vat(self):
        percent, included = self.dice.choice(RATES), self.dice.random() < 0.5
        version = reckoning.terms_of(self.fishery).version
        facts = {"vat_percent": Decimal(percent), "vat_included": included}
        change_terms(self.fishery, facts=facts, version=version, by=self.owner, now=self.now)
        self.book.rate, self.book.included = Fraction(percent) / 100, included
        return True

    def policy(self):
        percents = sorted(self.dice.choices([0, 33, 50, 67, 100], k=2))
        steps = list(zip((self.dice.randint(0, 60), self.dice.randint(61, 200)), percents, strict=True))
        version = getattr(LettingPolicy.objects.filter(fishery=self.fishery).first(), "version", 1)
        facts = {"hold_minutes": 2880, "offer_minutes": 4320, "version": version}
        set_policy(self.fishery, refunds=steps, **facts, by=self.owner, now=self.now)
        self.book.steps = steps
        return True

    def close(self):
        day = self.dice.choice(MONDAYS) + self.dice.randint(0, 5) * DAY
        facts = {"from_on": day, "to_on": day, "reason": "bank works", "by": self.owner, "now": self.now}
        return self.tried(lambda: close_beat(self.dice.choice(list(self.beats.values())), **facts))

    def with_let(self, name):
        if not self.book.lets:
            return False
        key = self.dice.choice(list(self.book.lets))
        let = self.book.lets[key]
        row = Let.objects.select_related("beat__fishery", "booker").get(pk=key)
        if name in {"credit", "charge", "pay", "refund"}:
            return self.money(name, row, let)
        if name in {"split days", "split rods", "transfer"}:
            return self.hand(name, row, let)
        if name in {"cancel", "confirm"}:
            verb = cancel_let if name == "cancel" else confirm_let
            again = row.status != ("held" if name == "confirm" else row.status) or row.status == "cancelled"
            done = self.tried(lambda: verb(row, by=self.owner, now=self.now))
            if done and not again:
                self.settle(name, let)
            return done and not again
        return self.change(name, row, let)

    def settle(self, name, let):
        if name == "confirm":
            let.confirmed = True
            self.book.price_whole(let)
        elif let.confirmed:
            self.book.cancel(let, self.today)

    def change(self, name, row, let):
        first, last = let.days[0], let.days[-1]
        weeks = self.dice.choice([-14, -7, 7, 14]) * DAY
        room = max(0, 5 - last.weekday())
        shapes = {
            "add rods": {"rods": let.rods + 1}, "fewer rods": {"rods": let.rods - 1},
            "shorten": {"last_on": last - self.dice.randint(1, 3) * DAY},
            "lengthen": {"last_on": last + self.dice.randint(0, room) * DAY},
            "move": {"first_on": first + weeks, "last_on": last + weeks - self.dice.randint(0, 1) * DAY},
            "beat": {"beat": self.beats[self.dice.choice(list(self.beats))]},
            "company": {"company": self.dice.choice(["either", "together", "apart"])},
        }  # fmt: skip
        facts = shapes[name]
        if facts.get("rods") == 0:
            return False
        changed = self.tried(
            lambda: change_let(row, facts=facts, version=row.version, by=self.owner, now=self.now)
        )
        if changed and name != "company":
            first, last = facts.get("first_on", first), facts.get("last_on", last)
            days = [first + n * DAY for n in range((last - first).days + 1)]
            beat = facts["beat"].pk if "beat" in facts else None
            self.book.change(let, self.today, beat=beat, days=days, rods=facts.get("rods"))
        return changed

    def money(self, name, row, let):
        payers = [row.booker_id, *(guest for guest in let.paid if name == "refund")]
        guest, pence = self.dice.choice(payers), self.dice.choice([1, 3333, 6000, 25000, 51000])
        kind = {"pay": "payment"}.get(name, name)
        facts = {"reference": "", "note": "", "booked_on": None, "by": self.owner, "now": self.now}
        entered = self.tried(
            lambda: enter(
                self.guests[guest], let=row, kind=kind, amount=Decimal(pence) / 100, currency="GBP", **facts
            )
        )
        if kind == "refund":
            owed_here = (let.price if let.booker == guest else 0) - let.paid.get(guest, 0)
            assert bool(entered) == (max(owed_here, self.book.balance(guest)) + pence <= 0)
        if entered and kind in {"credit", "charge"}:
            self.book.by_hand(let, kind, pence)
        elif entered:
            let.paid[guest] = let.paid.get(guest, 0) + (pence if kind == "payment" else -pence)
        return entered

    def hand(self, name, row, let):
        to = self.dice.choice(list(self.guests))
        facts = {"by": self.owner, "now": self.now}
        if name == "transfer":
            same = row.booker_id == to
            done = self.tried(lambda: transfer_let(row, to=self.guests[to], **facts))
            if done:
                let.booker = to
            return done and not same
        cut = (
            {"rods": self.dice.randint(1, 2)} if name == "split rods" else {"from_on": self.dice.choice(let.days)}
        )
        done = self.tried(lambda: split_let(row, booker=self.guests[to], **cut, **facts)[0])
        if done:
            self.book.lets[done.pk] = self.book.split(let, to, **cut)
        return done

    def tried(self, verb):
        try:
            return verb()
        except Refusal:
            return None

    def check(self):
        """All accounts against the referee's."""
        for key, let in self.book.lets.items():
            row = Let.objects.select_related("beat__fishery").get(pk=key)
            told = accounts.let_money(row, today=self.today)
            assert (told["price"], told["paid"]) == (pounds(let.price), pounds(let.paid.get(let.booker, 0))), key
            assert sum(due.amount for due in told["open_dues"]) == max(told["balance"], Decimal(0))
            assert told["by_hand"] == pounds(let.hand)
            standing = sum(line.gross for line in told["agreed"] if line.given_up_on is None)
            assert standing == pounds(sum(unit.gross for unit in let.units))
            entries = LedgerEntry.objects.filter(let=key).count()
            assert abs(Fraction(told["vat"]) * 100 - let.vat) <= 1 + entries, key
            assert {payer.guest: payer.paid for payer in let_prices.payers_of(row) if payer.paid} == {
                guest: pounds(paid) for guest, paid in let.paid.items() if paid
            }
        statements = {key: accounts.statement(guest, now=self.now) for key, guest in self.guests.items()}
        for key, statement in statements.items():
            assert statement.balance == pounds(self.book.balance(key))
            for let, _line in ((one.let, one.line) for one in statement.given_up):
                assert self.book.lets[let].booker == key
        years = [accounts.takings(self.fishery, year, today=self.today) for year in (2026, 2027, 2028)]
        assert sum(year["to_come"] for year in years) == pounds(self.book.to_come())
        assert sum(year["taken"] for year in years) == pounds(self.book.taken())

    def check_over_http(self):
        client = client_of(self.owner)
        for key, let in self.book.lets.items():
            told = client.get(f"/api/v1/lets/{key}/money/").json()
            assert Decimal(told["balance"]) == pounds(let.balance)
            kept = sum(Decimal(line["kept"]) for line in told["agreed"])
            assert kept + Decimal(told["by_hand"]) == Decimal(told["price"])
        for key in self.guests:
            told = client.get(f"/api/v1/guests/{key}/statement/").json()
            assert Decimal(told["balance"]) == pounds(self.book.balance(key))


def pounds(pence):
    return Decimal(pence) / 100


@pytest.mark.parametrize("seed", range(SEED, SEED + SEQUENCES), ids="LEDGER_SEED={}".format)
def test_thirty_acts_leave_every_account_right_to_the_penny(seed, owner, beat):
    days = Days(seed, owner, beat)
    while len([name for name, done in days.done if done]) < ACTS and len(days.done) < 4 * ACTS:
        days.act()
        if len(days.done) % 4 == 0:
            days.check()
    days.check()
    days.check_over_http()
