"""The web server's log of requests, in the same lines as everything else."""

import os

from django.conf import settings
from gunicorn.glogging import Logger

from config.logs.about import HEADER, request_id
from config.logs.lines import SHAPES
from config.logs.redaction import redacted


class Discreet(Logger):
    """Gunicorn's own, with every secret left out, and the id of the request the line is about."""

    def setup(self, cfg):
        super().setup(cfg)
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")  # it logs before it loads the service
        for handler in (*self.error_log.handlers, *self.access_log.handlers):
            handler.setFormatter(SHAPES[settings.LOG_FORMAT]())

    def access(self, resp, req, environ, request_time):
        told = {str(name).lower(): value for name, value in resp.headers}
        request_id.set(told.get(HEADER.lower(), ""))
        super().access(resp, req, environ, request_time)

    def atoms(self, resp, req, environ, request_time):
        told = super().atoms(resp, req, environ, request_time)
        return {name: redacted(value) if isinstance(value, str) else value for name, value in told.items()}
