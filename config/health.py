"""Is the process up, is the database there, is the watch alive? Asked by orchestrators, without a token."""

from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.utils import timezone

from safety.queries import watch_health
from safety.services.opportunity import sweep_if_stale


def live(_request: HttpRequest) -> JsonResponse:
    return JsonResponse({"status": "up"})


def ready(_request: HttpRequest) -> JsonResponse:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return JsonResponse({"status": "no database"}, status=503)
    return JsonResponse({"status": "ready"})


def watch(_request: HttpRequest) -> JsonResponse:
    """503 with what is wrong, in words, when nobody may be watching.

    `undelivered` is a figure, never a fault: messages that wait for a keeper.
    """
    try:
        now = timezone.now()
        sweep_if_stale(now=now)
        health = watch_health(now=now)
    except DatabaseError:
        faults = ["The database does not answer. Nobody is being watched: ring round."]
        return JsonResponse({"faults": faults, "swept_at": None, "undelivered": None}, status=503)
    body = {"faults": list(health.faults), "swept_at": health.swept_at, "undelivered": health.undelivered}
    return JsonResponse(body, status=503 if health.faults else 200)
