"""What the settings make of an environment. Each is read in a process of its own, as in service.

`check --deploy` is Django's own deployment checklist
(docs.djangoproject.com/en/5.2/howto/deployment/checklist/).
"""

import json
import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KEY = "one-of-a-kind-zX4vQ9-for-these-tests-7Lm2Rk8-nothing-is-signed-with-it"
SHOW = """
import json
from config import settings as s
names = "DEBUG ALLOWED_HOSTS SECRET_KEY SECRET_KEY_FALLBACKS SECURE_SSL_REDIRECT SESSION_COOKIE_SECURE TEXT_NUMBER"
print(json.dumps({name: getattr(s, name) for name in names.split()} | {"db": str(s.DATABASES["default"]["NAME"])}))
"""
ASK = """
import sys, django
django.setup()
from django.test import Client
print(*(Client().get(path, headers={"host": sys.argv[1]}).status_code for path in sys.argv[2:]))
"""


def start(*command, **environment):
    """Run Python with this environment and nothing else of ours in it."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    return subprocess.run(
        [sys.executable, *command],
        env=kept | {"DJANGO_SETTINGS_MODULE": "config.settings"} | environment,
        cwd=ROOT, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip


def settings(**environment):
    done = start("-c", SHOW, **environment)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def asked(host, *paths, **environment):
    """The status plain http requests for these paths at `host` get."""
    done = start("-c", ASK, host, *paths, SECRET_KEY=KEY, **environment)
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


@pytest.fixture
def demo(tmp_path):
    return {"RODTALLY_DEMO": "1", "RODTALLY_DEMO_DIR": str(tmp_path / "demo")}


def test_without_a_secret_key_nothing_starts_and_the_reason_is_taught():
    done = start("manage.py", "check")
    assert done.returncode == 1
    assert done.stderr.splitlines()[-1] == (
        "django.core.exceptions.ImproperlyConfigured: SECRET_KEY is not set. Set it to at least 50 random "
        "characters, the same on every process. See .env.example."
    )


def test_an_empty_secret_key_is_none():
    assert start("-c", SHOW, SECRET_KEY="").returncode == 1


@pytest.mark.parametrize(
    ("gateway", "says"),
    [
        ({"GATEWAY_URL": "https://gateway.example.org/"}, "without GATEWAY_SECRETS"),
        ({"GATEWAY_URL": "http://gateway.example.org/", "GATEWAY_SECRETS": "whsec_" + "B" * 32}, "https://"),
        ({"GATEWAY_SECRETS": "whsec_c2hvcnQ="}, "at least 24 bytes"),
        ({"WATCH_PING_URL": "http://ping.example.org/"}, "https://"),
        ({"WEB_PUSH_KEY": "c2hvcnQ"}, "32 bytes in base64url"),
        ({"WEB_PUSH_KEY": "A" * 43}, "WEB_PUSH_KEY"),
        ({"WEB_PUSH_KEY": "not base64url!"}, "WEB_PUSH_KEY"),
    ],
)
def test_a_gateway_that_could_not_be_trusted_keeps_the_service_from_starting(gateway, says):
    done = start("-c", SHOW, SECRET_KEY=KEY, **gateway)
    assert (done.returncode, says in done.stderr.splitlines()[-1]) == (1, True), done.stderr


def test_everything_is_shut_unless_it_is_opened():
    assert settings(SECRET_KEY=KEY) | {"db": ""} == {
        "DEBUG": False, "ALLOWED_HOSTS": [], "SECRET_KEY": KEY, "SECRET_KEY_FALLBACKS": [],
        "SECURE_SSL_REDIRECT": True, "SESSION_COOKIE_SECURE": True, "db": "",
    }  # fmt: skip


def test_without_allowed_hosts_every_host_is_refused():
    assert asked("localhost", "/health/live") == ["400"]


def test_a_container_s_health_check_is_answered_over_plain_http_and_all_else_is_sent_on_to_https():
    found = asked("127.0.0.1:8000", "/health/live", "/api/v1/me/", ALLOWED_HOSTS="rods.example.org,127.0.0.1")
    assert found == ["200", "301"]


def test_spaces_and_stray_commas_make_no_empty_host_or_key():
    found = settings(SECRET_KEY=KEY, ALLOWED_HOSTS="a.example, b.example,", SECRET_KEY_FALLBACKS=",old-key, ")
    assert found["ALLOWED_HOSTS"] == ["a.example", "b.example"]
    assert found["SECRET_KEY_FALLBACKS"] == ["old-key"]


def test_the_demo_makes_a_secret_only_its_owner_can_read(demo, tmp_path):
    found = settings(**demo)
    secret = tmp_path / "demo" / "secret"
    assert found["SECRET_KEY"] == secret.read_text()
    assert len(found["SECRET_KEY"]) >= 50
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600


def test_the_demo_keeps_its_secret_and_every_demo_has_another(demo, tmp_path):
    first, again = settings(**demo), settings(**demo)
    other = settings(**demo | {"RODTALLY_DEMO_DIR": str(tmp_path / "another")})
    assert first["SECRET_KEY"] == again["SECRET_KEY"] != other["SECRET_KEY"]


def test_the_demo_never_touches_the_service_s_own_database_or_key(demo, tmp_path):
    found = settings(**demo, SECRET_KEY=KEY, DATABASE_URL=f"sqlite:///{tmp_path / 'ours.sqlite3'}")
    assert found["db"] == str(tmp_path / "demo" / "rodtally.sqlite3")
    assert found["SECRET_KEY"] != KEY


def test_the_demo_s_guests_are_shown_a_number_that_reaches_nobody(demo):
    """07700 900000 to 900999 are kept for drama: Ofcom, "Telephone numbers for use in TV and radio drama"."""
    assert re.fullmatch(r"\+447700900\d{3}", settings(**demo, TEXT_NUMBER="+441632960001")["TEXT_NUMBER"])
    assert settings(SECRET_KEY=KEY)["TEXT_NUMBER"] == ""


def test_django_s_deployment_check_has_nothing_to_say(tmp_path):
    done = start(
        "manage.py", "check", "--deploy", "--fail-level", "WARNING",
        SECRET_KEY=KEY, ALLOWED_HOSTS="rods.example.org", DATABASE_URL=f"sqlite:///{tmp_path / 'a.sqlite3'}",
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (0, "System check identified no issues (0 silenced).\n"), done.stderr


def test_django_s_deployment_check_speaks_up_about_plain_http(tmp_path):
    done = start(
        "manage.py", "check", "--deploy", "--fail-level", "WARNING", SECRET_KEY=KEY, INSECURE_HTTP="true",
        ALLOWED_HOSTS="rods.example.org", DATABASE_URL=f"sqlite:///{tmp_path / 'a.sqlite3'}",
    )  # fmt: skip
    assert done.returncode == 1
    assert "security.W008" in done.stderr
