"""What a fishery file says of the watch: read, kept, written back, and judged by the watch itself."""

import pytest

from beats.fishery_faults import FaultyFishery, parse
from beats.fishery_file import dump
from beats.models import Beat
from beats.services.fishery_loading import fishery_file, load_fishery
from safety import policy
from safety.ladder import Who
from safety.services.duties import set_policy
from safety.services.people import policy_of
from tests.beats.test_fishery_file import EXAMPLE
from tests.factories import NOON, keeper

WATCH = """
[beats.watch]
quiet = ["22:00", "07:00"]
when_stale = "witness"
recall_level_m = 1.2
recall_rise_m_per_h = "never"
recall_flood = "alert"

[[beats.watch.stages]]
after_minutes = 0
who = ["angler", "keeper"]
by = ["text"]

[[beats.watch.stages]]
after_minutes = 5
who = ["ghillie on duty", "emergency contact"]
repeat_minutes = 4
"""


def file_with(watch):
    """The example, its first beat's own watch replaced by this one."""
    before, _, rest = EXAMPLE.partition("[beats.watch]")
    _, marker, after = rest.partition("# Pools, 1 at the top.")
    return before + watch + "\n" + marker + after


@pytest.mark.django_db
def test_a_ladder_in_the_file_is_kept_and_written_back_exactly():
    file = parse(file_with(WATCH))
    fishery = load_fishery(file, by=None, now=NOON).fishery
    assert load_fishery(file, by=None, now=NOON).changes == []
    assert fishery_file(fishery) == file == parse(dump(file))
    rules = policy_of(Beat.objects.get(slug="upper"))
    assert [stage.who for stage in rules.ladder.stages] == [(Who.ANGLER, Who.KEEPER), (Who.GHILLIE, Who.CONTACT)]
    assert (rules.when_stale, rules.recall_level_m, rules.recall_rise_m_per_h, rules.recall_flood) == (
        "witness", 1.2, None, "alert",
    )  # fmt: skip


@pytest.mark.django_db
def test_a_file_that_says_nothing_of_the_watch_leaves_it_as_it_stands():
    fishery = load_fishery(parse(file_with("")), by=None, now=NOON).fishery
    beat = Beat.objects.get(slug="upper")
    rules = {"recall_level_m": 0.9, "ladder": {"stages": [{"after_minutes": 0, "who": ["owner"]}]}}
    set_policy(beat, rules=rules, contact_minutes=None, warn_minutes=None, version=1, by=keeper(fishery), now=NOON)
    load_fishery(parse(file_with("")), by=None, now=NOON)
    assert policy_of(Beat.objects.get(slug="upper")) == policy.read(rules)
    assert fishery_file(fishery).beats[0].watch.recall_level_m == 0.9


@pytest.mark.django_db
def test_what_the_file_says_of_contacts_and_reminders_is_kept():
    said = EXAMPLE.replace(
        "contact_minutes = 120\nwarn_minutes = 10\n", "contact_minutes = 45\nwarn_minutes = 0\n"
    )
    load_fishery(parse(said), by=None, now=NOON)
    upper = Beat.objects.filter(slug="upper").values_list("contact_minutes", "warn_minutes", "watch_version")
    assert upper.get() == (45, 0, 1)
    for version in (2, 2):
        load_fishery(
            parse(EXAMPLE), by=None, now=NOON
        )  # whoever reads the watch before a file sees that it changed
        assert upper.get() == (120, 10, version)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("instead", "says"),
    [
        (WATCH.replace('"angler", "keeper"', '"angler"'), "put the keeper or the owner in stage 1"),
        (WATCH.replace("after_minutes = 5", "after_minutes = 0"), "later than the one before"),
        ('[beats.watch]\nquiet = ["22:00", "07:00"]\n', "1 to 8 stages"),
    ],
)
def test_a_ladder_that_would_leave_somebody_untold_is_refused_and_nothing_is_loaded(instead, says):
    with pytest.raises(FaultyFishery, match=says):
        load_fishery(parse(file_with(instead)), by=None, now=NOON)
    assert not Beat.objects.exists()


@pytest.mark.parametrize(
    ("written", "instead", "says"),
    [
        ('"angler", "keeper"', '"everybody"', "whom it tells"),
        ("repeat_minutes = 4", "repeat_minutes = 0", "said again every"),
        ("recall_level_m = 1.2", "recall_level_m = nan", "metres on the beat's gauge"),
        ('quiet = ["22:00", "07:00"]', 'quiet = ["25:00", "07:00"]', "hours in which"),
        ("quiet", "quit", "perhaps quiet"),
    ],
)
def test_a_fault_in_the_watch_is_told_in_words(written, instead, says):
    with pytest.raises(FaultyFishery, match=says):
        parse(file_with(WATCH.replace(written, instead, 1)))
