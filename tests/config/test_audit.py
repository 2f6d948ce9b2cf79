"""Known weaknesses of the libraries stop a change; nobody to ask about them does not."""

import http.server
import json
import subprocess
import threading
from pathlib import Path

import pytest

from tests import servers

ROOT = Path(__file__).parents[2]
WEAKNESS = {
    "id": "TEST-2026-1", "modified": "2026-01-01T00:00:00Z", "summary": "made up for this test",
    "affected": [{"package": {"ecosystem": "PyPI", "name": "django"}, "ranges": [
        {"type": "ECOSYSTEM", "events": [{"introduced": "0"}]}]}],
}  # fmt: skip


class Lists(http.server.BaseHTTPRequestHandler):
    """Answers as the OSV schema's querybatch and vulns do (https://google.github.io/osv.dev/api/)."""

    weak = ()

    def do_POST(self):
        asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))["queries"]
        self._say({"results": [self._known(query["package"]["name"]) for query in asked]})

    def do_GET(self):
        self._say(WEAKNESS)

    def _known(self, name):
        return {"vulns": [{"id": WEAKNESS["id"], "modified": WEAKNESS["modified"]}]} if name in self.weak else {}

    def _say(self, what):
        body = json.dumps(what).encode()
        self.send_response(200)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        pass


def audited(url, tmp_path):
    return subprocess.run(
        [ROOT / ".ci/audit", "--service-url", url, "--cache-dir", tmp_path], capture_output=True, text=True,
        timeout=120, check=False,
    )  # fmt: skip


@pytest.mark.skipif(not (ROOT / "uv.lock").exists(), reason="nothing is locked here: run uv lock")
@pytest.mark.parametrize(("weak", "code"), [((), 0), (("django",), 1)])
def test_a_library_of_known_weakness_stops_the_change(weak, code, monkeypatch, tmp_path):
    monkeypatch.setattr(Lists, "weak", weak)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Lists)
    threading.Thread(target=server.serve_forever).start()
    try:
        done = audited(f"http://127.0.0.1:{server.server_port}/", tmp_path)
    finally:
        server.shutdown()
        server.server_close()
    assert done.returncode == code, done.stdout + done.stderr
    assert (WEAKNESS["id"] in done.stdout) is bool(weak)
    assert "NOT audited" not in done.stdout


@pytest.mark.skipif(not (ROOT / "uv.lock").exists(), reason="nothing is locked here: run uv lock")
def test_nobody_to_ask_is_said_and_is_no_fault(tmp_path):
    done = audited(f"http://127.0.0.1:{servers.free_port()}/", tmp_path)
    assert (done.returncode, "NOT audited" in done.stdout) == (0, True), done.stdout + done.stderr
