"""What is a wall and what only a doubt. The bounds are our own; the bands of mean weights are published."""

from decimal import Decimal

import pytest

from sessions.monthly import CLASSES
from sessions.plausible import NAMES, ODD_LENGTHS_CM, ODD_WEIGHTS_KG, doubts, impossible

POUND = Decimal("0.45359237")


def told(kind, month=7, weight=None, length=None):
    return doubts(kind, month=month, weight_kg=weight and Decimal(weight), length_cm=length and Decimal(length))


def test_a_twenty_pound_finnock_is_doubted():
    (doubt,) = told("finnock", weight=round(20 * POUND, 2))
    assert doubt == "9.07 kg is an unlikely weight for a finnock. Look again at the kind and at the weight."


@pytest.mark.parametrize(("month", "doubted"), [(1, True), (2, True), (4, True), (5, False), (10, False)])
def test_a_grilse_in_february_is_doubted(month, doubted):
    assert bool(told("1sw", month=month, weight="2.3")) is doubted


def test_a_length_in_inches_is_recognised():
    """30 inches are 76.2 cm, an ordinary salmon."""
    assert told("msw", length="30") == [
        "30 cm is an unlikely length for a salmon. Was it measured in inches? 30 in are 76.2 cm."
    ]


def test_a_length_in_inches_beside_a_weight_is_a_wall():
    wall = impossible(Decimal("4.6"), Decimal(30))
    assert wall == "No fish of 30 cm weighs 4.6 kg. Is the length in inches? Give centimetres and kilograms."


@pytest.mark.parametrize(("weight", "length"), [("0.01", "100"), ("60", "60"), ("1", "150")])
def test_sizes_that_cannot_go_together_are_a_wall(weight, length):
    assert "Is the length" not in impossible(Decimal(weight), Decimal(length))


def test_a_fish_without_one_of_its_sizes_can_be():
    assert impossible(Decimal(60), None) is impossible(None, Decimal(1)) is None


def test_a_thin_fish_is_doubted_and_not_refused():
    assert impossible(Decimal("2.0"), Decimal(80)) is None
    assert told("msw", weight="2.0", length="80") == ["2.0 kg is unlikely for 80 cm. Look again at both."]


@pytest.mark.parametrize("kind", NAMES)
def test_an_ordinary_fish_raises_no_doubt(kind):
    length = {"finnock": "28", "sea_trout": "48", "1sw": "60", "farmed_1sw": "60"}.get(kind, "76")
    weight = round(Decimal(length) ** 3 / 100_000, 2)
    assert told(kind, weight=weight, length=length) == []


def test_every_class_of_the_return_has_bounds():
    assert set(CLASSES) == set(ODD_WEIGHTS_KG) == set(ODD_LENGTHS_CM)
