"""The owner's file: every fault named, the same file twice changes nothing, and what goes in comes out."""

import contextlib
import tomllib
from importlib import resources

import pytest
from django.core.management import CommandError, call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from beats.fishery_faults import FaultyFishery, parse
from beats.fishery_file import dump
from beats.models import AuditEntry, Beat, Fishery, Membership, Pool, User
from beats.services.fishery_loading import fishery_file, load_fishery
from tests.factories import NOON, FisheryFactory

EXAMPLE = resources.files("beats").joinpath("data/durrisk.toml").read_text(encoding="utf-8")

THIRTY_FAULTS = """
[fishery]
slug = "Not A Slug"
river = ""
time_zone = "Europe/Atlantis"
district = "99"
latitude = 95.0
longitude = nan
motto = "tight lines"

[[grades]]
from_on = "soon"
grade = "splendid"

[[rules]]
status = "open"
start = "02-30"
end = "13-01"
reason = "Resting."

[[parts]]
slug = "morning"
name = "morning"
starts = 13:00:00
ends = 09:00:00

[[parts]]
slug = "morning"
name = "again"
starts = 14:00:00
ends = 18:00:00

[[keepers]]
email = "nobody"
name = "A Keeper"
phone = "+44 7700 900101"
role = "ghillie"

[[beats]]
slug = "top"
name = "Top"
order = 1
rods = 9
longest_outing_minutes = 3
gauge = "nowhere"

[[beats.pools]]
slug = "one"
name = "One"
order = 1
bank = "middle"
flow_bearing_deg = 361
length_m = -4
width_m = inf
depth_m = "deep"
velocity_mps = 0.5
wading_grade = 4
rods_at_once = 0
level_min_m = 2.0
level_max_m = 1.0
boat = true
latitude = 57.0
wurth = 5
"""


def test_a_file_with_thirty_faults_lists_thirty_faults():
    with pytest.raises(FaultyFishery) as refused:
        parse(THIRTY_FAULTS)
    faults = refused.value.faults
    told = "\n".join(str(fault) for fault in faults)
    assert len(faults) == 30, told
    assert all(fault.line for fault in faults), told
    assert len({(fault.path, fault.text) for fault in faults}) == len(faults)
    for text in (
        "line 3, fishery, slug: 'Not A Slug' will not do; write a short name for good",
        "line 2, fishery, name: is missing; write the fishery's name",
        "line 7, fishery, latitude: 95.0 will not do; write degrees north, -90 to 90",
        "line 8, fishery, longitude: nan will not do",
        "line 9, fishery, motto: is no key of this table",
        "line 16, rules 1, status: 'open' will not do; write closed or release_only: a house rule may be stricter",
        "line 17, rules 1, start: '02-30' will not do",
        "line 28, parts 2, slug: 'morning' is already used above",
        "line 33, keepers: nobody is the owner",
        "line 45, beats 1, gauge: 'nowhere' is not the slug of a [[gauges]] table",
        "line 55, beats 1, pools 1, depth_m: 'deep' will not do; write metres deep",
        "line 63, beats 1, pools 1, wurth: is no key of this table; perhaps worth",
    ):
        assert text in told


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "fishery: is missing"),
        ("[fishery\n", "is not TOML"),
        ("fishery = 3", "3 will not do"),
        ("beats = [1, 2]", "beats 1: 1 will not do"),
        ("[[fishery]]\nslug='a'", "fishery"),
        ("fishery = {slug = {a = 1}}", "slug"),
    ],
)
def test_a_file_that_is_nothing_like_one_is_refused_in_words(text, says):
    with pytest.raises(FaultyFishery, match=r"nothing was changed") as refused:
        parse(text)
    assert says in refused.value.sentence


@settings(max_examples=150)
@given(st.data())
def test_no_damage_to_the_file_makes_anything_but_a_refusal(data):
    lines = EXAMPLE.splitlines()
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        lines[at] = data.draw(st.sampled_from([
            "", "[beats]", "[[beats]]", "[[beats.pools]]", "x = 1", 'slug = "kiln-pot"', "order = nan",
            "pools = 3", lines[at][:-1], lines[at] + "0", 'name = ""',
        ]))  # fmt: skip
    with contextlib.suppress(FaultyFishery):
        parse("\n".join(lines))


def test_the_example_is_worth_reading_and_loads():
    file = parse(EXAMPLE)
    assert len(file.beats) == 2
    assert sum(len(beat.pools) for beat in file.beats) == 14
    assert EXAMPLE.count("\n#") > 12


def test_writing_and_reading_again_is_exact():
    file = parse(EXAMPLE)
    assert parse(dump(file)) == file
    assert dump(parse(dump(file))) == dump(file)


FEED = """stale_after_minutes = 90
feed_kind = "kiwis"
feed_url = "https://levels.example.org/series?ts_id=1"
feed_unit = "cm"
feed_zone = "UTC"
"""
WITH_FEED = EXAMPLE.replace("stale_after_minutes = 90\n", FEED)


@pytest.mark.parametrize(
    ("written", "instead", "says"),
    [
        ('"kiwis"', '"ftp"', "feed_kind: 'ftp' will not do; write environment-agency, kiwis or waterml"),
        ("https:", "http:", "will not do; write the https:// address of one series"),
        ("levels.example.org", "me:pw@levels.example.org", "will not do; write the https:// address"),
        ("levels.example.org", "", "will not do; write the https:// address"),
        ("ts_id=1", "ts id=1", "will not do; write the https:// address"),
        ("ts_id=1", "t" * 500, "will not do; write the https:// address"),
        ('"cm"', '"furlong"', "feed_unit: 'furlong' will not do; write m, cm, mm or ft"),
        ('"UTC"', '"Europe/Atlantis"', "feed_zone: 'Europe/Atlantis' will not do"),
        ('feed_kind = "kiwis"\n', "", "feed_url: needs feed_kind beside it"),
        ('feed_url = "https://levels.example.org/series?ts_id=1"\n', "", "feed_kind: needs feed_url beside it"),
    ],
)
def test_a_feed_with_a_fault_is_refused_in_words(written, instead, says):
    with pytest.raises(FaultyFishery) as refused:
        parse(WITH_FEED.replace(written, instead))
    assert says in refused.value.sentence


@pytest.mark.parametrize(
    ("written", "instead", "says"),
    [
        (
            '["wide and shallow"]',
            '["a nice bit"]',
            "features 1: 'a nice bit' will not do; write what makes a lie",
        ),
        (
            "depth_per_level = 0.8",
            "depth_per_level = nan",
            "depth_per_level: nan will not do; write metres of depth",
        ),
        ("tackle_words = { fly", "tackle_words = { hat", "'hat' will not do; write a ghillie's word on tip"),
        ('says", by = "Callum Baird"', 'says"', "tackle_words, fly, by: is missing; write whose word it is"),
        ("{ level_m = 0.6, depth_m = 0.9,", "{ level_m = 0.3, depth_m = 0.9,", "holds the level 0.3 m twice"),
        (
            "{ level_m = 0.6, depth_m = 0.9,",
            "{ level_m = 0.6, depth_m = 0.2,",
            "the depth falls from 0.55 to 0.2 m",
        ),
        (
            "{ level_m = 0.6, depth_m = 0.9,",
            '{ level_m = 0.6, depth_m = "9",',
            "depth_m: '9' will not do; write metres deep",
        ),
        ("tidal = true", "tidal = false", "cut_off_above_m: is set, but no tide reaches the beat; set tidal"),
        (
            "cut_off_above_m = 3.6",
            "cut_off_above_m = 36",
            "cut_off_above_m: 36 will not do; write metres above the port",
        ),
        ("care_c = 18\n", "care_c = 21\n", "care_c: 21 is above stop_c (20)"),
        ("jump_m = 1.5", "jump_m = 0", "jump_m: 0 will not do; write metres in a quarter of an hour"),
        ("rise_m_per_h = 0.15", "rise_m_per_h = -1", "rise_m_per_h: -1 will not do; write metres an hour"),
        (
            'clarity = "peat-stained"',
            'clarity = "murky"',
            "clarity: 'murky' will not do; write clear, peat-stained",
        ),
        (
            "tide_lag_days = 1.5",
            "tide_lag_days = 9",
            "tide_lag_days: 9 will not do; write days from new and full moon",
        ),
    ],
)
def test_what_an_owner_writes_of_the_water_is_refused_in_words(written, instead, says):
    assert written in EXAMPLE
    with pytest.raises(FaultyFishery) as refused:
        parse(EXAMPLE.replace(written, instead, 1))
    assert says in refused.value.sentence


@pytest.mark.django_db
class TestLoading:
    def test_what_an_owner_writes_of_the_water_is_kept_as_written(self):
        self.load()
        tail = Pool.objects.get(slug="gravel-tail")
        assert [row["velocity_mps"] for row in tail.flow_table] == [0.5, 0.8, 1.1]
        assert Pool.objects.get(slug="heron-stone").tackle_words["fly"]["by"] == "Callum Baird"
        assert Pool.objects.get(slug="ferry-stream").cut_off_above_m == 3.6
        beat = Beat.objects.select_related("gauge").get(slug="lower")
        assert (beat.tidal, beat.tide_lag_days, beat.rise_m_per_h, beat.gauge.jump_m) == (True, 1.5, 0.15, 1.5)

    def test_a_feed_goes_in_and_comes_out_and_is_fetched_anew_when_it_changes(self):
        loaded = self.load(WITH_FEED)
        assert fishery_file(loaded.fishery) == parse(WITH_FEED)
        gauges = loaded.fishery.gauges
        gauges.update(poll_etag="1", poll_failures=3, next_poll_at=NOON)
        self.load(WITH_FEED.replace('"Stone bridge', '"The stone bridge'))
        assert gauges.values_list("poll_etag", "poll_failures", "next_poll_at").get() == ("1", 3, NOON)
        for written, instead in (("ts_id=1", "ts_id=2"), ('"cm"', '"mm"'), ('"UTC"', '"Europe/London"')):
            gauges.update(poll_etag="1", poll_failures=3, next_poll_at=NOON)
            self.load(WITH_FEED.replace(written, instead))
            assert gauges.values_list("poll_etag", "poll_failures", "next_poll_at").get() == (None, 0, None)

    def load(self, text=EXAMPLE):
        return load_fishery(parse(text), by=None, now=NOON)

    def test_what_goes_in_comes_out(self):
        loaded = self.load()
        assert fishery_file(loaded.fishery) == parse(EXAMPLE)
        assert tomllib.loads(dump(fishery_file(loaded.fishery)))["fishery"]["district"] == "51"

    def test_a_second_time_changes_nothing(self):
        self.load()
        rows = (Pool.objects.count(), User.objects.count(), AuditEntry.objects.count())
        assert self.load().changes == []
        assert (Pool.objects.count(), User.objects.count(), AuditEntry.objects.count()) == rows

    def test_a_changed_file_changes_the_same_rows(self):
        self.load()
        kiln = Pool.objects.get(slug="kiln-pot")
        loaded = self.load(
            EXAMPLE.replace('name = "Kiln Pot"', 'name = "Old Kiln Pot"').replace("depth_m = 2.4", "depth_m = 2.5")
        )
        kiln.refresh_from_db()
        assert (kiln.name, kiln.depth_m) == ("Old Kiln Pot", 2.5)
        assert loaded.changes == ["changed pool kiln-pot: name, depth_m of upper"]

    def test_rules_keepers_and_pools_can_go(self):
        self.load()
        text = EXAMPLE.replace('email = "callum.baird@durrisk.example"', 'email = "ada.moss@durrisk.example"')
        loaded = self.load(text.replace('start = "09-15"', 'start = "09-10"'))
        assert "rules: 1 in place of 1" in loaded.changes
        assert {member.user.email for member in Membership.objects.select_related("user")} == {
            "isla.renwick@durrisk.example",
            "ada.moss@durrisk.example",
        }

    def test_a_keeper_with_a_part_elsewhere_keeps_the_name_and_number_they_have_there(self):
        self.load()
        callum = User.objects.get(email="callum.baird@durrisk.example")
        Membership.objects.create(user=callum, fishery=FisheryFactory(), role="ghillie")
        was = (callum.name, callum.phone)
        loaded = self.load(EXAMPLE.replace(f'name = "{callum.name}"', 'name = "Somebody Else"'))
        callum.refresh_from_db()
        assert (callum.name, callum.phone) == was
        assert [line for line in loaded.changes if callum.email in line] == [
            f"kept name and phone of {callum.email}, who has a part in another fishery: ask them"
        ]

    def test_a_pool_nobody_used_can_go(self):
        self.load()
        start, end = (
            EXAMPLE.index('[[beats.pools]]\nslug = "bothy-run"'),
            EXAMPLE.index('[[beats.pools]]\nslug = "gravel-tail"'),
        )
        loaded = self.load(EXAMPLE[:start] + EXAMPLE[end:])
        assert loaded.changes == ["removed pool bothy-run of upper"]

    def test_two_fisheries_may_use_the_same_names(self):
        self.load()
        other = EXAMPLE.replace('slug = "durrisk-water"', 'slug = "other-water"')
        self.load(other)
        assert Fishery.objects.count() == 2
        assert Beat.objects.filter(slug="upper").count() == 2

    def test_the_commands_load_and_write_back(self, tmp_path, capsys):
        file = tmp_path / "water.toml"
        file.write_text(EXAMPLE, encoding="utf-8")
        call_command("load_fishery", str(file))
        assert "Durrisk Water: 25 changes." in capsys.readouterr().out
        call_command("dump_fishery", "durrisk-water")
        written = capsys.readouterr().out
        assert parse(written) == parse(EXAMPLE)
        file.write_text(written, encoding="utf-8")
        call_command("load_fishery", str(file))
        assert "no changes" in capsys.readouterr().out

    @pytest.mark.parametrize(
        ("content", "says"),
        [(b"\xff\xfe\x00", "not UTF-8"), (b"x = [" + b"0," * 1_100_000, "larger than any"), (None, "Cannot read")],
    )
    def test_a_file_that_cannot_be_read_is_refused(self, tmp_path, content, says):
        file = tmp_path / "bad.toml"
        if content is not None:
            file.write_bytes(content)
        with pytest.raises(CommandError, match=says):
            call_command("load_fishery", str(file))

    def test_dumping_an_unknown_fishery_names_those_there_are(self):
        self.load()
        with pytest.raises(CommandError, match="durrisk-water"):
            call_command("dump_fishery", "nowhere")
