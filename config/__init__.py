"""Wiring only: settings, URLs, Celery, problem documents, pagination, schema, health."""

from config.celery import app as celery_app

__all__ = ["celery_app"]
