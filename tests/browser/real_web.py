"""The real web server on the test's own database: a process that can be killed and started again."""

import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from django.conf import settings
from django.db import connection

from tests import servers
from tests.processes.service import COMPOSE, ROOT, kill


class RealWeb:
    """Compose's own command, on one port for the whole of its life."""

    def __init__(self) -> None:
        self.port, self.process = servers.free_port(), None
        self.url = f"http://127.0.0.1:{self.port}"
        self.log = Path(tempfile.mkdtemp(prefix="rodtally-web-")) / "web.log"

    def up(self) -> None:
        """Start it, if it is not up, and wait until it answers."""
        if self.process is None:
            words = [
                f"127.0.0.1:{self.port}" if word == "0.0.0.0:8000" else word for word in COMPOSE["web"]["command"]
            ]
            with self.log.open("ab") as log:
                self.process = subprocess.Popen(
                    [sys.executable, "-m", words[0], *words[1:]], cwd=ROOT, env=_environment(),
                    stdin=subprocess.DEVNULL, stdout=log, stderr=log, start_new_session=True,
                )  # fmt: skip
        end = time.monotonic() + 40
        while not self._answers():
            assert time.monotonic() < end, self.log.read_text(errors="replace")[-3000:]
            time.sleep(0.1)

    def dies(self) -> None:
        """SIGKILL, and all its children: nothing is said, nothing is finished."""
        if self.process is not None:
            kill(self.process)
        self.process = None

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.url}/sign-in/", timeout=5):
                return True
        except OSError:  # not there yet, or slow to come
            return False


def _environment() -> dict[str, str]:
    name = connection.settings_dict["NAME"]
    server = os.environ.get("TEST_DATABASE_URL", "").rpartition("/")[0]
    return os.environ | {
        "DJANGO_SETTINGS_MODULE": "tests.browser.web_settings",
        "SECRET_KEY": settings.SECRET_KEY,
        "ALLOWED_HOSTS": "127.0.0.1",
        "INSECURE_HTTP": "1",
        "EMAIL_URL": "memory://",
        "DATABASE_URL": f"sqlite:///{name}" if connection.vendor == "sqlite" else f"{server}/{name}",
        "REDIS_URL": os.environ["TEST_REDIS_URL"],
    }
