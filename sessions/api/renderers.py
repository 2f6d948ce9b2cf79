"""What leaves the service as a file."""

import csv
import io

from rest_framework.renderers import BaseRenderer, JSONRenderer


class CsvRenderer(BaseRenderer):
    """Lines of cells as RFC 4180."""

    media_type = "text/csv"
    format = "csv"
    charset = "utf-8"

    def render(self, data, accepted_media_type=None, renderer_context=None):  # noqa: ARG002
        if not isinstance(data, list):  # a problem document
            return JSONRenderer().render(data)
        text = io.StringIO()
        csv.writer(text).writerows(data)
        return text.getvalue().encode()


class FileRenderer(BaseRenderer):
    """Bytes that are ready to go; a problem document goes as JSON."""

    charset = None

    def render(self, data, accepted_media_type=None, renderer_context=None):  # noqa: ARG002
        return data if isinstance(data, bytes) else JSONRenderer().render(data)


class PdfRenderer(FileRenderer):
    media_type = "application/pdf"
    format = "pdf"


class XlsxRenderer(FileRenderer):
    media_type = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    format = "xlsx"


class SvgRenderer(FileRenderer):
    media_type = "image/svg+xml"
    format = "svg"
