"""Answers that are no JSON: made text or bytes, sent as they are, with headers that let nothing else in."""

import csv
import io

from rest_framework.renderers import BaseRenderer, JSONRenderer

PRIVATE = {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer"}
NOTHING_FETCHED = {"Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'"}


class MadeRenderer(BaseRenderer):
    """Text or bytes that are ready to go; a problem document goes as JSON."""

    charset = "utf-8"

    def render(self, data, accepted_media_type=None, renderer_context=None):  # noqa: ARG002
        return JSONRenderer().render(data) if isinstance(data, dict) else data


class TextRenderer(MadeRenderer):
    media_type = "text/plain"
    format = "txt"


class HtmlRenderer(MadeRenderer):
    media_type = "text/html"
    format = "html"


class PdfRenderer(MadeRenderer):
    media_type = "application/pdf"
    format = "pdf"
    charset = None
    render_style = "binary"


class WorkbookRenderer(MadeRenderer):
    media_type = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    format = "xlsx"
    charset = None
    render_style = "binary"


class CalendarRenderer(MadeRenderer):
    media_type = "text/calendar"
    format = "ics"


class PictureRenderer(MadeRenderer):
    media_type = "image/svg+xml"
    format = "svg"


class LinesRenderer(MadeRenderer):
    """Rows of cells as CSV (RFC 4180)."""

    media_type = "text/csv"
    format = "csv"

    def render(self, data, accepted_media_type=None, renderer_context=None):
        if isinstance(data, dict):
            return super().render(data, accepted_media_type, renderer_context)
        text = io.StringIO(newline="")
        csv.writer(text).writerows(data)
        return text.getvalue()
