"""The API document at its address."""

from functools import lru_cache

from django.http import HttpResponse
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView
from rest_framework.views import APIView

from config.schema import Document


class TheDocument(APIView):
    """As YAML or JSON. What else is asked with it changes nothing: the library's own view puts it in a header."""

    renderer_classes = SpectacularAPIView.renderer_classes
    permission_classes = SpectacularAPIView.permission_classes
    authentication_classes = SpectacularAPIView.authentication_classes

    @extend_schema(exclude=True)
    def get(self, request):
        renderer = request.accepted_renderer
        named = {"Content-Disposition": f'inline; filename="Rodtally.{renderer.format}"'}
        return HttpResponse(_written(type(renderer)), content_type=renderer.media_type, headers=named)


@lru_cache(maxsize=4)
def _written(renderer_class) -> bytes:
    """Written once a process: to write it takes half a second, and anybody may ask."""
    return renderer_class().render(Document().get_schema(), renderer_context={})
