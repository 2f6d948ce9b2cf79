import sqlite3
import uuid
from contextlib import closing
from urllib.parse import urlsplit, urlunsplit

import psycopg
import pytest

from tests.config.elsewhere import SERVER


@pytest.fixture
def elsewhere(tmp_path):
    """A database of the same kind without tables: its address, and a way to read it around Django."""
    if not SERVER:
        path = tmp_path / "elsewhere.sqlite3"
        yield f"sqlite:///{path}", lambda: closing(sqlite3.connect(path))
        return
    name = f"restored_{uuid.uuid4().hex[:8]}"
    with psycopg.connect(SERVER, autocommit=True) as own:
        own.execute(f"CREATE DATABASE {name}")
    url = urlunsplit(urlsplit(SERVER)._replace(path=f"/{name}"))
    yield url, lambda: psycopg.connect(url)
    with psycopg.connect(SERVER, autocommit=True) as own:
        own.execute(f"DROP DATABASE {name} WITH (FORCE)")
