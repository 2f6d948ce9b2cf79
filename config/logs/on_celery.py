"""The request's id goes along with a task: in a header of its message, and back into the worker's lines."""

import logging.config

from celery.signals import before_task_publish, setup_logging, task_postrun, task_prerun
from django.conf import settings

from config.logs.about import outing_id, request_id, sane_or_new

KEY = "rodtally_request_id"


@setup_logging.connect
def as_in_the_web(**_signal):
    """Celery would lay handlers of its own upon ours."""
    logging.config.dictConfig(settings.LOGGING)


@before_task_publish.connect
def send_along(headers=None, **_signal):
    if headers is not None and (told := request_id.get()):
        headers[KEY] = told


@task_prerun.connect
def take_up(task=None, **_signal):
    """Whatever a scheduler sent has no request: it gets an id of its own, so that its lines hang together."""
    was = request_id.get(), outing_id.get()
    task.request.update(lines_before=was)
    headers = task.request.headers or {}  # where Celery puts them when no broker is between
    request_id.set(sane_or_new(task.request.get(KEY) or headers.get(KEY)))
    outing_id.set(None)


@task_postrun.connect
def put_back(task=None, **_signal):
    was = task.request.get("lines_before") or ("", None)
    request_id.set(was[0])
    outing_id.set(was[1])
