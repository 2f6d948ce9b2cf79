"""The judge of histories itself: it passes what is possible and fails what is not."""

import pytest

from tests.races.history import Act, possible


def claim(begun, ended, *rods):
    return Act(begun, ended, "claim", frozenset(rods))


def release(begun, ended, *rods):
    return Act(begun, ended, "release", frozenset(rods))


def refused(begun, ended, left):
    return Act(begun, ended, "refused", left=left)


GOOD = [
    [claim(0, 1, 1), claim(0, 1, 2), refused(2, 3, 0)],
    [refused(0, 5, 0), claim(1, 2, 1, 2)],  # refused at the end of its span
    [claim(0, 1, 1, 2), release(2, 6, 1, 2), refused(3, 4, 0), claim(5, 7, 1)],
    [claim(0, 9, 1), claim(0, 9, 2), refused(0, 9, 1), refused(0, 9, 0)],
]
BAD = {
    "one rod sold twice": [claim(0, 1, 1), claim(2, 3, 1)],
    "refused while the rod was free": [refused(0, 1, 0), claim(2, 3, 1, 2)],
    "told one left after both had gone": [claim(0, 1, 1, 2), refused(2, 3, 1)],
    "given back what nobody had": [release(0, 1, 1)],
    "sold again before it was given back": [claim(0, 1, 1), claim(2, 3, 1), release(4, 5, 1)],
}


@pytest.mark.parametrize("acts", GOOD)
def test_a_possible_history_passes(acts):
    assert possible(acts, on_beat=2)


@pytest.mark.parametrize("name", BAD)
def test_an_impossible_history_fails(name):
    assert not possible(BAD[name], on_beat=2)
