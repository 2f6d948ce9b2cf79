"""The picture of a pool cut across, read back as XML."""

from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from beats.models import Pool
from beats.water.advice import NotAMeasure
from beats.water.casting import Side
from beats.water.section import CANNOT_SEE, Section, Wader
from beats.water.section_picture import LABELS_AT, LEFT, RIGHT, WIDE, draw
from beats.water.sinking import Sinking, timing
from beats.water.wading_depths import STANDS_IN

SVG = "{http://www.w3.org/2000/svg}"
PLAIN = Section(
    name="Kettle Pool",
    bank=Side.LEFT,
    width_m=40,
    depth_m=2.4,
    tip="a tip of about 5 inches a second",
    sinking=Sinking(5, timing(width_m=40, velocity_mps=1)),
    holding_m=1.9,
    wader=Wader.FAIR,
    notes=("Level 0.42 m, 40 min old.",),
)
SINKINGS = st.builds(
    Sinking, st.floats(0, 20), st.builds(timing, width_m=st.floats(0.5, 2000), velocity_mps=st.floats(0, 10))
)
SECTIONS = st.builds(
    Section,
    st.text(max_size=120),
    st.sampled_from(Side),
    st.floats(0.5, 2000),
    st.floats(0.05, 50),
    st.text(max_size=80),
    SINKINGS,
    st.floats(0, 50),
    st.sampled_from(Wader),
    st.lists(st.text(max_size=60), max_size=3).map(tuple),
)  # fmt: skip


def read(section, **more):
    root = ET.fromstring(draw(section, **more))
    return root, ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def places(shape):
    return [tuple(map(float, pair.split(","))) for pair in shape.get("points").split()]


def labels(root):
    found = [text for text in root.iter(f"{SVG}text") if float(text.get("x")) == LABELS_AT]
    return {text.text: float(text.get("y")) for text in found}


def test_depths_are_told_in_words_beside_the_drawing_from_the_top_down():
    # The tip: 5 in/s x 0.83 x (half of 19.63 s, and 2 s) = 1.25 m. Thigh: half way between 0.35 and 0.71 m.
    root, _ = read(PLAIN)
    assert list(labels(root)) == ["Surface", "Thigh 0.53 m", "Tip 1.25 m", "Bed 2.40 m"]


def test_depth_is_drawn_to_one_scale():
    root, _ = read(PLAIN)
    places_of = labels(root)
    top, thigh, bed = (places_of[words] for words in ("Surface", "Thigh 0.53 m", "Bed 2.40 m"))
    assert (thigh - top) / (bed - top) == pytest.approx(0.53 / 2.4, abs=0.002)
    _, way = root.find(f"{SVG}polygon"), root.find(f"{SVG}polyline")
    deepest = max(y for _, y in places(way))
    assert (deepest - top + 4) / (bed - top) == pytest.approx(1.25 / 2.4, abs=0.01)


def test_a_reader_that_cannot_see_hears_the_same_sentences():
    root, texts = read(PLAIN, prefix="pool-7")
    assert (root.find(f"{SVG}title").text, root.get("role")) == ("Kettle Pool", "img")
    assert root.get("aria-labelledby") == "pool-7-title pool-7-desc"
    assert [root.find(f"{SVG}{tag}").get("id") for tag in ("title", "desc")] == ["pool-7-title", "pool-7-desc"]
    heard = root.find(f"{SVG}desc").text
    assert heard == " ".join(PLAIN.sentences)
    assert " ".join(texts).endswith(heard)
    assert CANNOT_SEE in heard
    assert "safe" not in heard


def test_lines_differ_in_pattern_and_not_by_colour():
    root, _ = read(PLAIN)
    shapes = [root.find(f"{SVG}polygon"), *root.iter(f"{SVG}polyline")]
    assert len({shape.get("stroke-dasharray") for shape in shapes}) == 3
    assert {shape.get("stroke") for shape in shapes} == {"#000"}
    assert (root.get("fill"), root.find(f"{SVG}rect").get("fill"), root.get("width")) == ("#000", "#fff", "360")


def test_from_the_other_bank_the_picture_is_its_mirror_image():
    one, other = (read(replace(PLAIN, bank=bank))[0] for bank in Side)
    for left, right in zip(one.iter(f"{SVG}polyline"), other.iter(f"{SVG}polyline"), strict=True):
        assert [(pytest.approx(LEFT + RIGHT - x, abs=0.11), y) for x, y in places(left)] == places(right)
    you = [next(text for text in root.iter(f"{SVG}text") if text.text == "You") for root in (one, other)]
    assert [float(text.get("x")) for text in you] == [LEFT, RIGHT]


def test_the_tip_starts_at_the_surface_and_comes_round_to_the_angler_s_bank():
    path = PLAIN.path()
    assert path[0] == (pytest.approx(25 / 2**0.5), 0)
    assert [out for out, _ in path] == sorted((out for out, _ in path), reverse=True)


def test_the_bed_is_steep_at_the_sides_and_flat_between():
    assert [PLAIN.bed_m(out) for out in (0, 4, 10, 20, 40)] == pytest.approx([0, 1.41696, 2.25, 2.4, 0])


def test_the_tip_is_never_drawn_on_the_margins():
    narrow = replace(PLAIN, width_m=10)
    outs = [out for out, _ in narrow.path()]
    assert (outs[0], outs[-1]) == pytest.approx((9, 1))


def test_a_tip_that_would_go_deeper_than_the_bed_is_said_to_touch_it():
    shallow = replace(PLAIN, depth_m=0.8)
    assert (PLAIN.touches, shallow.touches) == (False, True)
    assert "reckoned to sink to 0.80 m and to touch the bed; the fly is wanted" in " ".join(shallow.sentences)


def test_who_is_kept_to_the_bank_gets_no_wading_line():
    root, texts = read(replace(PLAIN, wader=Wader.BANK))
    assert len(root.findall(f"{SVG}polyline")) == 1
    assert list(labels(root)) == ["Surface", "Tip 1.25 m", "Bed 2.40 m"]
    assert "This pool is fished from the bank: no wading." in texts


def test_waders_are_the_grades_of_pools_and_guests_and_each_goes_deeper():
    """Back of knee 355 mm, hip 715 mm: personal.cityu.edu.hk/meachan, online anthropometry, tables 16 and 5."""
    assert [(grade.name, grade.value) for grade in Wader] == [(g.name, g.value) for g in Pool.Wading]
    depths = [STANDS_IN[grade][1] for grade in Wader]
    assert depths == pytest.approx([0, 0.355, 0.53, 0.715], abs=0.006)
    assert max(depths) < 1.2  # where wading is hard and dangerous even in still water (R. Cox, 2011, quoting EMA)


def test_a_name_is_text_whatever_stands_in_it():
    name = 'Otter <script>&"\x00\x0b\ud800 🐟'
    root, texts = read(replace(PLAIN, name=name, tip=name, notes=(name,)))
    assert texts[0] == root.find(f"{SVG}title").text == 'Otter <script>&" 🐟'
    kinds = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert kinds == {"svg", "title", "desc", "rect", "polygon", "polyline", "line", "text"}


def test_a_long_name_is_cut_and_told_whole_as_the_title():
    name = "Maximilian's " * 9
    root, texts = read(replace(PLAIN, name=name))
    assert root.find(f"{SVG}title").text == name.strip()
    assert texts[1].endswith("…")


def test_a_pool_without_a_name_is_called_pool():
    assert read(replace(PLAIN, name=" \n "))[1][0] == "Pool"


@given(SECTIONS)
def test_any_pool_makes_a_picture_in_which_nothing_leaves_the_sheet_or_covers_another(section):
    root, _ = read(section)
    wide, tall = float(root.get("width")), float(root.get("height"))
    points = [at for tag in ("polygon", "polyline") for shape in root.iter(f"{SVG}{tag}") for at in places(shape)]
    assert all(LEFT <= x <= RIGHT and 0 <= y <= tall for x, y in points)
    texts = [(float(text.get("x")), float(text.get("y"))) for text in root.iter(f"{SVG}text")]
    assert wide == WIDE
    assert all(0 <= x < wide and 0 < y < tall for x, y in texts)
    ys = sorted(labels(root).values())
    assert all(below - above >= 17.9 for above, below in pairwise(ys))
    assert max(ys) + 17 < min(y for x, y in texts if x < LEFT and y > max(ys))


@pytest.mark.parametrize("prefix", ["", "7", 'a"b', "a b", "a<", "é"])
def test_a_prefix_that_is_no_id_is_refused(prefix):
    with pytest.raises(ValueError, match="a prefix is a letter"):
        draw(PLAIN, prefix=prefix)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -1])
@pytest.mark.parametrize("name", ["width_m", "depth_m", "holding_m"])
def test_a_pool_of_no_such_size_is_refused(name, value):
    with pytest.raises(NotAMeasure, match=f"{name} is a number from"):
        replace(PLAIN, **{name: value})
