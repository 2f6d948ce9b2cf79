"""An answer as text that can be compared and read: its status, its kind, and what it says."""

import io
import json

import pyarrow.parquet as pq
from openpyxl import load_workbook
from pypdf import PdfReader

HEADERS = ("Content-Type", "Content-Disposition", "Location", "ETag", "Cache-Control")


def as_text(answer) -> str:
    """Whole as it was sent, but for files: of those, the words and cells that a reader finds in them."""
    head = [f"{name}: {answer[name]}" for name in HEADERS if name in answer]
    return "\n".join([str(answer.status_code), *head, "", _body(answer)]).rstrip() + "\n"


def _body(answer) -> str:
    data = b"".join(answer.streaming_content) if answer.streaming else answer.content
    kind = answer.get("Content-Type", "")
    read = next((read for name, read in KINDS.items() if name in kind), _size)
    return read(data) if data else ""


def _size(data) -> str:
    return f"{len(data)} bytes that nothing here reads"


def _api_document(_data) -> str:
    return "compared with config/openapi.yaml elsewhere"


def _json_lines(data) -> str:
    return "\n".join(json.dumps(json.loads(line)) for line in data.splitlines())


def _json(data) -> str:
    return json.dumps(json.loads(data), indent=1, ensure_ascii=False)


def _pdf(data) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def _workbook(data) -> str:
    return "\n".join(_sheet(sheet) for sheet in load_workbook(io.BytesIO(data)))


def _parquet(data) -> str:
    return json.dumps(pq.read_table(io.BytesIO(data)).to_pylist(), indent=1, default=str)


def _sheet(sheet) -> str:
    rows = (" | ".join("" if cell is None else str(cell) for cell in row) for row in sheet.values)
    return "\n".join([f"[{sheet.title}]", *rows])


KINDS = {
    "openapi": _api_document,
    "jsonl": _json_lines,
    "json": _json,
    "application/pdf": _pdf,
    "spreadsheet": _workbook,
    "parquet": _parquet,
    "text/": bytes.decode,
    "image/svg": bytes.decode,
    "javascript": bytes.decode,
    "manifest": bytes.decode,
}
"""How to read each kind of content, by a part of its name; the first that fits."""
