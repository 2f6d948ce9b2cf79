"""The web server's log of requests, in the same lines as everything else."""

import os

from django.conf import settings
from gunicorn.glogging import Logger

from config.logs.about import HEADER, request_id
from config.logs.lines import SHAPES


class Discreet(Logger):
    """Gunicorn's own, with every secret left out by the shape of its lines, and the id of the request."""

    def setup(self, cfg):
        super().setup(cfg)
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")  # it logs before it loads the service
        for handler in (*self.error_log.handlers, *self.access_log.handlers):
            handler.setFormatter(SHAPES[settings.LOG_FORMAT]())

    def access(self, resp, req, environ, request_time):
        told = {str(name).lower(): value for name, value in resp.headers}
        request_id.set(told.get(HEADER.lower(), ""))
        super().access(resp, req, environ, request_time)
