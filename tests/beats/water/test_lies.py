"""Where fish lie, by what a pool is made of."""

import pytest

from beats.water.advice import COMMON_PRACTICE, NotAWord
from beats.water.lies import ADVICE, Feature, lies


def test_each_feature_is_told_once_in_one_order():
    found = lies(["croys", Feature.STONES, "croys"])
    assert [line.what for line in found] == [Feature.STONES, Feature.CROYS]
    assert found[0].text == "Fish ahead of, beside and behind each big stone."
    assert (found[1].working, found[1].basis) == ("This pool has: croys.", COMMON_PRACTICE)


def test_every_feature_has_advice_of_its_own():
    assert list(ADVICE) == list(Feature)
    assert len({text for text, _ in ADVICE.values()}) == len(Feature)


def test_a_pool_without_features_has_no_advice():
    assert lies([]) == ()


@pytest.mark.parametrize("name", ["", "big stone", "🐟", "<b>"])
def test_an_unknown_feature_is_refused_with_those_there_are(name):
    with pytest.raises(NotAWord, match="Choose from: big stones, croys"):
        lies([name])
