"""The two shapes of a log line: JSON for machines, plain text for the demo's screen. Both hide secrets."""

import datetime as dt
import logging

from pythonjsonlogger.json import JsonFormatter

from config.logs.about import outing_id, request_id
from config.logs.redaction import redacted

NAMES = {"levelname": "level", "name": "logger"}


class Json(JsonFormatter):
    """One object a line: time, level, logger, message, request_id and outing_id where there is one, extras."""

    def __init__(self):
        super().__init__("%(levelname)s %(name)s %(message)s", rename_fields=NAMES)

    def add_fields(self, log_data, record, message_dict):
        super().add_fields(log_data, record, message_dict)
        log_data["time"] = dt.datetime.fromtimestamp(record.created, dt.UTC).isoformat(timespec="milliseconds")
        if request := request_id.get():
            log_data.setdefault("request_id", request)
        if (outing := outing_id.get()) is not None:
            log_data.setdefault("outing_id", outing)

    def process_log_record(self, log_data):
        told = super().process_log_record(log_data)
        return {name: _hidden(value) for name, value in told.items()}


class Plain(logging.Formatter):
    """Time, level, logger and message, for reading by eye."""

    def __init__(self):
        super().__init__("%(asctime)s %(levelname)s %(name)s %(message)s")

    def format(self, record):
        return redacted(super().format(record))


def _hidden(value):
    """Numbers and truths as they are; anything else may hold words, however deep."""
    if isinstance(value, dict):
        return {name: _hidden(each) for name, each in value.items()}
    if isinstance(value, list | tuple | set):
        return [_hidden(each) for each in value]
    if value is None or isinstance(value, int | float):
        return value
    return redacted(str(value))


SHAPES = {"json": Json, "text": Plain}
