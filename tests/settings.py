"""The service's own settings, with an environment the suite can run in."""

import os
import tempfile
from pathlib import Path

os.environ.setdefault("SECRET_KEY", "a key for tests only, long enough for the check of deployments 0123456789")
os.environ["INSECURE_HTTP"] = "1"
os.environ["EMAIL_URL"] = "memory://"
os.environ["DATABASE_URL"] = os.environ.get("TEST_DATABASE_URL") or "sqlite:///unused-by-tests.sqlite3"
os.environ.setdefault("ALLOWED_HOSTS", "testserver,localhost,127.0.0.1")

from config.settings import *  # noqa: F403
from config.settings import DATABASES

WHITENOISE_AUTOREFRESH = True
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file, not memory: threads and processes must meet the same locks as in production.
    DATABASES["default"]["TEST"] = {"NAME": str(Path(tempfile.mkdtemp(prefix="rodtally-")) / "test.sqlite3")}
