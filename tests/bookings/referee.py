"""A second account of a fishery's money, kept beside the service and knowing nothing of its code.

Whole pence. It holds what was agreed for each rod-day, what stays charged of days given up, what was entered
by hand and who paid, by the rules that DEVELOPERS.md states. VAT is kept as exact fractions.
"""

import datetime as dt
from dataclasses import dataclass, field
from fractions import Fraction

DAY = dt.timedelta(days=1)


def half_up(pence):
    return int(pence + Fraction(1, 2)) if pence >= 0 else -int(-pence + Fraction(1, 2))


@dataclass
class Unit:
    """One rod on one day as agreed: the price (None: the tariff had none), VAT rate, and whether it holds VAT."""

    order: int
    beat: int
    day: dt.date
    price: int | None
    rate: Fraction
    included: bool
    moves_to: dt.date | None = None

    @property
    def gross(self):
        whole = Fraction(self.price or 0) * (1 if self.included else 1 + self.rate)
        assert whole.denominator == 1, "choose prices that are whole pence with VAT"
        return int(whole)

    @property
    def vat(self):
        return self.gross * self.rate / (1 + self.rate)


@dataclass
class Let:
    booker: int
    beat: int
    days: list
    rods: int
    confirmed: bool
    units: list = field(default_factory=list)
    kept: int = 0
    hand: int = 0
    by_hand_once: bool = False
    paid: dict = field(default_factory=dict)
    agreed: Fraction = Fraction(0)
    agreed_vat: Fraction = Fraction(0)
    other_vat: Fraction = Fraction(0)

    @property
    def price(self):
        return sum(unit.gross for unit in self.units) + self.kept + self.hand

    @property
    def vat(self):
        return sum((unit.vat for unit in self.units), Fraction(0)) + self.other_vat

    @property
    def balance(self):
        return self.price - self.paid.get(self.booker, 0)


class Referee:
    def __init__(self):
        self.lets, self.tariff, self.steps, self.loose = {}, [], [], {}
        self.rate, self.included, self.count = Fraction(1, 5), True, 0

    def asked(self, beat, day):
        """A row for the beat before one for all, the later before the earlier."""
        rows = [row for row in self.tariff if row[0] in (beat, None) and row[1] <= day]
        return max(rows, key=lambda row: (row[0] is not None, row[1]))[2] if rows else None

    def percent(self, first, today):
        fitting = [step for step in self.steps if step[0] <= (first - today).days]
        return max(fitting)[1] if fitting else 0

    def _unit(self, beat, day, like=None):
        self.count += 1
        if like is None:
            return Unit(self.count, beat, day, self.asked(beat, day), self.rate, self.included)
        return Unit(self.count, beat, day, like.price, like.rate, like.included)

    def price_whole(self, let):
        days = [day for day in let.days for _ in range(let.rods)]
        if let.by_hand_once or any(self.asked(let.beat, day) is None for day in days):
            return
        self._take(let, [self._unit(let.beat, day) for day in days])

    def _take(self, let, units):
        let.units += units
        let.agreed += sum(unit.gross for unit in units)
        let.agreed_vat += sum((unit.vat for unit in units), Fraction(0))

    def change(self, let, today, *, beat=None, days=None, rods=None):
        before = (let.beat, let.days, let.rods)
        let.beat, let.days, let.rods = beat or let.beat, days or let.days, rods or let.rods
        if not let.confirmed or before == (let.beat, let.days, let.rods):
            return
        if not let.units:
            self.price_whole(let)
            return
        like = {unit.order: self.asked(unit.beat, unit.day) for unit in let.units}
        was = [(unit.day, unit) for unit in let.units]
        missing, dropped = self._compare(let, like)
        new = []
        for day in missing:
            if same := [unit for unit in dropped if like[unit.order] == self.asked(let.beat, day)]:
                best = min(same, key=lambda each: (abs(each.day - day), each.day, each.order))
                dropped.remove(best)
                best.moves_to = day
            else:
                new.append(day)
        for unit in let.units:
            unit.day, unit.moves_to = unit.moves_to or unit.day, None
        added = []
        for day in new:
            priced = [pair for pair in was if pair[1].price is not None]
            alike = [pair for pair in priced if like[pair[1].order] == self.asked(let.beat, day)]
            alike.sort(key=lambda pair: (abs(pair[0] - day), pair[0], pair[1].order))
            added.append(self._unit(let.beat, day, alike[0][1] if alike else None))
        gone = dropped[len(new) :]
        let.units = [unit for unit in let.units if unit not in dropped]
        for unit in let.units:
            unit.beat = let.beat
        if gone:
            self._keep(let, gone, self.percent(gone[0].day, today))
        self._take(let, added)

    def _compare(self, let, like):
        """(days still wanted, units with no place) in order; of one day the units agreed last lose theirs."""
        open_, dropped = dict.fromkeys(let.days, let.rods), []
        for unit in sorted(let.units, key=lambda each: each.order):
            if open_.get(unit.day) and like[unit.order] == self.asked(let.beat, unit.day):
                open_[unit.day] -= 1
            else:
                dropped.append(unit)
        dropped.sort(key=lambda each: (each.day, each.order))
        return [day for day in sorted(open_) for _ in range(open_[day])], dropped

    def _keep(self, let, gone, percent):
        total = sum(unit.gross for unit in gone)
        let.kept += total - half_up(Fraction(total * percent, 100))
        let.other_vat += sum((unit.vat for unit in gone), Fraction(0)) * (100 - percent) / 100

    def cancel(self, let, today):
        gone = [unit for unit in let.units if unit.day >= today]
        coming = [day for day in let.days if day >= today]
        let.units = [unit for unit in let.units if unit.day < today]
        if gone:
            self._keep(let, gone, self.percent(coming[0], today))
        let.confirmed = False

    def split(self, let, booker, *, from_on=None, rods=None):
        new = Let(booker, let.beat, let.days, let.rods, let.confirmed, by_hand_once=let.by_hand_once)
        if rods:
            going = []
            for day in let.days:
                that_day = sorted((unit for unit in let.units if unit.day == day), key=lambda each: each.order)
                going += that_day[len(that_day) - rods :] if that_day else []
            let.rods, new.rods = let.rods - rods, rods
        else:
            going = [unit for unit in let.units if unit.day >= from_on]
            new.days = [day for day in let.days if day >= from_on]
            let.days = [day for day in let.days if day < from_on]
        let.units = [unit for unit in let.units if unit not in going]
        let.agreed -= sum(unit.gross for unit in going)
        let.agreed_vat -= sum((unit.vat for unit in going), Fraction(0))
        self._take(new, going)
        return new

    def by_hand(self, let, kind, pence):
        signed = pence if kind == "charge" else -pence
        share = self.rate / (1 + self.rate)
        if kind == "credit" and let.agreed:
            share = let.agreed_vat / let.agreed
        let.hand += signed
        let.other_vat += signed * share
        let.by_hand_once = True

    def balance(self, guest):
        owed = sum(let.price for let in self.lets.values() if let.booker == guest)
        return owed - sum(let.paid.get(guest, 0) for let in self.lets.values())

    def to_come(self):
        return sum(max(0, let.balance) for let in self.lets.values())

    def taken(self):
        return sum(sum(let.paid.values()) for let in self.lets.values())
