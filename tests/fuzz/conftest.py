"""A world to ask about, and a count of the questions."""

import sys

import pytest
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.utils import timezone

from beats.authentication import issue_token
from tests.config.world import build

OF_THE_DOCUMENT = {"test_fuzz.py", "test_days.py"}


def pytest_ignore_collect(collection_path, config):
    """To read the document and find what leads where takes a quarter of a minute: only if it is asked for."""
    return True if collection_path.name in OF_THE_DOCUMENT and "fuzz" not in config.option.markexpr else None


@pytest.fixture(scope="session")
def asked(request):
    """How many questions there were: said at the end, whatever pytest keeps back."""
    count = {"questions": 0}
    yield count
    with request.config.pluginmanager.getplugin("capturemanager").global_and_fixture_disabled():
        sys.stdout.write(f"\n{count['questions']} questions asked\n")


@pytest.fixture(autouse=True)
def _one_connection():
    """Django's own test client does the same: the connection is the test's, not the request's."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def world(db):
    world = build()
    tokens = {
        who: issue_token(user, label="fuzz", now=timezone.now()) for who, user in world.people.items() if user
    }
    return world, tokens
