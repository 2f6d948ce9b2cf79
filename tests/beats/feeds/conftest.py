"""The feed that a test may play."""

import pytest

from tests.beats.feeds.server import playing


@pytest.fixture
def feed():
    with playing() as feed:
        yield feed
