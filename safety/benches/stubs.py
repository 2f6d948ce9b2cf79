"""A mail server that takes its time and a gateway that does not, on this machine's loopback."""

import contextlib
import datetime as dt
import ipaddress
import json
import socketserver
import ssl
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from beats.outbound import Door

HOST = "gateway.example.org"
REPLIES = 6
"""A letter takes so many replies (RFC 5321): greeting, EHLO, MAIL, RCPT, DATA, and the one after the text."""


@dataclass
class Taken:
    """What a server accepted, and when by the monotonic clock."""

    at_s: float
    recipient: str
    subject: str
    message_id: str = ""


@dataclass
class Mail:
    """A mail server: `letter_s` seconds a letter, 550 for the addresses of `refused`."""

    letter_s: float = 0.0
    refused: set[str] = field(default_factory=set)
    taken: list[Taken] = field(default_factory=list)
    began: int = 0
    port: int = 0


class _Session(socketserver.StreamRequestHandler):
    def handle(self) -> None:
        mail: Mail = self.server.mail
        recipient = ""
        self._reply(mail, "220 stub")
        while line := self.rfile.readline().decode(errors="replace").strip():
            word = line[:4].upper()
            if word == "MAIL":
                mail.began += 1
            if word == "RCPT":
                recipient = line[line.find("<") + 1 : line.find(">")]
                if recipient in mail.refused:
                    self._reply(mail, "550 5.1.1 no such user")
                    continue
            if word == "QUIT":
                return
            if word == "DATA":
                self._reply(mail, "354 go on")
                headers = self._text()
                self._reply(mail, "250 taken")
                subject, message_id = headers.get("subject", ""), headers.get("message-id", "")
                mail.taken.append(Taken(time.monotonic(), recipient, subject, message_id))
                continue
            self._reply(mail, "250 stub")

    def _text(self) -> dict[str, str]:
        headers: dict[str, str] = {}
        while (line := self.rfile.readline().decode(errors="replace")) not in (".\r\n", ""):
            name, colon, value = line.partition(":")
            if colon:
                headers.setdefault(name.lower(), value.strip())
        return headers

    def _reply(self, mail: Mail, text: str) -> None:
        time.sleep(mail.letter_s / REPLIES)
        self.wfile.write(f"{text}\r\n".encode())


class _MailServer(socketserver.ThreadingTCPServer):
    allow_reuse_address = True
    daemon_threads = True
    block_on_close = False
    request_queue_size = 64
    mail: Mail

    def handle_error(self, *_who) -> None:
        """A client that hangs up is no news."""


@contextlib.contextmanager
def mail_server(*, letter_s: float = 0.0, refused: set[str] | None = None) -> Iterator[Mail]:
    mail = Mail(letter_s=letter_s, refused=refused or set())
    server = _MailServer(("127.0.0.1", 0), _Session)
    server.mail, mail.port = mail, server.server_address[1]
    threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    try:
        yield mail
    finally:
        server.shutdown()
        server.server_close()


@dataclass
class Gateway:
    """A gateway for texts and calls by https; `refused` numbers get 400."""

    refused: set[str] = field(default_factory=set)
    taken: list[Taken] = field(default_factory=list)
    port: int = 0
    certificate: str = ""

    @property
    def url(self) -> str:
        return f"https://{HOST}:{self.port}/messages"

    def door(self) -> Door:
        """The way to this gateway, which lies inside and would be refused by the usual one."""
        return Door(look_up=lambda _host, _port: ["127.0.0.1"], allowed=lambda _address: True, trust=self._trust)

    def _trust(self) -> ssl.SSLContext:
        return ssl.create_default_context(cafile=self.certificate)


@contextlib.contextmanager
def gateway() -> Iterator[Gateway]:
    found = Gateway()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            data = json.loads(self.rfile.read(int(self.headers["Content-Length"])))["data"]
            bad = data["to"] in found.refused
            if not bad:
                found.taken.append(Taken(time.monotonic(), data["to"], data["text"], data["reference"]))
            body = json.dumps({"id": data["reference"][:8]}).encode()
            self.send_response(400 if bad else 200)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_args) -> None:
            """The screen is the benchmark's."""

    with tempfile.TemporaryDirectory() as folder:
        found.certificate = _certificate(Path(folder))
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(found.certificate, Path(folder) / "key.pem")
        server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
        server.daemon_threads = True
        found.port = server.server_address[1]
        threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
        try:
            yield found
        finally:
            server.shutdown()
            server.server_close()


def _certificate(folder: Path) -> str:
    """One for HOST, for a day, signed by itself."""
    key, name = ec.generate_private_key(ec.SECP256R1()), x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, HOST)])
    now, day = dt.datetime.now(dt.UTC), dt.timedelta(days=1)
    names = x509.SubjectAlternativeName([x509.DNSName(HOST), x509.IPAddress(ipaddress.ip_address("127.0.0.1"))])
    built = (
        x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
        .serial_number(x509.random_serial_number()).not_valid_before(now - day).not_valid_after(now + day)
        .add_extension(names, critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True).sign(key, hashes.SHA256())
    )  # fmt: skip
    (folder / "key.pem").write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
    )
    path = folder / "certificate.pem"
    path.write_bytes(built.public_bytes(serialization.Encoding.PEM))
    return str(path)
