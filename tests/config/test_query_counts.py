"""How many questions each reading asks of the database: a fixed number, however many rows there are."""

import datetime as dt

import pytest
from django.utils import timezone

from beats.conditions import conditions
from beats.models import AuditEntry, Beat, Fishery, Membership
from beats.queries import local_day
from safety.services.pulse import beat_pulse
from tests.config.world import build
from tests.factories import (
    NOON,
    AlarmFactory,
    AnglerMessageFactory,
    AreaWarningFactory,
    BeatClosureFactory,
    BeatFactory,
    BoardKeyFactory,
    CalendarFeedFactory,
    CatchFactory,
    DayPartFactory,
    DeliveryFactory,
    DrillFactory,
    DutyFactory,
    FisheryFactory,
    GaugeFactory,
    GaugeKeyFactory,
    GuestFactory,
    HookFactory,
    HookMessageFactory,
    IncidentFactory,
    LedgerEntryFactory,
    LetFactory,
    LettingSeasonFactory,
    MonthStatementFactory,
    ObservationFactory,
    OfferFactory,
    OldBookFactory,
    OutingFactory,
    PaperFactory,
    PaymentKeyFactory,
    PlanFactory,
    PoolClosureFactory,
    PoolFactory,
    PushAddressFactory,
    ReadingFactory,
    RecallCallFactory,
    RecallFactory,
    ReturnFactory,
    ReviewAnswerFactory,
    RodDayFactory,
    RotaFactory,
    RotaJobFactory,
    SameWeekFactory,
    TariffFactory,
    TideWaterFactory,
    TurnFactory,
    WaitingFactory,
    client_of,
)

pytestmark = pytest.mark.django_db

DAY = dt.timedelta(days=1)


def fisheries(beat, owner, rows):
    Membership.objects.all().delete()
    for fishery in FisheryFactory.create_batch(rows):
        Membership.objects.create(user=owner, fishery=fishery, role="owner")


def beats(beat, owner, rows):
    for fishery in FisheryFactory.create_batch(rows - 1):
        Membership.objects.create(user=owner, fishery=fishery, role="owner")
        BeatFactory(fishery=fishery, gauge=GaugeFactory(fishery=fishery))


def pools(beat, owner, rows):
    PoolFactory.create_batch(rows, beat=beat)


def closures(beat, owner, rows):
    PoolClosureFactory.create_batch(rows, pool=PoolFactory(beat=beat, pk=7_000_000))


def gauges(beat, owner, rows):
    GaugeFactory.create_batch(rows, fishery=beat.fishery)


def readings(beat, owner, rows):
    ReadingFactory.create_batch(rows, gauge=GaugeFactory(fishery=beat.fishery, pk=7_000_000))


def gauge_keys(beat, owner, rows):
    GaugeKeyFactory.create_batch(rows, gauge=GaugeFactory(fishery=beat.fishery, pk=7_000_000))


def guests(beat, owner, rows):
    GuestFactory.create_batch(rows, fishery=beat.fishery)


def lets(beat, owner, rows):
    for _ in range(rows):
        LetFactory(beat=BeatFactory(fishery=beat.fishery))


def beat_closures(beat, owner, rows):
    BeatClosureFactory.create_batch(rows, beat=BeatFactory(fishery=beat.fishery, pk=7_000_000))


def offers(beat, owner, rows):
    for _ in range(rows):
        OfferFactory(let__beat=beat)


def same_weeks(beat, owner, rows):
    for _ in range(rows):
        SameWeekFactory(last_let__beat=beat)


def waiting(beat, owner, rows):
    for _ in range(rows):
        WaitingFactory(guest=GuestFactory(fishery=beat.fishery))


def tariff(beat, owner, rows):
    Fishery.objects.filter(pk=beat.fishery_id).update(slug="one-water")
    TariffFactory.create_batch(rows, fishery=beat.fishery)


def hooks(beat, owner, rows):
    Fishery.objects.filter(pk=beat.fishery_id).update(slug="one-water")
    HookFactory.create_batch(rows, fishery=beat.fishery)


def payment_keys(beat, owner, rows):
    Fishery.objects.filter(pk=beat.fishery_id).update(slug="one-water")
    PaymentKeyFactory.create_batch(rows, fishery=beat.fishery)


def hook_messages(beat, owner, rows):
    HookMessageFactory.create_batch(rows, hook=HookFactory(fishery=beat.fishery, pk=7_000_000))


def letters(beat, owner, rows):
    PaperFactory.create_batch(rows, let=LetFactory(beat=beat, pk=7_000_000))


def ledger(beat, owner, rows):
    for _ in range(rows):
        LedgerEntryFactory(guest=GuestFactory(fishery=beat.fishery))


def feeds(beat, owner, rows):
    for _ in range(rows):
        CalendarFeedFactory(guest=GuestFactory(fishery=beat.fishery))


def rod_days(beat, owner, rows):
    for _ in range(rows):
        RodDayFactory(let__beat=beat, guest=GuestFactory(fishery=beat.fishery))


def rotas(beat, owner, rows):
    RotaFactory.create_batch(rows, beat=beat)


def rota_jobs(beat, owner, rows):
    RotaJobFactory.create_batch(rows, beat=beat)


def turns(beat, owner, rows):
    for number in range(rows):
        part = DayPartFactory(fishery=beat.fishery, slug=f"part-{number}")
        TurnFactory(rota=RotaFactory(beat=beat), part=part, guest=GuestFactory(fishery=beat.fishery))


def outings(beat, owner, rows):
    for _ in range(rows):
        OutingFactory(beat=beat, pool=PoolFactory(beat=beat))


def catches(beat, owner, rows):
    for _ in range(rows):
        CatchFactory(beat=beat, pool=PoolFactory(beat=beat), guest=GuestFactory(fishery=beat.fishery))


def fish_of_an_outing(beat, owner, rows):
    CatchFactory.create_batch(rows, beat=beat, outing=OutingFactory(beat=beat, pk=7_000_000))


def history(beat, owner, rows):
    fish = CatchFactory(beat=beat, pk=7_000_000)
    for _ in range(rows):
        AuditEntry.objects.create(
            subject=f"fishing_sessions.catch:{fish.pk}", verb="correct catch", at=timezone.now()
        )


def signed_returns(beat, owner, rows):
    Fishery.objects.filter(pk=beat.fishery_id).update(slug="a-water")
    for number in range(rows):
        ReturnFactory(fishery=beat.fishery, version=number + 1, reason="again")


def month_statements(beat, owner, rows):
    Fishery.objects.filter(pk=beat.fishery_id).update(slug="a-water")
    MonthStatementFactory.create_batch(rows, fishery=beat.fishery)


def review_answers(beat, owner, rows):
    Fishery.objects.filter(pk=beat.fishery_id).update(slug="a-water")
    ReviewAnswerFactory.create_batch(rows, fishery=beat.fishery)


def board_keys(beat, owner, rows):
    Fishery.objects.filter(pk=beat.fishery_id).update(slug="a-water")
    BoardKeyFactory.create_batch(rows, fishery=beat.fishery)


def old_books(beat, owner, rows):
    Fishery.objects.filter(pk=beat.fishery_id).update(slug="a-water")
    OldBookFactory.create_batch(rows, fishery=beat.fishery)


def alarms(beat, owner, rows):
    for _ in range(rows):
        alarm = AlarmFactory(outing__beat=beat, outing__pool=PoolFactory(beat=beat))
        DeliveryFactory.create_batch(2, alarm=alarm)


def angler_messages(beat, owner, rows):
    AnglerMessageFactory.create_batch(rows, fishery=beat.fishery, guest=GuestFactory(fishery=beat.fishery))


def undelivered(beat, owner, rows):
    for _ in range(rows):
        DeliveryFactory(alarm=AlarmFactory(outing__beat=beat), state="given_up")


def plans(beat, owner, rows):
    PlanFactory.create_batch(rows, beat=beat)


def recalls(beat, owner, rows):
    for number in range(rows):
        recall = RecallFactory(beat=BeatFactory(fishery=beat.fishery))
        RecallCallFactory.create_batch(number % 3, recall=recall)


def warnings(beat, owner, rows):
    AreaWarningFactory.create_batch(rows, fishery=beat.fishery)


def duties(beat, owner, rows):
    DutyFactory.create_batch(rows, fishery=beat.fishery)


def drills(beat, owner, rows):
    DrillFactory.create_batch(rows, fishery=beat.fishery, answered_by=owner)


def push_addresses(beat, owner, rows):
    PushAddressFactory.create_batch(rows, user=owner)


def incidents(beat, owner, rows):
    IncidentFactory.create_batch(rows, fishery=beat.fishery)


# One question finds whose token it is; the rest is the list's own.
LISTS = [
    ("fisheries/", fisheries, 2),
    ("beats/", beats, 2),
    ("pools/", pools, 2),
    ("pools/7000000/closures/", closures, 3),
    ("gauges/", gauges, 2),
    ("gauges/7000000/readings/", readings, 3),
    ("gauges/7000000/keys/", gauge_keys, 4),
    ("guests/", guests, 2),
    ("lets/", lets, 2),
    ("beats/7000000/closures/", beat_closures, 3),
    ("offers/", offers, 2),
    ("same-weeks/", same_weeks, 2),
    ("waiting/", waiting, 2),
    ("fisheries/one-water/tariff/", tariff, 3),
    ("fisheries/one-water/hooks/", hooks, 4),
    ("fisheries/one-water/payment-keys/", payment_keys, 4),
    ("hooks/7000000/messages/", hook_messages, 4),
    ("lets/7000000/letters/", letters, 3),
    ("ledger/", ledger, 2),
    ("feeds/", feeds, 2),
    ("rod-days/", rod_days, 2),
    ("rotas/", rotas, 2),
    ("rota-jobs/", rota_jobs, 2),
    ("turns/", turns, 2),
    ("outings/", outings, 2),
    ("catches/", catches, 2),
    ("alarms/", alarms, 4),
    ("angler-messages/", angler_messages, 2),
    ("undelivered/", undelivered, 2),
    ("plans/", plans, 2),
    ("recalls/", recalls, 3),
    ("warnings/", warnings, 2),
    ("duties/", duties, 2),
    ("drills/", drills, 2),
    ("incidents/", incidents, 2),
    ("push-addresses/", push_addresses, 2),
    ("outings/7000000/fish/", fish_of_an_outing, 3),
    ("catches/7000000/history/", history, 3),
    ("fisheries/a-water/returns/2025/signed/", signed_returns, 4),
    ("fisheries/a-water/returns/2025/months/", month_statements, 4),
    ("fisheries/a-water/returns/2025/answers/", review_answers, 4),
    ("fisheries/a-water/board-keys/", board_keys, 4),
    ("fisheries/a-water/old-books/", old_books, 4),
]


@pytest.mark.parametrize("rows", [1, 30])
@pytest.mark.parametrize("asked", LISTS, ids=[path for path, _, _ in LISTS])
def test_a_list_asks_as_much_for_thirty_rows_as_for_one(django_assert_num_queries, beat, owner, asked, rows):
    path, make, count = asked
    make(beat, owner, rows)
    client = client_of(owner)
    with django_assert_num_queries(count):
        body = client.get(f"/api/v1/{path}").json()
    assert len(body if isinstance(body, list) else body["results"]) == rows


@pytest.mark.parametrize("rows", [1, 30])
def test_the_tally_asks_four_questions(django_assert_num_queries, beat, owner, rows):
    outings(beat, owner, rows)
    client = client_of(owner)
    with django_assert_num_queries(4):
        response = client.get(f"/api/v1/fisheries/{beat.fishery.slug}/tally/")
    assert len(response.json()) == rows


@pytest.mark.parametrize("rows", [1, 30])
def test_who_am_i_asks_four_questions(django_assert_num_queries, beat, owner, rows):
    fisheries(beat, owner, rows)
    client = client_of(owner)
    with django_assert_num_queries(4):
        response = client.get("/api/v1/me/")
    assert len(response.json()["parts"]) == rows


@pytest.mark.parametrize("days", [1, 30])
def test_the_season_asks_four_questions_for_any_span(django_assert_num_queries, beat, owner, days):
    client = client_of(owner)
    first = dt.date(2026, 5, 1)
    span = {"first_on": str(first), "last_on": str(first + (days - 1) * DAY)}
    with django_assert_num_queries(4):
        response = client.get(f"/api/v1/fisheries/{beat.fishery.slug}/season/", span)
    assert len(response.json()) == days


@pytest.mark.parametrize(
    ("path", "count"),
    [
        ("problems/", 0),
        ("fisheries/{slug}/", 2),
        ("beats/{beat}/", 2),
        ("beats/{beat}/conditions/", 5),
        ("pools/{pool}/", 2),
        ("pools/{pool}/section/", 5),
        ("guests/{guest}/", 2),
        ("lets/{let}/", 2),
        ("lets/{let}/party/", 3),
        ("fisheries/{slug}/letting-policy/", 3),
        ("lets/{let}/money/", 12),
        ("lets/{let}/permit/?format=txt", 8),
        ("guests/{guest}/statement/", 6),
        ("guests/{guest}/statement/?format=pdf", 6),
        ("fisheries/{slug}/terms/", 3),
        ("fisheries/{slug}/takings/?year=2026", 7),
        ("feeds/feed-{slug}.ics", 13),
        ("rotas/{rota}/", 10),
        ("rota-jobs/{job}/", 2),
        ("rotas/{rota}/picture/", 4),
        ("pools/{pool}/pace/", 3),
        ("outings/{outing}/", 2),
        ("catches/{catch}/", 2),
        ("alarms/{alarm}/", 4),
        ("alarms/{alarm}/card/", 7),
        ("beats/{beat}/watch-policy/", 2),
        ("recalls/{recall}/", 3),
        ("incidents/{incident}/", 2),
        ("incidents/{incident}/file/", 2),
        ("guests/{guest}/record/2026/", 6),
        ("fisheries/{slug}/season-report/2026/", 32),
    ],
)
def test_one_thing_asks_a_fixed_number_of_questions(django_assert_num_queries, path, count):
    world = build()
    client = client_of(world.people["owner"])
    with django_assert_num_queries(count):
        response = client.get(f"/api/v1/{path.format(**world.ids())}")
    assert response.status_code == 200


FREE = {
    "letting-seasons/": 3,
    "month/?month=2026-05": 7,
    "month/?month=2026-05&format=html": 7,
    "availability/?first_on=2026-05-01&last_on=2026-06-30": 7,
    "openings/?first_on=2026-04-01&last_on=2026-09-30&days=4&rods=3": 5,
}


@pytest.mark.parametrize("rows", [1, 30])
@pytest.mark.parametrize("path", FREE)
def test_what_is_free_asks_as_much_for_thirty_beats(django_assert_num_queries, beat, owner, path, rows):
    for number in range(rows - 1):
        RodDayFactory(let__beat=BeatFactory(fishery=beat.fishery), rod=1)
        LettingSeasonFactory(fishery=beat.fishery, year=2100 + number)
    client = client_of(owner)
    with django_assert_num_queries(FREE[path]):
        response = client.get(f"/api/v1/fisheries/{beat.fishery.slug}/{path}")
    assert response.status_code == 200


@pytest.mark.parametrize("rows", [1, 30])
def test_a_rota_asks_four_questions_however_many_turns_it_has(django_assert_num_queries, beat, owner, rows):
    rota = RotaFactory(beat=beat)
    part = DayPartFactory(fishery=beat.fishery)
    for _ in range(rows):
        TurnFactory(rota=rota, part=part, guest=GuestFactory(fishery=beat.fishery))
    client = client_of(owner)
    with django_assert_num_queries(4):
        response = client.get(f"/api/v1/rotas/{rota.pk}/")
    assert len(response.json()["turns"]) == rows


@pytest.mark.parametrize("rows", [1, 30])
def test_turns_of_today_and_later_ask_once_for_each_beats_day(django_assert_num_queries, beat, owner, rows):
    """The list, pools, beats, people, who is out, the beat's day, what is called off or closed, and the law."""
    rota = RotaFactory(beat=beat)
    part = DayPartFactory(fishery=beat.fishery, starts=dt.time(0), ends=dt.time(23, 59, 59))
    today = local_day(beat.fishery, timezone.now())
    for day in (today, today + DAY):
        for _ in range(rows):
            TurnFactory(rota=rota, part=part, day=day, guest=GuestFactory(fishery=beat.fishery))
    client = client_of(owner)
    with django_assert_num_queries(13):
        response = client.get("/api/v1/turns/", {"page_size": 100})
    assert len(response.json()["results"]) == 2 * rows


@pytest.mark.parametrize("rows", [1, 30])
def test_a_beats_day_asks_three_questions_however_many_pools_it_has(django_assert_num_queries, beat, rows):
    beat = full_day(beat, rows)
    with django_assert_num_queries(3):
        told = conditions(beat, day=None, now=NOON)
    assert [pool.flow.why_not for pool in told.pools] == [""] * rows
    assert (len(told.tide.waters), told.wind.mps, told.pools[0].closed) == (4, 5.0, "tree down")


def test_a_gauge_silent_since_yesterday_began_costs_no_more_queries(django_assert_num_queries, beat):
    beat.gauge = GaugeFactory(fishery=beat.fishery)
    beat.save()
    ReadingFactory(gauge=beat.gauge, at=NOON - 3 * DAY)
    with django_assert_num_queries(3):
        told = conditions(beat, day=None, now=NOON)
    assert told.level.age_minutes == 3 * 24 * 60


def full_day(beat, rows):
    """The beat with everything about NOON that can be known, and something of another beat's that could leak."""
    for number, water in enumerate((beat, BeatFactory(fishery=beat.fishery))):
        water.gauge, water.tidal = GaugeFactory(fishery=beat.fishery), True
        water.save()
        for n in range(8):
            ReadingFactory(gauge=water.gauge, at=NOON - n * DAY / 96, level_m=0.6 + number, water_c=9.0)
            kind = ("high", "low")[n % 2]
            TideWaterFactory(beat=water, at=NOON + (n - 4) * DAY / 4, kind=kind, height_m=4.0 - 3 * (n % 2))
        ObservationFactory(beat=water, wind_mps=5.0 + number)
        pools = PoolFactory.create_batch(rows, beat=water, reference_level_m=0.6)
        PoolClosureFactory(pool=pools[0], from_on=NOON.date(), to_on=NOON.date())
    return Beat.objects.select_related("fishery", "gauge").get(pk=beat.pk)


SHEETS = {"sheet/?format=html": 7, "sheet/?format=pdf": 7, "sheet/?format=csv": 7, "calendar/?rod=1": 5}


@pytest.mark.parametrize("rows", [1, 30])
@pytest.mark.parametrize("path", SHEETS)
def test_a_sheet_and_a_calendar_ask_as_much_for_thirty_turns(django_assert_num_queries, beat, owner, path, rows):
    rota = RotaFactory(beat=beat, status="published")
    part = DayPartFactory(fishery=beat.fishery)
    for number in range(rows):
        TurnFactory(rota=rota, part=part, guest=GuestFactory(), rod=1, day=rota.first_on + number * DAY)
    client = client_of(owner)
    with django_assert_num_queries(SHEETS[path]):
        response = client.get(f"/api/v1/rotas/{rota.pk}/{path}")
    assert response.status_code == 200


@pytest.mark.parametrize("rows", [1, 30])
def test_a_return_asks_thirteen_questions_however_much_was_caught(django_assert_num_queries, beat, owner, rows):
    year = timezone.now().year
    CatchFactory.create_batch(rows, beat=beat, caught_on=dt.date(year, 5, 4))
    outings(beat, owner, rows)
    client = client_of(owner)
    with django_assert_num_queries(13):
        response = client.get(f"/api/v1/fisheries/{beat.fishery.slug}/returns/{year}/")
    assert response.json()["totals"]["released"]["msw"]["number"] == rows


@pytest.mark.parametrize("rows", [1, 30])
def test_the_board_asks_as_much_for_thirty_rods_as_for_one(django_assert_num_queries, beat, owner, rows):
    for _ in range(rows):
        call = RecallCallFactory(recall__beat=BeatFactory(fishery=beat.fishery))
        AlarmFactory(outing=call.outing)
        AreaWarningFactory(fishery=beat.fishery)
        AnglerMessageFactory(fishery=beat.fishery, outing=call.outing, received_at=timezone.now())
    beat_pulse("sweep", now=timezone.now())
    client = client_of(owner)
    with django_assert_num_queries(27):
        response = client.get(f"/api/v1/fisheries/{beat.fishery.slug}/board/")
    assert len(response.json()["rods"]) == rows
