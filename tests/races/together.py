"""Doing several things at the same moment, each on a connection of its own."""

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from django.db import connection


def at_once(calls: Sequence[Callable[[], Any]]) -> list[Any]:
    """What each call answered, or the exception it raised, in order; all start together."""
    start = threading.Barrier(len(calls), timeout=20)

    def run(call: Callable[[], Any]) -> Any:
        try:
            start.wait()
            return call()
        except Exception as error:  # noqa: BLE001 - the exception is the answer
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as threads:
        return list(threads.map(run, calls))


def kinds(answers: Sequence[Any]) -> list[str]:
    """The names of the answers' types, sorted, for comparing with what should have come."""
    return sorted(type(answer).__name__ for answer in answers)
