"""What makes a page work on a phone without signal: the worker that keeps pages, and the mark on the screen."""

from importlib import resources

from django.http import HttpResponse, JsonResponse

from beats.pages.door import page

WORKER = resources.files("beats").joinpath("static/pages/worker.js").read_text(encoding="utf-8")


@page(public=True)
def worker(_request, *, now):  # noqa: ARG001
    """At the root, since a worker only serves what lies below it."""
    return HttpResponse(WORKER, content_type="text/javascript", headers={"Cache-Control": "no-cache"})


@page(public=True)
def manifest(_request, *, now):  # noqa: ARG001
    return JsonResponse(
        {
            "name": "Rodtally",
            "short_name": "Rodtally",
            "start_url": "/",
            "display": "standalone",
            "background_color": "#faf6ec",
            "theme_color": "#0d4f4a",
            "icons": [{"src": "/static/pages/mark.svg", "sizes": "any", "type": "image/svg+xml"}],
        },
        content_type="application/manifest+json",
    )
