"""The opening-morning rush against the least it could cost: one unique row inserted by the same stack.

Both go through the service's own handler, token, JSON reader and error handler, with threads side by
side. The bare view only inserts; ours knows the law, the guests and the names, and leaves an audit row.
"""

import datetime as dt
import logging
import random
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from itertools import repeat

from django.db import IntegrityError, connection, transaction
from django.test.utils import override_settings
from django.urls import include, path
from rest_framework.response import Response
from rest_framework.test import APIClient
from rest_framework.views import APIView

from beats.authentication import issue_token
from beats.models import Beat, Fishery, Membership, User
from beats.shared.bench import Row
from bookings.availability import days_between
from bookings.models import Guest, Let, RodDay
from bookings.season_weeks import monday

NOW = dt.datetime(2026, 5, 6, 11, tzinfo=dt.UTC)
FIRST = dt.date(2027, 5, 3)
THREADS = 4
TURNS = 3
GOAL = 0.5


class Bare(APIView):
    """One unique row, and nothing else."""

    def post(self, request):
        asked = request.data
        try:
            with transaction.atomic():
                RodDay.objects.create(
                    beat_id=asked["beat"], day=asked["first_on"], rod=asked["rod"], let_id=asked["let"]
                )
        except IntegrityError:
            return Response({"taken": asked["first_on"]}, status=409)
        return Response({"rod": asked["rod"]}, status=201)


urlpatterns = [path("bare/", Bare.as_view()), path("api/v1/", include("bookings.urls"))]


def rows(tries: int) -> list[Row]:
    """Answers a second, ours beside the bare insert: a rush at fifty rod-days, and one that everybody wins."""
    logging.getLogger("django.request").setLevel(logging.ERROR)  # else a line for every loser
    with override_settings(ROOT_URLCONF=__name__):
        return [
            _row(f"rush, {tries} tries at 50 rod-days, answered a second", days=10, rods=5, tries=tries),
            _row(f"no rush, {tries} tries at plenty, let a second", days=60, rods=60, tries=tries, judged=False),
        ]


def _row(case: str, *, days: int, rods: int, tries: int, judged: bool = True) -> Row:
    """The turn with the median ratio of several, each on fresh water, so that a busy machine slows both sides."""
    _timed(_water(f"warm-{days}", rods), "/api/v1/lets/", days, rods, 40)
    turns = []
    for turn in range(TURNS):
        bare = _timed(_water(f"bare-{days}-{turn}", rods), "/bare/", days, rods, tries)
        ours = _timed(_water(f"ours-{days}-{turn}", rods), "/api/v1/lets/", days, rods, tries)
        turns.append((ours / bare, ours, bare))
    ratio, ours, bare = sorted(turns)[TURNS // 2]
    goal = f"at least {GOAL} of the bare insert" if judged else ""
    return Row(case, round(ours, 1), "1/s", round(bare, 1), goal, ratio >= GOAL if judged else None)


def _water(slug: str, rods: int) -> dict:
    fishery = Fishery.objects.create(
        slug=slug,
        name=slug,
        river="Bench",
        time_zone="Europe/London",
        district="51",
        latitude=57.6,
        longitude=-5.3,
    )
    owner = User.objects.create_user(f"{slug}@example.org", name="Owner")
    Membership.objects.create(user=owner, fishery=fishery, role="owner")
    policy = {"longest_outing_minutes": 600, "grace_minutes": 15, "lone_grace_minutes": 0}
    beat = Beat.objects.create(fishery=fishery, slug="beat", name="Beat", order=1, rods=rods, **policy)
    guest = Guest.objects.create(fishery=fishery, name="Guest")
    let = Let.objects.create(beat=beat, booker=guest, first_on=FIRST, last_on=FIRST, rods=1, made_at=NOW)
    token = issue_token(owner, label="bench", now=dt.datetime.now(dt.UTC))
    return {"token": token, "beat": beat.pk, "booker": guest.pk, "let": let.pk}


def _timed(water: dict, address: str, days: int, rods: int, tries: int) -> float:
    """Answers a second of so many tries; anything but sold and taken stops the benchmark."""
    asked = _asked(days, rods, tries, bare=address == "/bare/", water=water)
    share = [asked[at::THREADS] for at in range(THREADS)]
    start = time.perf_counter()
    with ThreadPoolExecutor(THREADS) as threads:
        told = list(threads.map(_send, share, repeat(water["token"]), repeat(address)))
    spent = time.perf_counter() - start
    answers = [code for codes in told for code in codes]
    if set(answers) - {201, 409} or len(answers) != tries:
        raise RuntimeError(f"{address} answered {sorted(set(answers))}")
    return tries / spent


def _asked(days: int, rods: int, tries: int, *, bare: bool, water: dict) -> list[dict]:
    chance = random.Random(1)  # noqa: S311 - a benchmark repeats
    on = [day for day in days_between(monday(FIRST), FIRST + dt.timedelta(days=2 * days)) if day.weekday() < 6][
        :days
    ]
    slots = [(day, rod) for day in on for rod in range(1, rods + 1)]
    picked = chance.sample(slots, tries) if tries <= len(slots) and days > 10 else chance.choices(slots, k=tries)
    common = {"beat": water["beat"]}
    common |= {"let": water["let"]} if bare else {"booker": water["booker"], "rods": 1}
    return [
        common | {"first_on": str(day)} | ({"rod": rod} if bare else {"last_on": str(day)}) for day, rod in picked
    ]


def _send(bodies: Iterable[dict], token: str, address: str) -> list[int]:
    client = APIClient(HTTP_HOST="127.0.0.1", raise_request_exception=False)
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    post: Callable = client.post
    try:
        return [post(address, body, format="json").status_code for body in bodies]
    finally:
        connection.close()
