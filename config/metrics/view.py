"""GET /metrics, for whoever holds METRICS_TOKEN.

Not by the caller's address: behind a proxy on the same machine everybody comes from loopback.
"""

import os
from hmac import compare_digest

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET
from prometheus_client import CollectorRegistry
from prometheus_client.exposition import choose_encoder
from prometheus_client.multiprocess import MultiProcessCollector

from config.metrics.figures import Figures
from config.metrics.requests import REQUESTS


@require_GET
def metrics(request: HttpRequest) -> HttpResponse:
    """Without a token set there is no such page; with a wrong one, 401."""
    if not settings.METRICS_TOKEN:
        raise Http404
    told = request.headers.get("Authorization", "")
    if not compare_digest(told.encode(), f"Bearer {settings.METRICS_TOKEN}".encode()):
        refusal = "Send Authorization: Bearer and the METRICS_TOKEN of the settings.\n"
        return HttpResponse(refusal, status=401, content_type="text/plain", headers={"WWW-Authenticate": "Bearer"})
    registry = CollectorRegistry()
    registry.register(Figures(timezone.now()))
    if "PROMETHEUS_MULTIPROC_DIR" in os.environ:
        MultiProcessCollector(registry)  # the counts of every process of this web
    else:
        registry.register(REQUESTS)
    encode, content_type = choose_encoder(request.headers.get("Accept", ""))
    return HttpResponse(encode(registry), content_type=content_type)
