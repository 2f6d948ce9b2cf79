"""What to put on: the tip by physics, the rest by custom, and the ghillie's word above both."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.water.advice import COMMON_PRACTICE, FROM_MEMORY, NotAMeasure, NotAWord, Word
from beats.water.practice import COLOURS, FLIES, HEAD_GRAINS, LEADERS, RODS, TIPS, Clarity, row_for
from beats.water.tackle import What, suggest
from beats.water.tips import Water, Ways, choose_tip, holding_depth_m

POOL = Water(depth_m=1.2, velocity_mps=0.8, width_m=30, month=10, temperature_c=8)
DEPTHS, SPEEDS = st.floats(0.05, 50), st.floats(0, 10)
HEAT = st.none() | st.floats(-2, 40)
WATERS = st.builds(
    Water, DEPTHS, SPEEDS, st.floats(0.5, 2000), st.integers(1, 12), HEAT, st.sampled_from(Clarity)
)  # fmt: skip


def said(water, **more):
    return {suggestion.what: suggestion for suggestion in suggest(water, **more)}


def test_a_tip_by_hand():
    # 0.8 of 1.2 m is 0.96 m, 37.8 in. 25 m of line on an eighth of a circle at 0.8 m/s: 24.54 s, half slack
    # 12.27 s, one mend 2 s. 37.8 / 14.27 / 0.83 = 3.19 in/s on the label: 3 is too slow, 5 is there.
    choice = choose_tip(POOL)
    assert (choice.holding_m, choice.needed_in_s) == pytest.approx((0.96, 3.19), abs=0.01)
    assert (choice.tip.label_in_s, choice.reaches) == (5, True)
    assert choice.sinking.depth_m == pytest.approx(5 * 0.83 * 0.0254 * 14.27, abs=0.01)


def test_the_working_shows_every_number_of_that_sum():
    tip = said(POOL)[What.TIP]
    assert tip.working == (
        "Fly wanted 0.96 m down in 1.20 m (water at 8 C); that needs 3.2 in/s on the label; "
        "25 m of line swings for 25 s in water of 0.8 m/s and sinks for 12.3 s of that and 2.0 s bought by mends "
        "and steps: 5 in/s on the label x 0.83 x 14.3 s = 1.50 m; the bed is nearer than that: "
        "expect to touch it; a tight line at the end of the swing hangs at about 0.56 m."
    )


def test_warm_water_brings_the_fly_up():
    """From 10 C some 18 inches down will do (flyfishing-and-flytying.co.uk, "Sink Tip Tips")."""
    depths = [holding_depth_m(replace(POOL, temperature_c=at)) for at in (9.9, 10, 14.9, 15)]
    assert depths == pytest.approx([0.96, 18 * 0.0254, 18 * 0.0254, 0], abs=0.005)


def test_shallow_water_never_wants_the_fly_below_its_holding_depth():
    assert holding_depth_m(replace(POOL, depth_m=0.3, temperature_c=12)) == pytest.approx(0.24)


@given(WATERS, DEPTHS)
def test_deeper_water_never_asks_for_a_slower_tip(water, other):
    shallow, deep = (replace(water, depth_m=depth) for depth in sorted((water.depth_m, other)))
    assert choose_tip(shallow).tip.label_in_s <= choose_tip(deep).tip.label_in_s


@given(WATERS, SPEEDS)
def test_faster_water_never_asks_for_a_slower_tip(water, other):
    slow, fast = (replace(water, velocity_mps=speed) for speed in sorted((water.velocity_mps, other)))
    assert choose_tip(slow).tip.label_in_s <= choose_tip(fast).tip.label_in_s


@given(WATERS)
def test_the_tip_is_the_slowest_that_reaches_or_else_the_fastest(water):
    choice = choose_tip(water)
    slower = [tip.label_in_s for tip in TIPS if tip.label_in_s < choice.tip.label_in_s]
    if choice.tip is not TIPS[-1]:
        assert choice.sinking.depth_m >= choice.holding_m - 1e-6
        assert max(slower, default=-1) < choice.needed_in_s or choice.needed_in_s == 0


@pytest.mark.parametrize(
    ("month", "temperature", "depth", "label"),
    [(3, 4, 1.8, 9), (3, 4, 1.7, 5), (10, 4, 1.8, 5), (3, 12, 1.8, 3), (5, None, 1.8, 9), (7, None, 1.8, 3)],
)
def test_only_cold_spring_water_in_a_deep_pool_calls_for_the_heaviest_at_once(month, temperature, depth, label):
    water = replace(POOL, month=month, temperature_c=temperature, depth_m=depth)
    assert choose_tip(water).tip.label_in_s == label


def test_tungsten_tips_show_their_weight():
    """10 ft at 14 grains a foot weigh 140 grains (therustyhook.blogspot.com, "Sink tips for Skagit heads")."""
    tip = said(replace(POOL, month=3, depth_m=3))[What.TIP]
    assert tip.text == "a 10 ft tungsten tip of 14 grains a foot, about 9 inches a second"
    assert tip.working.endswith("the tip weighs 140 grains (9.1 g).")
    assert tip.basis == FROM_MEMORY


def test_where_no_tip_gets_down_it_says_so_and_buys_depth():
    found = said(replace(POOL, depth_m=5, velocity_mps=2))
    assert (
        found[What.TIP].why
        == "No tip reckons down to that depth in the time of the swing; this one comes nearest."
    )
    assert found[What.HANDLING].text == "one or two upstream mends and a couple of steps after the cast"


def test_slow_water_wants_the_fly_worked():
    texts = [said(replace(POOL, velocity_mps=speed))[What.HANDLING].text for speed in (0.39, 0.4)]
    assert texts == ["work the fly: draw line by hand", "let it swing; mend upstream once if the line bellies"]


def test_heads_weigh_what_the_trade_s_table_says():
    """The trade association's steps from line to line are 50, 60, 70, 80 and 190 grains (its table by AFFTA)."""
    weights = [HEAD_GRAINS[line] for line in (6, 7, 8, 9, 10, 12)]
    assert [b - a for a, b in pairwise(weights)] == [50, 60, 70, 80, 190]
    assert weights[0] == 250
    assert said(POOL)[What.LINE].working == "A shooting head of that number weighs about 360 grains (23.3 g)."


@pytest.mark.parametrize(
    ("width", "rod", "line"), [(39, "12 to 13 ft", 8), (40, "14 ft", 9), (70, "15 to 16 ft", 10)]
)
def test_bigger_rivers_take_longer_rods_and_heavier_lines(width, rod, line):
    found = said(replace(POOL, width_m=width))
    assert (found[What.ROD].text, found[What.LINE].text.split(",")[0]) == (rod, f"number {line}")


@pytest.mark.parametrize(
    ("clarity", "colour"),
    [
        (Clarity.CLEAR, "black and yellow"),
        (Clarity.PEAT, "black, orange and yellow"),
        (Clarity.COLOURED, "bright orange or yellow, a size bigger"),
    ],
)
def test_colour_goes_by_clarity(clarity, colour):
    assert said(replace(POOL, clarity=clarity))[What.COLOUR].text == colour


def test_spring_takes_big_copper_tubes_on_fifteen_pounds_and_a_leader_of_an_arm_s_span():
    found = said(replace(POOL, month=2, temperature_c=4, depth_m=2))
    assert found[What.FLY].text == "a big tube, 2 to 3 inches, heavy, copper-bodied"
    assert found[What.TIPPET].text == "about 15 lb"
    assert found[What.LEADER].text == "about an arm's span, 5 to 6 ft (1.5 to 1.8 m)"


def test_a_floating_line_takes_a_long_leader_and_a_small_light_fly():
    found = said(replace(POOL, month=7, temperature_c=16))
    texts = [found[what].text for what in (What.TIP, What.LEADER, What.FLY)]
    assert texts == ["a floating line", "9 to 12 ft (2.7 to 3.7 m)", "a double of size 10 to 14, light"]


def test_an_unknown_temperature_is_said_and_a_usual_one_taken():
    found = said(replace(POOL, month=7, temperature_c=None))
    assert "water temperature not known, 12 C taken for the month" in found[What.TIP].working


def test_tables_rise_and_the_last_row_reached_counts():
    for table in (LEADERS, FLIES, RODS):
        assert [row[0] for row in table] == sorted(row[0] for row in table)
    assert [row_for(at, [(0.0, "a"), (5.0, "b")]) for at in (-1, 0, 4.9, 5, 99)] == ["a", "a", "a", "b", "b"]
    assert list(COLOURS) == list(Clarity)


@given(WATERS)
def test_there_is_one_suggestion_of_each_kind_with_its_reason_and_basis_and_no_promise(water):
    found = suggest(water)
    assert [suggestion.what for suggestion in found] == list(What)
    assert {suggestion.basis for suggestion in found} <= {COMMON_PRACTICE, FROM_MEMORY}
    assert all(one.text and one.why and one.working and not one.said_by for one in found)
    whole = " ".join(f"{one.text} {one.why} {one.working}".lower() for one in found)
    assert not [
        word for word in ("safe", "sure", "certain", "guarantee", "will catch", "nan", "inf ") if word in whole
    ]


def test_the_ghillie_s_word_replaces_the_reckoning_and_says_whose_it_is():
    plain, found = said(POOL), said(POOL, words={"tip": Word("never more than an intermediate here", "Ada Teal")})
    tip = found.pop(What.TIP)
    assert (tip.text, tip.basis, tip.said_by) == (
        "never more than an intermediate here",
        "the word of Ada Teal",
        "Ada Teal",
    )
    reckoned = plain.pop(What.TIP)
    assert tip.working == f"Reckoned instead: {reckoned.text}. {reckoned.working}"
    assert found == plain


def test_a_word_about_nothing_is_refused_with_what_there_is():
    with pytest.raises(NotAWord, match=r"Nothing is suggested about tipp.*one of: tip, carry") as refused:
        suggest(POOL, words={"tipp": Word("heavy", "Ada Teal")})
    assert refused.value.errors == {"tipp": ["not suggested here"]}


@pytest.mark.parametrize(("text", "by"), [("", "Ada Teal"), ("  ", "Ada Teal"), ("heavy", ""), ("heavy", "\n")])
def test_an_empty_word_is_refused(text, by):
    with pytest.raises(NotAWord, match="whose word it is"):
        Word(text, by)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf"), -3])
@pytest.mark.parametrize("name", ["depth_m", "velocity_mps", "width_m", "temperature_c", "month"])
def test_a_water_that_is_none_is_refused_by_name(name, value):
    with pytest.raises(NotAMeasure) as refused:
        replace(POOL, **{name: value})
    assert list(refused.value.errors) == [name]


@pytest.mark.parametrize("month", [0, 13, 3.5])
def test_a_month_that_is_none_is_refused(month):
    with pytest.raises(NotAMeasure, match="month is 1 to 12"):
        replace(POOL, month=month)


@pytest.mark.parametrize("tips", [(), TIPS[::-1]])
def test_a_box_without_tips_or_out_of_order_is_refused(tips):
    with pytest.raises(NotAMeasure, match="slowest first"):
        Ways(tips=tips)


def test_a_beat_s_own_box_is_all_that_is_chosen_from():
    assert choose_tip(POOL, Ways(tips=TIPS[:2])).tip is TIPS[1]


def test_fish_that_lie_higher_take_a_slower_tip():
    assert choose_tip(POOL, Ways(holding_share=0.5)).tip.label_in_s == 3
