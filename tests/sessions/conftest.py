"""The water without the watch above it: whether somebody watches is asked in tests/safety."""

import pytest

from sessions import guards


@pytest.fixture(autouse=True)
def _nobody_objects(monkeypatch):
    monkeypatch.setattr(guards, "_guards", [])
