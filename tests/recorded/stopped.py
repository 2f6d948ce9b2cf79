"""A world that is the same in every run: the clock stands, what is random is drawn from a seed, ids begin at 1."""

import os
import random
from contextlib import ExitStack, contextmanager
from unittest import mock

import factory
import time_machine
from django.apps import apps
from django.core.management.color import no_style
from django.db import connection

from tests import factories

MOMENT = factories.NOON


@contextmanager
def stopped():
    """Everything within happens at MOMENT."""
    for made in vars(factories).values():
        if isinstance(made, type) and issubclass(made, factory.Factory) and made._meta.model is not None:
            made.reset_sequence(0, force=True)
    count_on()
    with time_machine.travel(MOMENT, tick=False), seeded("world"):
        yield


def count_on() -> None:
    """The next id of each table follows the last that is there: PostgreSQL takes no number back by itself."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("\n".join(connection.ops.sequence_reset_sql(no_style(), apps.get_models())))
        else:
            for model in apps.get_models():
                table = connection.ops.quote_name(model._meta.db_table)
                last = f"(SELECT coalesce(max(rowid), 0) FROM {table})"
                cursor.execute(f"UPDATE sqlite_sequence SET seq = {last} WHERE name = %s", [model._meta.db_table])


@contextmanager
def seeded(seed: str):
    """Tokens, keys and codes made within depend on the seed alone."""
    dice = random.Random(seed)
    with ExitStack() as stack:
        for module, name in ((random, "_urandom"), (os, "urandom")):
            stack.enter_context(mock.patch.object(module, name, dice.randbytes))
        yield
