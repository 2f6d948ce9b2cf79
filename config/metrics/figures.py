"""The figures of the watch, read from the database, so that whichever process is asked says the same.

Six questions, however many rows. Spans are of the last hour (messages) or day (rotas): a snapshot, which
OpenMetrics calls a gauge histogram. A count since the beginning would fall when a guest is forgotten, and
Prometheus would take that for a restart.
"""

import datetime as dt
from collections.abc import Iterable, Iterator

from django.db import DatabaseError
from django.db.models import Count, DurationField, ExpressionWrapper, F, Min, Q, QuerySet, Sum
from prometheus_client.core import GaugeHistogramMetricFamily, GaugeMetricFamily, Metric

from safety.models import Delivery, Pulse
from safety.queries import due_without_alarm, not_gone
from sessions.models import Outing, RotaJob

HOUR, DAY = dt.timedelta(hours=1), dt.timedelta(days=1)
MESSAGE_S = (1, 5, 10, 30, 60, 300, 900)
ROTA_S = (1, 5, 10, 30, 60, 120, 300)


class Figures:
    """A collector of one scrape."""

    def __init__(self, now: dt.datetime) -> None:
        self.now = now

    def collect(self) -> Iterable[Metric]:
        """Without a database it says only that: a figure that is not known is left out, never nought."""
        try:
            return [_gauge("database_up", "1 when the database answered", 1), *self._watch(), *self._rotas()]
        except DatabaseError:
            return [_gauge("database_up", "1 when the database answered", 0)]

    def _watch(self) -> Iterator[Metric]:
        ages = GaugeMetricFamily(
            "rodtally_loop_age_seconds", "Since this loop last finished a round", labels=["loop"]
        )
        for name, at in Pulse.objects.order_by("name").values_list("name", "beaten_at"):
            age = (self.now - at).total_seconds()
            ages.add_metric([name], age)
            if name == "sweep":
                yield _gauge("sweep_age_seconds", "Since anybody last swept for overdue rods", age)
        yield ages
        yield _gauge(
            "outings_due_without_alarm", "Past their alarm time, and none raised", due_without_alarm(self.now)
        )
        yield _gauge(
            "outings_open",
            "Rods out, as far as anybody said",
            Outing.objects.filter(checked_out_at__isnull=True).count(),
        )
        yield from self._messages()

    def _messages(self) -> Iterator[Metric]:
        waiting = not_gone().aggregate(count=Count("pk"), oldest=Min("written_at"))
        oldest = (self.now - waiting["oldest"]).total_seconds() if waiting["oldest"] else 0
        yield _gauge("messages_unsent", "Written for people, and not gone; pushes aside", waiting["count"])
        yield _gauge("message_oldest_unsent_seconds", "Since the oldest of them was written, 0 with none", oldest)
        sent = Delivery.objects.filter(channel__in=Delivery.Channel.values, sent_at__gte=self.now - HOUR)
        yield _spans("message_sent_seconds", "From written to taken by its channel, last hour",
                     sent, F("sent_at") - F("written_at"), MESSAGE_S)  # fmt: skip

    def _rotas(self) -> Iterator[Metric]:
        ended = RotaJob.objects.filter(state=RotaJob.State.DONE, ended_at__gte=self.now - DAY)
        yield _spans("rota_seconds", "From asking for a rota to having it, last day",
                     ended, F("ended_at") - F("asked_at"), ROTA_S)  # fmt: skip


def _gauge(name: str, says: str, value: float) -> GaugeMetricFamily:
    return GaugeMetricFamily(f"rodtally_{name}", says, value=value)


def _spans(name: str, says: str, rows: QuerySet, took: F, edges_s: tuple[int, ...]) -> GaugeHistogramMetricFamily:
    """How many of `rows` took at most each edge, counted by the database in one question."""
    rows = rows.annotate(took=ExpressionWrapper(took, output_field=DurationField()))
    within = {f"le_{edge}": Count("pk", filter=Q(took__lte=dt.timedelta(seconds=edge))) for edge in edges_s}
    found = rows.aggregate(all=Count("pk"), sum=Sum("took"), **within)
    buckets = [(str(float(edge)), found[f"le_{edge}"]) for edge in edges_s] + [("+Inf", found["all"])]
    total = found["sum"].total_seconds() if found["sum"] else 0
    return GaugeHistogramMetricFamily(f"rodtally_{name}", says, buckets=buckets, gsum_value=total)
