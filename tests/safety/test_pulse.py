"""manage.py pulse: what a container's health check hears."""

import datetime as dt
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from beats.shared import words
from safety.services.sweep import beat_pulse, sweep

pytestmark = pytest.mark.django_db


def test_before_the_first_sweep_it_says_that_nobody_watches():
    with pytest.raises(CommandError, match=r"^The watch has not swept yet\. Nobody is being watched"):
        call_command("pulse")


def test_after_a_sweep_it_says_when():
    now = timezone.now()
    sweep(now=now)
    out = StringIO()
    call_command("pulse", stdout=out)
    assert out.getvalue() == f"The watch last swept at {words.instant(now)} UTC.\n"


def test_a_watch_that_stopped_is_a_failure():
    beat_pulse("sweep", now=timezone.now() - dt.timedelta(minutes=5))
    with pytest.raises(CommandError, match="The watch has not swept since") as failure:
        call_command("pulse")
    assert failure.value.returncode == 1
