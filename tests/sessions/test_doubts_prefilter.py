"""The quick look at a group's least and greatest sizes misses no fish that `doubts` names."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from sessions.plausible import NAMES, ODD_LENGTHS_CM, doubts, may_hold_doubts

WEIGHTS = st.none() | st.decimals("0.05", "25", places=2)
LENGTHS = st.none() | st.decimals("10", "150", places=1)


def ends(sizes):
    known = [size for size in sizes if size is not None]
    return (min(known), max(known)) if known else (None, None)


@given(
    st.sampled_from(sorted(ODD_LENGTHS_CM)), st.integers(1, 12), st.lists(st.tuples(WEIGHTS, LENGTHS), min_size=1)
)
def test_no_doubtful_fish_is_missed(kind, month, fish):
    doubtful = any(doubts(kind, month=month, weight_kg=weight, length_cm=length) for weight, length in fish)
    weights, lengths = zip(*fish, strict=True)
    known = [(weight, length) for weight, length in fish if None not in (weight, length)]
    factors = [float(weight) * 100_000 / float(length) ** 3 for weight, length in known]
    found = may_hold_doubts(
        kind, month=month, weights_kg=ends(weights), lengths_cm=ends(lengths), factors=ends(factors)
    )
    assert found or not doubtful


def test_an_ordinary_day_is_not_looked_at_again():
    sizes = {
        "weights_kg": (Decimal("3.1"), Decimal("4.6")),
        "lengths_cm": (Decimal(68), Decimal(77)),
        "factors": (0.9, 1.1),
    }
    assert not may_hold_doubts("msw", month=6, **sizes)
    assert set(ODD_LENGTHS_CM) < set(NAMES)
