"""The web server's log of requests, without the secrets that calendars carry in their addresses."""

import re

from gunicorn.glogging import Logger

SECRET = re.compile(r"(/feeds/)[^/\s?]+(\.ics)")


class Discreet(Logger):
    """Gunicorn's own, with the secret of a calendar's address left out of every line."""

    def atoms(self, resp, req, environ, request_time):
        told = super().atoms(resp, req, environ, request_time)
        return {name: _redacted(value) for name, value in told.items()}


def _redacted(value):
    return SECRET.sub(r"\1...\2", value) if isinstance(value, str) else value
