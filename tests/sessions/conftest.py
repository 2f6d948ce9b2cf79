"""The water without the watch above it: whether somebody watches is asked in tests/safety."""

import pytest

from sessions import guards


@pytest.fixture(autouse=True)
def _without_the_watch(monkeypatch):
    for registered in ("_limiters", "_explainers", "_listeners"):
        monkeypatch.setattr(guards, registered, [])
