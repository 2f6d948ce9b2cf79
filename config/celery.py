"""Celery's app. Tasks live in each app's `tasks.py` and are thin: one call, clock read once."""

import os

from celery import Celery

from config.logs import on_celery  # noqa: F401 - its signals

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
app = Celery("rodtally")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
