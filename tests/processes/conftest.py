"""A database and a broker of a module's own, which may be stopped, emptied and started again."""

import sys

import pytest

from tests import servers


@pytest.fixture(scope="module")
def database():
    with servers.postgres() as server:
        yield server


@pytest.fixture(scope="module")
def broker():
    broker = servers.Broker()
    broker.up()
    yield broker
    broker.down()


@pytest.fixture
def told_on_failure(service):
    """pytest shows what a test's teardown prints only when the test failed."""
    yield
    sys.stdout.write(service.said())
