"""Answers that are no JSON: made text or bytes, sent as they are, with headers that let nothing else in."""

from rest_framework.renderers import BaseRenderer, JSONRenderer

PRIVATE = {"Cache-Control": "private", "Referrer-Policy": "no-referrer"}
NOTHING_FETCHED = {"Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'"}


class MadeRenderer(BaseRenderer):
    """Text or bytes that are ready to go; a problem document goes as JSON."""

    charset = "utf-8"

    def render(self, data, accepted_media_type=None, renderer_context=None):  # noqa: ARG002
        return JSONRenderer().render(data) if isinstance(data, dict) else data


class PictureRenderer(MadeRenderer):
    media_type = "image/svg+xml"
    format = "svg"
