"""The price agreed for each rod-day of a let. Lets confirmed before get theirs from what they were charged.

The ledger is only read. For each confirmed let the charges and credits that the service itself wrote are
divided over its rod-days: by the prices named in the charges where these count as many rod-days as the let
has, else evenly. Sums entered by hand stay what they are, beside the agreed prices. Cancelled lets get none:
nothing is priced on them any more. Going back drops the table and moves no sum.
"""

import re
from decimal import ROUND_HALF_UP, Decimal

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import F, Q
from django.utils import timezone

from beats.shared.stones import lay, lift, through

STONES = {"bookings_agreedprice": through("bookings_let", "let_id")}
PENNY = Decimal("0.01")
LINE = re.compile(r"^(\d+) rod-days at (\d+(?:\.\d+)?), ")
BY_THE_SERVICE = re.compile(
    r"^(\d+ rod-days at |the let was changed$|called off: |let \d+ passed to another guest$)"
)


def penny(amount):
    return Decimal(amount).quantize(PENNY, rounding=ROUND_HALF_UP)


def divided(total, weights):
    """`total` by weights, to the penny, the odd pennies spread evenly."""
    whole, run, before, parts = sum(weights), Decimal(0), Decimal(0), []
    for weight in weights:
        run += weight
        upto = penny(total * run / whole)
        parts.append(upto - before)
        before = upto
    return parts


def prices_of(entries, count):
    """The price of each rod-day in the order of days, as the charges name them; None where they do not."""
    found = []
    for entry in entries:
        line = LINE.match(entry.note)
        if line is None or entry.kind != "charge":
            return None
        found += [Decimal(line[2])] * int(line[1])
    return found if len(found) == count and sum(found) else None


def rate_of(total, vat, terms):
    """The VAT rate in percent held in a total: that of the terms where it fits, else as it comes out."""
    if terms and abs(penny(total * terms.vat_percent / (100 + terms.vat_percent)) - vat) <= PENNY:
        return terms.vat_percent
    return min(penny(100 * vat / (total - vat)), Decimal("99.99")) if total > vat else Decimal(0)


def agree_as_charged(apps, _schema_editor):
    Let, Entry, Terms, Price = (
        apps.get_model("bookings", name) for name in ("Let", "LedgerEntry", "Terms", "AgreedPrice")
    )
    terms = {row.fishery_id: row for row in Terms.objects.all()}
    charged = Entry.objects.filter(kind__in=["charge", "credit"]).values("let")
    lets = Let.objects.filter(status="confirmed", pk__in=charged).select_related("beat").order_by("pk")
    for let in lets.iterator(chunk_size=500):
        days = list(let.rod_days.order_by("day", "rod").values_list("day", flat=True))
        entries = [
            entry
            for entry in Entry.objects.filter(let=let, kind__in=["charge", "credit"]).order_by("id")
            if BY_THE_SERVICE.match(entry.note)
        ]
        total, vat = sum((row.amount for row in entries), Decimal(0)), sum((row.vat for row in entries), Decimal(0))
        if not days or total <= 0 or vat < 0:
            continue
        # A handed-on let holds its price three times, twice taken back: the lines of the first charge name it.
        kept = [row for row in entries if LINE.match(row.note)] if _only_passed_on(entries) else entries
        named = prices_of(kept, len(days))
        sums = divided(total, named or [Decimal(1)] * len(days))
        taxes = divided(vat, named or [Decimal(1)] * len(days))
        rate, kept_terms = rate_of(total, vat, terms.get(let.beat.fishery_id)), terms.get(let.beat.fishery_id)
        included = not (named and kept_terms and not kept_terms.vat_included and sum(named) == total - vat)
        Price.objects.bulk_create(
            Price(
                let=let, beat_id=let.beat_id, day=day,
                rod_day=(price if named else gross), vat_percent=rate, vat_included=included,
                currency=entries[0].currency, gross=gross, vat=tax,
                agreed_at=let.confirmed_at or let.made_at or timezone.now(),
            )
            for day, price, gross, tax in zip(days, named or sums, sums, taxes)
        )


def _only_passed_on(entries):
    rest = [row for row in entries if not LINE.match(row.note)]
    return bool(rest) and all(row.note.startswith("let ") for row in rest) and not sum(row.amount for row in rest)


class Migration(migrations.Migration):
    dependencies = [("bookings", "0008_undo_unused_links"), ("beats", "0009_the_wall")]
    operations = [
        migrations.CreateModel(
            name="AgreedPrice",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("day", models.DateField()),
                ("rod_day", models.DecimalField(decimal_places=2, help_text="The price of the tariff; null: none was agreed", max_digits=9, null=True)),
                ("vat_percent", models.DecimalField(decimal_places=2, max_digits=4)),
                ("vat_included", models.BooleanField(help_text="Whether rod_day holds VAT")),
                ("currency", models.CharField(max_length=3)),
                ("gross", models.DecimalField(decimal_places=2, max_digits=12)),
                ("vat", models.DecimalField(decimal_places=2, help_text="Held in gross", max_digits=12)),
                ("agreed_at", models.DateTimeField()),
                ("given_up_at", models.DateTimeField(null=True)),
                ("refund_percent", models.PositiveSmallIntegerField(help_text="Of gross; set when it is given up", null=True)),
                ("credited", models.DecimalField(decimal_places=2, default=0, max_digits=12)),
                ("credited_vat", models.DecimalField(decimal_places=2, default=0, help_text="Held in credited", max_digits=12)),
                ("beat", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="agreed_prices", to="beats.beat")),
                ("let", models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="agreed_prices", to="bookings.let")),
            ],
            options={
                "indexes": [models.Index(fields=["let", "day"], name="agreed_price_by_let_and_day")],
                "constraints": [
                    models.CheckConstraint(
                        condition=Q(gross__gte=0, vat__gte=0, credited__gte=0, credited__lte=F("gross")),
                        name="agreed_price_sums",
                    ),
                    models.CheckConstraint(
                        condition=Q(given_up_at__isnull=True, refund_percent__isnull=True, credited=0)
                        | Q(given_up_at__isnull=False, refund_percent__lte=100),
                        name="agreed_price_given_up",
                    ),
                ],
            },
        ),
        migrations.RunPython(lay(STONES), lift(STONES)),
        migrations.RunPython(agree_as_charged, migrations.RunPython.noop),
    ]
