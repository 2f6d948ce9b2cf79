"""Web, watch, worker and scheduler in one process, under one Ctrl-C. For the demo only.

The broker is memory inside this process. Since every task asks the database what is due, what it
loses costs seconds.
"""

import contextlib
import socketserver
import threading
from collections.abc import Iterator
from wsgiref.simple_server import make_server

from celery.beat import EmbeddedService
from celery.contrib.testing.worker import start_worker
from django.core.servers.basehttp import WSGIRequestHandler, WSGIServer
from django.core.wsgi import get_wsgi_application

from config.celery import app
from safety.services.watching import Watcher


class _Server(socketserver.ThreadingMixIn, WSGIServer):
    daemon_threads = True
    allow_reuse_address = True


class _Quiet(WSGIRequestHandler):
    def log_message(self, *_args):
        """The demo's screen is for the demo."""


@contextlib.contextmanager
def running(port: int) -> Iterator[None]:
    """Everything up; down again when the block ends. Raises OSError when the port is taken."""
    server = make_server("127.0.0.1", port, get_wsgi_application(), server_class=_Server, handler_class=_Quiet)
    app.set_current()
    app.loader.import_default_modules()
    web = threading.Thread(target=server.serve_forever, name="web", daemon=True)
    scheduler = EmbeddedService(app, thread=True, scheduler_cls="celery.beat:Scheduler")
    watcher = Watcher(every_s=2.0)
    with start_worker(app, pool="solo", perform_ping_check=False, loglevel="warning"):
        web.start()
        watcher.start()
        scheduler.start()
        try:
            yield
        finally:
            scheduler.stop()
            watcher.stop(within_s=5.0)
            server.shutdown()
            server.server_close()
