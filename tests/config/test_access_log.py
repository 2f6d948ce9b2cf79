"""What the web server writes down of a request: never a calendar's secret."""

import datetime as dt
import io
from types import SimpleNamespace

import yaml
from gunicorn.config import Config

from config.access_log import Discreet
from tests.config.test_compose import COMPOSE

SECRET = "Zm9vYmFyYmF6cXV4-_0123456789"  # invented


def line(path):
    """One line of the log, by gunicorn's own format, as its handler writes it."""
    environ = {"REQUEST_METHOD": "GET", "RAW_URI": path, "PATH_INFO": path, "QUERY_STRING": "",
               "SERVER_PROTOCOL": "HTTP/1.1", "REMOTE_ADDR": "192.0.2.1"}  # fmt: skip
    answer = SimpleNamespace(status="200 OK", sent=10, headers=[])
    request = SimpleNamespace(headers=[("REFERER", f"https://rods.example.org{path}")])
    config = Config()
    config.set("accesslog", "-")
    logger, written = Discreet(config), io.StringIO()
    handler = logger.access_log.handlers[-1]
    handler.setStream(written)
    logger.access(answer, request, environ, dt.timedelta(seconds=1))
    return written.getvalue()


def test_a_calendar_s_secret_is_left_out_wherever_it_stands():
    told = line(f"/api/v1/feeds/{SECRET}.ics")
    assert (SECRET in told, "/api/v1/feeds/....ics" in told) == (False, True)


def test_every_other_address_is_written_as_it_came():
    assert "GET /api/v1/lets/12/ HTTP/1.1" in line("/api/v1/lets/12/")


def test_the_web_of_the_compose_file_logs_by_it():
    command = yaml.safe_load(COMPOSE.read_text(encoding="utf-8"))["services"]["web"]["command"]
    assert command[command.index("--logger-class") + 1] == f"{Discreet.__module__}.{Discreet.__name__}"
