"""The water of a day through the service: what keepers write, what everybody is told, what it looks like."""

import datetime as dt
import json

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone
from openapi_schema_validator import OAS31Validator
from referencing import Registry
from referencing.jsonschema import DRAFT202012

from beats import queries
from beats.conditions import DepthNotKnown, conditions, section_today
from beats.models import AuditEntry, Beat, Observation, Pool, Reading, TideWater
from beats.services.levels import note_readings
from beats.services.observations import NotYetSeen, note_observation
from beats.services.tides import import_tides
from beats.services.trust import judge_reading
from beats.shared.plain import plain
from beats.shared.refusals import NotYours
from beats.water.changes import Kind
from beats.water.feeds.levels import Level
from beats.water.limits import Grade
from beats.water.tide_table import FaultyTideTable
from beats.water.trend import Band
from tests.api_document import the_document
from tests.factories import (
    NOON,
    BeatFactory,
    GaugeFactory,
    ObservationFactory,
    PoolFactory,
    ReadingFactory,
    TideWaterFactory,
    client_of,
    keeper,
)

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)
QUARTER = 15 * MINUTE
TIDES = """at,height_m,kind
2026-05-06T05:00Z,1.0,low
2026-05-06T11:10Z,4.2,high
2026-05-06T17:20Z,0.9,low
2026-05-06T23:30Z,4.1,high
"""


@pytest.fixture
def beat():
    fishery_beat = BeatFactory(tidal=True)
    fishery_beat.gauge = GaugeFactory(fishery=fishery_beat.fishery, name="Bridge")
    fishery_beat.save()
    PoolFactory(beat=fishery_beat, reference_level_m=0.6, depth_m=0.5, velocity_mps=0.5, cut_off_above_m=3.5)
    return Beat.objects.select_related("fishery", "gauge").get(pk=fishery_beat.pk)


@pytest.fixture
def ghillie(beat):
    return keeper(beat.fishery, "ghillie")


def fill(beat, *metres, until=NOON):
    """Levels sent one by one, a quarter of an hour apart, the last at `until`."""
    for n, level_m in enumerate(metres):
        at = until - (len(metres) - 1 - n) * QUARTER
        note_readings(beat.gauge, [Level(at, level_m)], source="feed", by=None, now=until)


def marks(beat):
    return list(beat.gauge.readings.order_by("at").values_list("level_m", "trusted"))


def pool_now(beat, now=NOON):
    return conditions(beat, day=None, now=now).pools[0]


class TestJumps:
    def test_a_jump_is_kept_and_flagged_and_not_waded_by(self, beat):
        fill(beat, 0.6, 0.6, 10.6)
        assert marks(beat) == [(0.6, None), (0.6, None), (10.6, False)]
        assert pool_now(beat).wading.grade is Grade.NOT_KNOWN

    def test_the_mark_outlives_the_hours_that_are_looked_at(self, beat):
        fill(beat, 0.6)
        for hours in (0.25, 4, 8):
            fill(beat, 10.6, until=NOON + dt.timedelta(hours=hours))
        assert [trusted for _, trusted in marks(beat)] == [None, False, False, False]
        later = NOON + dt.timedelta(hours=8)
        assert conditions(beat, day=None, now=later).level.trust == "distrusted"

    def test_many_at_once_are_marked_like_one_by_one_in_any_order(self, beat):
        levels = [Level(NOON + n * QUARTER, level_m) for n, level_m in enumerate((0.6, 10.6, 10.7, 0.7))]
        note_readings(beat.gauge, levels[::-1], source="feed", by=None, now=NOON)
        assert marks(beat) == [(0.6, None), (10.6, False), (10.7, False), (0.7, None)]

    def test_a_level_back_in_line_is_believed_again(self, beat):
        fill(beat, 0.6, 10.6, 0.7, 0.7, 0.7)
        assert pool_now(beat).flow.depth_m == 0.6

    def test_what_counts_as_a_jump_is_the_gauges_own(self, beat):
        beat.gauge.jump_m = 0.5
        beat.gauge.save()
        fill(beat, 0.6, 1.2)
        assert marks(beat) == [(0.6, None), (1.2, False)]

    def test_a_keeper_who_vouches_for_a_jump_clears_what_follows_from_it(self, beat, ghillie):
        fill(beat, 0.6, 3.6, 3.7, 3.8)
        first = beat.gauge.readings.get(level_m=3.6)
        judge_reading(first, trusted=True, by=ghillie, now=NOON)
        assert marks(beat) == [(0.6, None), (3.6, True), (3.7, None), (3.8, None)]
        assert pool_now(beat).flow.depth_m == pytest.approx(3.7)
        entry = AuditEntry.objects.get(verb="judge reading")
        assert (entry.before, entry.after) == ({"trusted": False}, {"trusted": True, "marks_taken_back": 2})

    def test_a_keepers_distrust_stands_whatever_another_vouches_for(self, beat, ghillie):
        fill(beat, 0.6, 3.6, 3.7)
        judge_reading(beat.gauge.readings.get(level_m=3.7), trusted=False, by=ghillie, now=NOON)
        judge_reading(beat.gauge.readings.get(level_m=3.6), trusted=True, by=ghillie, now=NOON)
        assert marks(beat) == [(0.6, None), (3.6, True), (3.7, False)]

    def test_the_same_word_twice_leaves_one_trace(self, beat, ghillie):
        reading = ReadingFactory(gauge=beat.gauge, at=NOON)
        for _ in range(2):
            judge_reading(reading, trusted=False, by=ghillie, now=NOON)
        assert AuditEntry.objects.filter(verb="judge reading").count() == 1

    def test_a_guest_may_not_judge(self, beat):
        reading = ReadingFactory(gauge=beat.gauge, at=NOON)
        with pytest.raises(NotYours):
            judge_reading(reading, trusted=True, by=keeper(beat.fishery, "guest"), now=NOON)
        assert Reading.objects.get().trusted is None


class TestTides:
    def take(self, beat, text, by=None):
        return import_tides(beat, text.encode(), by=by or keeper(beat.fishery), now=NOON)

    def test_a_table_goes_in_and_the_day_tells_it(self, beat):
        found = self.take(beat, TIDES)
        assert (found.waters, found.changed) == (4, 4)
        told = conditions(beat, day=None, now=NOON).tide
        assert [(each.kind, each.height_m) for each in told.waters] == [
            ("low", 1.0), ("high", 4.2), ("low", 0.9),
        ]  # fmt: skip
        assert told.height_m == pytest.approx(4.19, abs=0.01)

    def test_the_same_file_again_changes_nothing(self, beat):
        self.take(beat, TIDES)
        assert self.take(beat, TIDES).changed == 0
        assert AuditEntry.objects.filter(verb="import tides").count() == 1

    def test_a_mended_file_replaces_its_span_and_nothing_else(self, beat):
        kept = TideWaterFactory(beat=beat, at=NOON - dt.timedelta(days=9), kind="high")
        other = TideWaterFactory(at=NOON)
        self.take(beat, TIDES)
        assert self.take(beat, TIDES.replace("4.2", "4.3")).changed == 1
        heights = list(beat.tide_waters.order_by("at").values_list("height_m", flat=True))
        assert heights == [kept.height_m, 1.0, 4.3, 0.9, 4.1]
        assert TideWater.objects.filter(pk=other.pk).exists()

    @pytest.mark.parametrize(
        ("written", "instead", "says"),
        [
            ("17:20Z,0.9,low", "17:20Z,4.3,high", ["line 4: two high waters in a row"]),
            ("4.2", "nan", ["line 3: height_m: 'nan' is no number"]),
            ("4.2", "13 ft", ["line 3: height_m: '13 ft' is no number"]),
            ("05:00Z,1.0,low", "25:00Z,99,ebb", ["line 2: at:", "line 2: kind: 'ebb' is neither"]),
            ("at,height_m,kind", "when,height", ["line 1: the first line names the columns"]),
            ("low", "🐟", ["'🐟' is neither. Write high or low"]),
        ],
    )
    def test_a_faulty_file_is_refused_row_by_row_and_nothing_is_written(self, beat, written, instead, says):
        with pytest.raises(FaultyTideTable) as refused:
            self.take(beat, TIDES.replace(written, instead))
        assert [text for text in says if text not in refused.value.sentence] == []
        assert TideWater.objects.count() == 0

    def test_a_file_that_does_not_join_on_to_what_stands_is_refused(self, beat):
        self.take(beat, TIDES)
        more = "at,height_m,kind\n2026-05-07T05:40Z,4.0,high\n2026-05-07T11:50Z,1.1,low\n"
        with pytest.raises(FaultyTideTable, match="its first water does not join on"):
            self.take(beat, more)
        assert beat.tide_waters.count() == 4

    def test_bytes_that_are_no_text_are_refused_over_the_wire(self, beat):
        client = client_of(keeper(beat.fishery))
        path = f"/api/v1/beats/{beat.pk}/tides/import/"
        answer = client.generic("POST", path, b"\xff\xfe", content_type="text/csv")
        assert (answer.status_code, answer.json()["type"]) == (422, "/api/v1/problems/faulty-tide-table")


class TestObservations:
    def path(self, beat):
        return f"/api/v1/beats/{beat.pk}/observations/"

    def test_what_a_ghillie_saw_is_told_with_its_age(self, beat, ghillie):
        note_observation(beat, facts={"clarity": "coloured"}, at=NOON - 40 * MINUTE, by=ghillie, now=NOON)
        told = conditions(beat, day=None, now=NOON).water
        assert (told.clarity, told.clarity_age_minutes, told.clarity_by) == ("coloured", 40, ghillie.name)

    def test_the_same_request_again_is_the_same_note(self, beat, ghillie):
        client = client_of(ghillie)
        body, key = {"thunder": True}, {"HTTP_IDEMPOTENCY_KEY": "one-key-of-mine"}
        first, second = (client.post(self.path(beat), body, format="json", **key) for _ in range(2))
        assert (first.status_code, second.status_code, first.json()) == (201, 200, second.json())
        assert Observation.objects.count() == 1

    @pytest.mark.parametrize(
        ("body", "field"),
        [
            ({}, "request"),
            ({"at": "2026-05-04T09:00Z"}, "request"),
            ({"wind_mps": 5}, "wind_from_deg"),
            ({"wind_from_deg": 90}, "wind_mps"),
            ({"wind_from_deg": 361, "wind_mps": 5}, "wind_from_deg"),
            ({"wind_from_deg": 90, "wind_mps": -1}, "wind_mps"),
            ({"clarity": "gin"}, "clarity"),
            ({"water_c": 68}, "water_c"),
            ({"water_c": "cold"}, "water_c"),
            ({"thunder": "💥"}, "thunder"),
        ],
    )
    def test_what_cannot_be_is_refused_by_its_field(self, beat, ghillie, body, field):
        answer = client_of(ghillie).post(self.path(beat), body, format="json")
        assert (answer.status_code, list(answer.json()["errors"])) == (400, [field])
        assert Observation.objects.count() == 0

    def test_nothing_is_noted_of_what_is_still_to_come(self, beat, ghillie):
        with pytest.raises(NotYetSeen):
            note_observation(beat, facts={"thunder": True}, at=NOON + 3 * MINUTE, by=ghillie, now=NOON)

    def test_the_database_wants_something_said_and_a_whole_wind(self):
        for facts in ({"wind_from_deg": None, "wind_mps": None}, {"wind_mps": None}, {"water_c": 41.0}):
            with pytest.raises(IntegrityError), transaction.atomic():
                ObservationFactory(**facts)


class TestTold:
    def test_the_answer_is_shaped_as_the_document_says(self, beat, ghillie):
        fill(beat, *[0.6] * 4)
        seen = {"wind_from_deg": 240.0, "wind_mps": 6.0, "clarity": "clear", "water_c": 12.0}
        note_observation(beat, facts=seen, at=NOON, by=ghillie, now=NOON)
        import_tides(beat, TIDES.encode(), by=ghillie, now=NOON)
        Pool.objects.update(features=["croys"], tackle_words={"fly": {"text": "a tube", "by": "Una"}})
        for day in (None, dt.date(2026, 5, 10)):
            told = plain(conditions(beat, day=day, now=NOON))
            assert faults_of(json.loads(json.dumps(told, default=lambda at: at.isoformat()))) == []

    def test_an_answer_of_another_shape_would_be_found_out(self, beat):
        body = json.loads(
            json.dumps(plain(conditions(beat, day=None, now=NOON)), default=lambda at: at.isoformat())
        )
        broken = [body | {"safe": True}, body | {"day": 5}, {k: v for k, v in body.items() if k != "pools"}]
        broken.append(body | {"pools": [body["pools"][0] | {"flow": None}]})
        assert [len(faults_of(each)) for each in broken] == [1, 1, 1, 1]

    def test_a_published_station_stands_within_its_range(self, beat):
        # Environment Agency flood-monitoring API, station 1029TH: 0.076 m, typical range 0.068 to 0.42 m.
        beat.gauge.typical_low_m, beat.gauge.typical_high_m = 0.068, 0.42
        beat.gauge.save()
        fill(beat, 0.076)
        level = conditions(beat, day=None, now=NOON).level
        assert (level.level_m, level.band) == (0.076, Band.WITHIN)

    def test_the_one_who_asks_is_answered_for_themselves(self, beat):
        client = client_of(keeper(beat.fishery, "guest"))
        asked = {"alone": "true", "wading_grade": "0", "hand": "left", "wader": "frail"}
        body = client.get(f"/api/v1/beats/{beat.pk}/conditions/", asked).json()
        assert body["asked_for"] == {
            "wader": "small child or frail person", "wading_grade": 0, "alone": True, "new_here": False,
            "hand": "left",
        }  # fmt: skip

    @pytest.mark.parametrize(
        "asked",
        [{"hand": "both"}, {"wading_grade": "4"}, {"wader": "dog"}, {"alone": "perhaps"}, {"grade": "1"}],
    )
    def test_a_question_that_makes_no_sense_is_refused(self, beat, asked):
        client = client_of(keeper(beat.fishery))
        answer = client.get(f"/api/v1/beats/{beat.pk}/conditions/", asked)
        assert (answer.status_code, list(answer.json()["errors"])) == (400, list(asked))

    def test_nothing_of_another_beat_gets_in(self, beat):
        fill(beat, 0.6)
        other = BeatFactory(fishery=beat.fishery, gauge=GaugeFactory(fishery=beat.fishery), tidal=True)
        before = conditions(beat, day=None, now=NOON)
        ReadingFactory(gauge=other.gauge, at=NOON, level_m=9.0)
        PoolFactory(beat=other)
        ObservationFactory(beat=other, clarity="coloured")
        TideWaterFactory(beat=other)
        assert conditions(beat, day=None, now=NOON) == before

    def test_a_retired_pool_is_not_told_of(self, beat):
        PoolFactory(beat=beat, retired=True)
        assert [pool.name for pool in conditions(beat, day=None, now=NOON).pools] == [Pool.objects.first().name]

    def test_warnings_are_true_as_often_as_they_are_asked(self, beat):
        Beat.objects.update(rise_m_per_h=0.2)
        rising = Beat.objects.select_related("fishery", "gauge").get(pk=beat.pk)
        fill(rising, *[0.4 + n * 0.1 for n in range(5)])
        looks = [queries.warnings_now(rising, NOON) for _ in range(2)]
        assert looks[0] == looks[1]
        assert [warning.kind for warning in looks[0]] == [Kind.RISING, Kind.TIDE_NOT_KNOWN]


class TestSection:
    def test_it_is_a_picture_that_tells_depth_tip_and_the_levels_age(self, beat):
        fill(beat, 0.8, until=timezone.now() - 5 * MINUTE)
        answer = client_of(keeper(beat.fishery)).get(f"/api/v1/pools/{Pool.objects.get().pk}/section/")
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml; charset=utf-8")
        assert answer["Content-Security-Policy"] == "default-src 'none'; style-src 'unsafe-inline'"
        drawn = answer.content.decode()
        for words in ("Water 0.70 m deep", "Dashed line: ", "Dotted line: knee", "0.80 m, read 5 min ago"):
            assert words in drawn

    @pytest.mark.parametrize("metres", [(), (0.6, 10.6)])
    def test_nothing_is_drawn_from_a_level_in_doubt(self, beat, metres):
        fill(beat, *metres)
        pool = Pool.objects.select_related("beat__fishery", "beat__gauge").get()
        with pytest.raises(DepthNotKnown):
            section_today(pool, now=NOON)

    def test_a_refusal_reaches_the_phone_as_a_problem(self, beat):
        fill(beat, 0.6, until=NOON)
        answer = client_of(keeper(beat.fishery)).get(f"/api/v1/pools/{Pool.objects.get().pk}/section/")
        body = json.loads(answer.content)
        assert (answer.status_code, body["type"]) == (409, "/api/v1/problems/depth-not-known")
        assert body["detail"].endswith("Look at the river.")


def faults_of(body):
    """What the committed document finds wrong with an answer; keys it does not name are faults too."""
    document = the_document()
    for schema in document["components"]["schemas"].values():
        if schema.get("type") == "object":
            schema["additionalProperties"] = False
    registry = Registry().with_resource("urn:api", DRAFT202012.create_resource(document))
    whole = {"$ref": "urn:api#/components/schemas/ConditionsOut"}
    return [error.message for error in OAS31Validator(whole, registry=registry).iter_errors(body)]
