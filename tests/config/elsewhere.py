"""Another database of the same kind as the suite's, and the service's own commands run on it."""

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings

ROOT = Path(__file__).parents[2]
SERVER = os.environ.get("TEST_DATABASE_URL")


def run(url, *words):
    environment = {key: value for key, value in os.environ.items() if not key.startswith("TEST_")}
    environment |= {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "config.settings"}
    environment |= {"SECRET_KEY": settings.SECRET_KEY, "INSECURE_HTTP": "1"}
    return subprocess.run(
        [sys.executable, "manage.py", *map(str, words)],
        env=environment, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
