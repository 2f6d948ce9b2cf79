"""A local https server that plays a gauge's feed, and the door that leads to it and nowhere else.

Certificates are made for the run by an authority of the run's own; nothing outside is asked.
"""

import contextlib
import ssl
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import trustme

from beats.outbound import Door

NAME = "levels.example.org"
AUTHORITY = trustme.CA()


@dataclass
class Feed:
    """What the server says next, and what it was asked. `play` may take the connection over."""

    port: int = 0
    status: int = 200
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)
    play: Callable[[BaseHTTPRequestHandler], None] | None = None
    asked: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    told: list[tuple[str, dict[str, str], bytes]] = field(default_factory=list)
    handler: type[BaseHTTPRequestHandler] | None = None

    def url(self, path="/series?id=1", host=NAME) -> str:
        return f"https://{host}:{self.port}{path}"

    def door(self, *, addresses=("127.0.0.1",)) -> Door:
        """Every name leads to the server's own machine, which the real door would refuse."""
        return Door(look_up=lambda _host, _port: list(addresses), allowed=lambda _address: True, trust=trust)


def trust() -> ssl.SSLContext:
    context = ssl.create_default_context()
    AUTHORITY.configure_trust(context)
    return context


@contextlib.contextmanager
def playing(name: str = NAME) -> Iterator[Feed]:
    """A server whose certificate is for `name`."""
    feed = Feed()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self):
            feed.asked.append((self.path, dict(self.headers)))
            if feed.play:
                return feed.play(self)
            self.send_response(feed.status)
            for key, value in feed.headers.items():
                self.send_header(key, value)
            self.send_header("Content-Length", str(len(feed.body)))
            self.end_headers()
            return self.wfile.write(b"" if feed.status == 304 else feed.body)

        def do_POST(self):
            length = int(self.headers.get("Content-Length", 0))
            feed.told.append((self.path, dict(self.headers), self.rfile.read(length)))
            self.do_GET()

        def log_message(self, *_args):
            """The suite's screen is the suite's."""

    feed.handler = Handler
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    AUTHORITY.issue_cert(name).configure_cert(context)
    server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    server.daemon_threads = True
    feed.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield feed
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
