"""The runbook names nothing that does not exist: commands, settings, addresses, services, figures or
words of the log."""

import re
from pathlib import Path

import pytest
import yaml
from django.core.management import get_commands, load_command_class
from django.urls import resolve
from django.utils import timezone

from config.metrics.figures import Figures
from tests.config.test_compose import COMPOSE, documented

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "config" / "RUNBOOK.md").read_text(encoding="utf-8")
QUOTED = re.findall(r"`([^`]+)`", TEXT)
COMMANDS = sorted(set(re.findall(r"manage\.py (\w+)((?: --?[\w-]+)*)", TEXT)))
ADDRESSES = sorted({word for word in QUOTED if word.startswith("/")})
SETTINGS = sorted({word for word in QUOTED if re.fullmatch(r"[A-Z]+(_[A-Z]+)+", word)})
COMPOSE_VERBS = {"ps", "exec", "run", "restart", "logs", "up"}


@pytest.mark.parametrize(("command", "flags"), COMMANDS)
def test_every_command_exists_with_its_flags(command, flags):
    """What `manage.py help COMMAND` prints."""
    help_text = (
        load_command_class(get_commands()[command], command).create_parser("manage.py", command).format_help()
    )
    assert [flag for flag in flags.split() if flag not in help_text] == []


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_address_is_a_route(address):
    assert resolve(address.replace("FISHERY", "durrisk-water"))


def test_every_setting_is_one_of_the_example():
    assert set(SETTINGS) <= set(documented())


def test_every_service_is_one_of_compose():
    services = yaml.safe_load(COMPOSE.read_text(encoding="utf-8"))["services"]
    for words in re.findall(r"docker compose (\w+)((?: (?:-d |--rm )?[\w-]+)*)", TEXT):
        verb, rest = words[0], words[1].replace("-d", "").replace("--rm", "").split()
        named = rest[:1] if verb in ("exec", "run") else rest
        assert verb in COMPOSE_VERBS
        assert set(named) <= set(services), words


def test_every_word_to_look_for_in_the_log_is_one_that_is_written():
    code = "".join(path.read_text() for path in (ROOT / "safety").rglob("*.py"))
    for words in ("could not handle", "was not taken", "still to come", "have not left", "without an alarm"):
        assert words in TEXT.replace("Messages have", "messages have").replace("Overdue", "overdue"), words
        assert words in code, words


@pytest.mark.django_db
def test_every_figure_is_told():
    told = {family.name for family in Figures(timezone.now()).collect()}
    assert set(re.findall(r"rodtally_\w+", TEXT)) <= told


def test_these_were_found_at_all():
    assert len(COMMANDS) >= 5
    assert {"/health/watch", "/health/ready", "/metrics"} <= set(ADDRESSES)
    assert {"GATEWAY_URL", "GATEWAY_SECRETS", "EMAIL_URL"} <= set(SETTINGS)


def test_999_and_the_coastguard_come_first():
    first = TEXT.split("\n## ")[1]
    assert first.startswith("Somebody is missing")
    assert all(word in first.splitlines()[2] for word in ("999 or 112", "Coastguard"))
