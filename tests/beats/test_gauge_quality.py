"""No one is reassured by a fault of the gauge: through the API, the pages, the conditions and the recalls."""

import datetime as dt
import html

import pytest
from django.test import Client
from django.utils import timezone

from beats.models import AuditEntry, Gauge, Reading
from beats.queries import warnings_now
from beats.services.levels import note_readings
from beats.water.changes import Kind
from beats.water.feeds.levels import Level
from safety.models import Recall
from safety.services.conditions import look_at_water
from tests.factories import (
    BeatFactory,
    GaugeFactory,
    OutingFactory,
    PoolFactory,
    ReadingFactory,
    client_of,
    keeper,
)

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)
HOUR = 60 * MINUTE
USUAL = "usual care"


@pytest.fixture
def beat():
    made = BeatFactory()
    made.gauge = GaugeFactory(fishery=made.fishery, name="Bridge", typical_low_m=0.3, typical_high_m=1.4)
    made.save()
    PoolFactory(beat=made, wading_grade=3, reference_level_m=0.6, depth_m=0.3, velocity_mps=0.3, level_max_m=1.2)
    return made


@pytest.fixture
def api(beat):
    return client_of(keeper(beat.fishery, "ghillie"))


@pytest.fixture
def page(beat):
    browser = Client()
    browser.force_login(keeper(beat.fishery, "ghillie"))
    return browser


def read(beat, *readings):
    """(minutes ago, metres), as a feed brings them; one at a time."""
    for ago, level_m in readings:
        note_readings(
            beat.gauge, [Level(timezone.now() - ago * MINUTE, level_m)], source="feed", by=None, now=timezone.now()
        )
    beat.gauge.refresh_from_db()


def now_at(api, beat):
    answer = api.get(f"/api/v1/beats/{beat.pk}/conditions/", {"alone": "false"})
    assert answer.status_code == 200
    told = answer.json()
    return told["level"], told["pools"][0]


def text(answer):
    return html.unescape(answer.content.decode())


class TestFallsAndSilences:
    def test_ten_metres_a_silence_and_half_a_metre(self, api, beat):
        ReadingFactory(gauge=beat.gauge, at=timezone.now() - 91 * MINUTE, level_m=10.0)
        read(beat, (1, 0.5))
        level, pool = now_at(api, beat)
        assert (level["trusted"], level["trust"], level["unconfirmed"]) == (False, "unconfirmed", "after_silence")
        assert (level["level_m"], level["assumed_m"]) == (0.5, 10.0)
        assert pool["wading"]["grade"] == "stay out"
        assert pool["window"]["standing"] == "above"
        assert "Not confirmed yet: assume 10.00 m." in level["words"]

    def test_a_fall_of_two_metres_in_a_quarter_of_an_hour(self, api, beat):
        read(beat, (46, 2.3), (31, 2.5), (16, 2.5), (1, 0.51))
        level, pool = now_at(api, beat)
        assert (level["trusted"], level["unconfirmed"], level["assumed_m"]) == (False, "fall_step", 2.5)
        assert level["rise_m_per_h"] is None
        assert pool["wading"]["grade"] == "stay out"
        assert Kind.UNCONFIRMED in {each.kind for each in warnings_now(beat, timezone.now())}

    def test_the_fall_is_believed_once_two_readings_agree(self, api, beat):
        read(beat, (61, 2.5), (46, 2.5), (31, 0.51), (16, 0.5), (1, 0.5))
        level, pool = now_at(api, beat)
        assert (level["trusted"], level["trust"], level["assumed_m"]) == (True, "fresh", 0.5)
        assert pool["window"]["standing"] == "within"

    def test_a_keeper_who_vouches_is_enough(self, api, beat):
        read(beat, (16, 2.5), (1, 0.51))
        newest = beat.gauge.readings.latest("at")
        assert (
            api.post(f"/api/v1/readings/{newest.pk}/trust/", {"trusted": True}, format="json").status_code == 200
        )
        level, _ = now_at(api, beat)
        assert (level["trusted"], level["assumed_m"]) == (True, 0.51)

    def test_silence_does_not_take_back_stay_out(self, api, beat):
        read(beat, (95, 3.0), (80, 3.0))
        level, pool = now_at(api, beat)
        assert level["trust"] == "stale"
        assert pool["wading"]["grade"] == "stay out"
        assert pool["window"]["standing"] == "above"

    def test_one_reading_back_in_line_after_a_fault_is_not_enough(self, api, beat):
        read(beat, (31, 0.5), (16, 3.5), (1, 0.5))
        level, pool = now_at(api, beat)
        assert level["trust"] == "distrusted"
        assert pool["wading"]["grade"] == "not known"


class TestRecalls:
    @pytest.fixture
    def angler(self, beat):
        beat.watch_policy = {"recall_level_m": 1.5, "recall_band_m": 0.1}
        beat.save()
        late = timezone.now() + 9 * HOUR
        return OutingFactory(beat=beat, due_back_at=late, alarm_at=late)

    def standing(self, beat):
        look_at_water(now=timezone.now())
        return set(Recall.objects.filter(beat=beat, ended_at__isnull=True).values_list("cause", flat=True))

    def test_an_unconfirmed_fall_ends_no_recall_and_a_confirmed_one_does(self, beat, angler):
        read(beat, (65, 2.5), (50, 2.5))
        assert self.standing(beat) == {"level", "pool"}
        read(beat, (35, 0.5))
        assert self.standing(beat) == {"level", "pool"}
        read(beat, (20, 0.5))
        assert self.standing(beat) == {"level", "pool"}
        read(beat, (5, 0.5))
        assert self.standing(beat) == set()

    def test_a_silence_ends_no_recall(self, beat, angler):
        read(beat, (300, 2.5), (285, 2.5))
        Recall.objects.all().delete()
        read(beat, (200, 2.5))
        look_at_water(now=timezone.now() - 200 * MINUTE)
        assert self.standing(beat) == {"level", "pool"}
        read(beat, (1, 0.5))
        assert self.standing(beat) == {"level", "pool"}

    def test_a_high_level_after_a_silence_calls_at_once(self, beat, angler):
        read(beat, (200, 0.5), (1, 2.4))
        assert self.standing(beat) == {"level", "pool"}

    def test_a_spike_calls_no_one_and_a_wave_that_stays_does(self, beat, angler):
        read(beat, (46, 0.5), (31, 3.5))
        assert self.standing(beat) == set()
        read(beat, (16, 3.6))
        assert beat.gauge.readings.latest("at").trusted is False
        assert self.standing(beat) == {"level"}

    def test_a_correction_by_a_keeper_is_followed_at_the_next_look(self, beat, angler, api):
        read(beat, (61, 0.5), (46, 0.5), (31, 0.5), (16, 0.5))
        answer = api.post(
            f"/api/v1/gauges/{beat.gauge_id}/readings/", {"level_m": 5.2, "confirmed": True}, format="json"
        )
        assert answer.status_code == 201
        assert self.standing(beat) == {"level", "pool", "rise"}
        wrong = answer.json()["id"]
        assert api.post(f"/api/v1/readings/{wrong}/correct/", {"level_m": 0.52}, format="json").status_code == 200
        assert self.standing(beat) == set()


class TestStuck:
    def test_thirty_hours_flat_are_no_usual_care(self, api, beat):
        for n in range(4 * 30):
            ReadingFactory(gauge=beat.gauge, at=timezone.now() - (1 + 15 * n) * MINUTE, level_m=0.62)
        level, pool = now_at(api, beat)
        assert level["flat_for_hours"] >= 23
        assert pool["wading"]["grade"] != USUAL
        assert any("may be stuck" in each["sentence"] for each in pool["wading"]["cautions"])
        assert Kind.STUCK in {each.kind for each in warnings_now(beat, timezone.now())}

    def test_where_the_river_always_varied_it_is_not_trusted_until_a_keeper_says_so(self, api, page, beat):
        now = timezone.now()
        month = [Level(now - (1 + 15 * n) * MINUTE, 0.6 + 0.01 * (n % 7)) for n in range(4 * 31, 96 * 25)]
        flat = [Level(now - (1 + 15 * n) * MINUTE, 0.62) for n in range(4 * 31)]
        note_readings(beat.gauge, month + flat, source="logger", by=None, now=now)
        level, pool = now_at(api, beat)
        assert (level["trusted"], level["trust"], level["unconfirmed"]) == (False, "stuck", "stuck")
        assert pool["wading"]["grade"] == "not known"
        levels = f"/at/{beat.fishery.slug}/level/"
        assert "The same level for 30 hours: the gauge may be stuck." in text(page.get(levels))
        newest = beat.gauge.readings.latest("at")
        assert page.post(f"{levels}{newest.pk}/", {"trusted": "yes"}).status_code == 303
        level, pool = now_at(api, beat)
        assert (level["trusted"], level["flat_for_hours"]) == (True, None)


class TestEntering:
    def test_sixty_two_typed_for_point_six_two(self, page, beat, api):
        """The page asks for a second step, shows what was understood, and stores nothing before."""
        read(beat, (31, 1.84), (16, 1.7), (1, 1.6))
        address = f"/at/{beat.fishery.slug}/level/"
        typed = {"gauge": beat.gauge_id, "level_m": "62", "ago": "0"}
        asked = page.post(address, typed)
        assert asked.status_code == 422
        sentence = "62.00 m was understood. The highest reading at Bridge so far is 1.84 m. Did you mean 0.62 m?"
        assert sentence in text(asked)
        assert "Yes, 62.00 m is right" in text(asked)
        assert beat.gauge.readings.filter(level_m=62).count() == 0
        assert page.post(address, typed | {"confirmed": "6.2"}).status_code == 422  # not what was shown
        assert page.post(address, typed | {"confirmed": "62"}).status_code == 303
        stored = beat.gauge.readings.get(level_m=62)
        assert (stored.trusted, stored.judged_by_id) == (True, stored.by_id)

        corrected = {"level_m": "0.62", "shown_m": "62"}
        for _ in range(2):  # a second tap
            assert page.post(f"{address}{stored.pk}/", corrected).status_code == 303
        stored.refresh_from_db()
        assert (stored.level_m, stored.trusted) == (0.62, True)
        entry = AuditEntry.objects.get(verb="correct reading")
        assert (entry.before["level_m"], entry.after["level_m"], entry.by_id) == (62.0, 0.62, stored.judged_by_id)
        level, _ = now_at(api, beat)
        assert (level["level_m"], level["trusted"]) == (0.62, True)
        beat.gauge.refresh_from_db()
        assert beat.gauge.highest_m == 1.84

    def test_a_correction_within_the_minute_frees_what_came_after(self, api, beat):
        read(beat, (46, 0.6))
        post = f"/api/v1/gauges/{beat.gauge_id}/readings/"
        at = (timezone.now() - 31 * MINUTE).isoformat()
        wrong = api.post(post, {"level_m": 6.2, "at": at, "confirmed": True}, format="json").json()["id"]
        read(beat, (16, 0.62), (1, 0.63))
        assert [one.trusted for one in beat.gauge.readings.order_by("at")] == [None, True, False, False]
        assert api.post(f"/api/v1/readings/{wrong}/correct/", {"level_m": 0.62}, format="json").status_code == 200
        assert [one.trusted for one in beat.gauge.readings.order_by("at")] == [None, True, None, None]
        assert now_at(api, beat)[0]["trust"] == "fresh"

    def test_distrusting_a_reading_takes_it_out_at_once(self, api, page, beat):
        read(beat, (16, 0.6), (1, 2.4))
        newest = beat.gauge.readings.latest("at")
        address = f"/at/{beat.fishery.slug}/level/{newest.pk}/"
        for _ in range(2):
            assert page.post(address, {"trusted": "no"}).status_code == 303
        assert AuditEntry.objects.filter(verb="judge reading").count() == 1
        level, _ = now_at(api, beat)
        assert (level["level_m"], level["age_minutes"]) == (0.6, 16)
        assert "Not trusted: a keeper took it out." in text(page.get(f"/at/{beat.fishery.slug}/level/"))

    def test_another_keepers_correction_is_not_overwritten_unseen(self, page, beat):
        read(beat, (1, 0.6))
        newest = beat.gauge.readings.latest("at")
        address = f"/at/{beat.fishery.slug}/level/{newest.pk}/"
        assert page.post(address, {"level_m": "0.7", "shown_m": "0.6"}).status_code == 303
        answer = page.post(address, {"level_m": "0.8", "shown_m": "0.6"})
        assert answer.status_code == 422
        assert "corrected to 0.70 m meanwhile" in text(answer)

    def test_the_api_refuses_with_a_code_and_takes_a_confirmation(self, api, beat):
        read(beat, (31, 1.84), (1, 0.6))
        address = f"/api/v1/gauges/{beat.gauge_id}/readings/"
        answer = api.post(address, {"level_m": 62}, format="json")
        assert (answer.status_code, answer.json()["type"]) == (422, "/api/v1/problems/level-outside-history")
        assert list(answer.json()["errors"]) == ["level_m"]
        assert beat.gauge.readings.count() == 2
        answer = api.post(address, {"level_m": 62, "confirmed": True}, format="json")
        assert (answer.status_code, answer.json()["trusted"]) == (201, True)

    def test_one_reading_is_no_history_yet(self, api, beat):
        Gauge.objects.update(typical_low_m=None, typical_high_m=None)
        address = f"/api/v1/gauges/{beat.gauge_id}/readings/"
        before = (timezone.now() - 91 * MINUTE).isoformat()
        assert api.post(address, {"level_m": 10.0, "at": before}, format="json").status_code == 201
        assert api.post(address, {"level_m": 0.5}, format="json").status_code == 201
        level, pool = now_at(api, beat)
        assert (level["trusted"], level["unconfirmed"], level["assumed_m"]) == (False, "after_silence", 10.0)
        assert pool["wading"]["grade"] == "stay out"
        assert api.post(address, {"level_m": 62}, format="json").status_code == 422

    def test_many_by_a_keeper_are_refused_whole_and_named(self, api, beat):
        read(beat, (61, 1.84), (46, 0.6))
        some = [{"at": (timezone.now() - n * MINUTE).isoformat(), "level_m": m} for n, m in ((20, 0.6), (1, 62))]
        address = f"/api/v1/gauges/{beat.gauge_id}/readings/many/"
        answer = api.post(address, {"readings": some}, format="json")
        assert (answer.status_code, list(answer.json()["errors"])) == (422, ["readings.1.level_m"])
        assert beat.gauge.readings.count() == 2
        assert api.post(address, {"readings": some, "confirmed": True}, format="json").json()["added"] == 2
        assert beat.gauge.readings.get(level_m=62).trusted is True

    @pytest.mark.parametrize("source", ["feed", "logger", "csv"])
    def test_a_machine_s_level_is_kept_and_shown_to_no_guest(self, source, api, beat):
        read(beat, (120, 0.6), (105, 0.6))
        note_readings(beat.gauge, [Level(timezone.now(), 62.0)], source=source, by=None, now=timezone.now())
        assert beat.gauge.readings.get(level_m=62).trusted is False
        level, pool = now_at(api, beat)
        assert (level["level_m"], level["trust"]) == (None, "distrusted")
        assert "62" not in level["words"]
        assert pool["wading"]["grade"] == "not known"

    def test_a_level_kept_in_the_phone_is_not_lost(self, page, beat):
        read(beat, (120, 0.6), (105, 0.6))
        typed = {"gauge": beat.gauge_id, "level_m": "62", "ago": "0", "said_age_s": "1200"}
        assert page.post(f"/at/{beat.fishery.slug}/level/", typed).status_code == 303
        assert beat.gauge.readings.get(level_m=62).trusted is False

    def test_a_guest_can_correct_nothing(self, beat):
        read(beat, (1, 0.6))
        newest = beat.gauge.readings.latest("at")
        guest = client_of(keeper(beat.fishery, "guest"))
        answer = guest.post(f"/api/v1/readings/{newest.pk}/correct/", {"level_m": 0.4}, format="json")
        assert answer.status_code == 403


def test_a_flood_that_climbs_past_all_history_is_believed(beat):
    """4.5 m in three hours, where the gauge had never shown more than 0.62 m."""
    read(beat, *((15 * n, 0.62) for n in range(20, 12, -1)))
    read(beat, *((15 * (12 - n), 0.62 + 0.375 * n) for n in range(13)))
    assert not Reading.objects.filter(trusted=False).exists()
    assert Gauge.objects.get(pk=beat.gauge_id).highest_m == pytest.approx(5.12)
