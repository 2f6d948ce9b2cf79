"""The one door through which the service fetches from, and posts to, an address that somebody wrote down.

https only, and never to an address inside: a name is resolved once, every address it has is judged,
and the connection goes to the very address that was judged, so that a name which resolves otherwise
a moment later gains nothing. The certificate is still checked against the name. Nothing follows a
redirect, nothing is unpacked, and both size and time are bounded.
"""

import ipaddress
import socket
import ssl
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

import urllib3
from urllib3.exceptions import ConnectTimeoutError, HTTPError, LocationParseError, NewConnectionError, SSLError

Came = TypeVar("Came")
Address = ipaddress.IPv4Address | ipaddress.IPv6Address
MAX_BYTES = 2 * 1024 * 1024
CONNECT_S, READ_S, ALL_S = 5.0, 10.0, 20.0
MOST_ADDRESSES = 3
TUNNELS = tuple(
    ipaddress.ip_network(text)
    for text in (
        "192.0.0.0/24", "192.88.99.0/24", "2001::/23", "2001:db8::/32", "2002::/16", "3fff::/20",
    )
)  # fmt: skip
"""Ranges of the IANA special-purpose registries that not every Python calls special; the tunnels among
them (Teredo, 6to4) could carry a packet to an address inside."""
NATIVE = ipaddress.ip_network("2000::/3")  # global unicast; leaves out mapped, translated and local ones


NEVER_STOOD = (ConnectTimeoutError, NewConnectionError, SSLError)
"""Faults before anything was said to the other side."""


class NotFetched(Exception):
    """Nothing usable came; the message says why, for whoever keeps the gauge."""

    def __init__(self, sentence: str, *, retry_after_s: int = 0) -> None:
        super().__init__(sentence)
        self.retry_after_s = retry_after_s


class NotTaken(NotFetched):
    """The other side was reached and answered that it does not take what was posted."""

    def __init__(self, sentence: str, *, status: int, retry_after_s: int = 0) -> None:
        super().__init__(sentence, retry_after_s=retry_after_s)
        self.status = status


@dataclass(frozen=True)
class Fetched:
    """What came. `body` is None when the server says that nothing changed."""

    body: bytes | None
    etag: str | None
    modified: str | None


def is_public(address: Address) -> bool:
    """Whether an address lies on the open net: none that is private, local, shared, reserved or a tunnel."""
    if isinstance(address, ipaddress.IPv6Address) and address not in NATIVE:
        return False
    inside = address.is_multicast or address.is_reserved or any(address in net for net in TUNNELS)
    return address.is_global and not inside


def look_up(host: str, port: int) -> list[str]:
    """The addresses of a name, by the system's resolver."""
    return [str(found[4][0]) for found in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]


@dataclass(frozen=True)
class Door:
    """How to get out. Left as it is, only public addresses and the system's certificates will do."""

    look_up: Callable[[str, int], list[str]] = look_up
    allowed: Callable[[Address], bool] = is_public
    trust: Callable[[], ssl.SSLContext] = ssl.create_default_context


OUT = Door()


def fetch(url: str, *, etag: str | None = None, modified: str | None = None, door: Door = OUT) -> Fetched:
    """GET an https address, asking for it only if it changed. Raises NotFetched."""
    asked = {"If-None-Match": etag} if etag else {}
    asked |= {"If-Modified-Since": modified} if modified else {}
    ends = time.monotonic() + ALL_S
    return _through(door, url, asked, lambda pool, path, headers: _ask(pool, path, headers, ends))


def post(url: str, *, body: bytes, headers: Mapping[str, str], door: Door = OUT) -> int:
    """POST to an https address by the same rules; JSON, unless the headers say otherwise.

    The status, one of 2xx. What the other side answers beyond it is not read. Raises NotFetched, NotTaken.
    """
    told = {"Content-Type": "application/json"} | dict(headers)
    return _through(door, url, told, lambda pool, path, whole: _hand_over(pool, path, whole, body), twice=False)


def ask(url: str, *, body: bytes, headers: Mapping[str, str], door: Door = OUT) -> bytes:
    """As `post`, and what the other side answers to it. Raises NotFetched, NotTaken."""
    told = {"Content-Type": "application/json"} | dict(headers)
    ends = time.monotonic() + ALL_S

    def act(pool: urllib3.HTTPSConnectionPool, path: str, whole: dict[str, str]) -> bytes:
        answers: list[bytes] = []
        _hand_over(pool, path, whole, body, heard=lambda answer: answers.append(_body(answer, ends)))
        return answers[0]

    return _through(door, url, told, act, twice=False)


def check_address(url: str) -> None:
    """Raises NotFetched when an address can never be gone to, whatever it leads to."""
    _parts(url)


def check_open(url: str) -> None:
    """As `check_address`, and no address in figures that lies inside. A name is judged whenever it is gone to."""
    host, _, _ = _parts(url)
    try:
        address = ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        return
    if not is_public(address):
        raise NotFetched(f"{host} does not lie on the open net; nothing inside is ever asked.")


def _through(
    door: Door,
    url: str,
    more: Mapping[str, str],
    act: Callable[[urllib3.HTTPSConnectionPool, str, dict[str, str]], Came],
    *,
    twice: bool = True,
) -> Came:
    """Do it at the first of the judged addresses that can be reached.

    Not `twice`: once a connection stood, nothing is sent by another; whether what broke off was taken
    is not known.
    """
    host, port, path = _parts(url)
    headers = {"Host": host if port == 443 else f"{host}:{port}", "User-Agent": "Rodtally", "Accept": "*/*"}
    headers |= {"Accept-Encoding": "identity"} | dict(more)
    fault = NotFetched("no address")
    for address in _judged(host, port, door):
        pool = urllib3.HTTPSConnectionPool(
            str(address), port, server_hostname=host.strip("[]"), ssl_context=door.trust(), retries=False,
            timeout=urllib3.Timeout(connect=CONNECT_S, read=READ_S),
        )  # fmt: skip
        try:
            return act(pool, path, headers)
        except (HTTPError, OSError) as error:
            fault = NotFetched(f"{host} could not be reached: {_short(error)}.")
            if not twice and not isinstance(error, NEVER_STOOD):
                raise fault from None
        finally:
            pool.close()
    raise fault


def _parts(url: str) -> tuple[str, int, str]:
    try:
        parsed = urllib3.util.parse_url(url)
    except LocationParseError:
        raise NotFetched("The address cannot be read.") from None
    if parsed.scheme != "https" or not parsed.host or parsed.auth:
        raise NotFetched("The address must begin with https:// and hold no user name.")
    return parsed.host, parsed.port or 443, parsed.request_uri


def _judged(host: str, port: int, door: Door) -> list[Address]:
    """The addresses of a name. One that is not allowed spoils them all."""
    try:
        found = [ipaddress.ip_address(text) for text in door.look_up(host.strip("[]"), port)]
    except (OSError, UnicodeError, ValueError):
        raise NotFetched(f"{host} has no address that can be found.") from None
    unique = list(dict.fromkeys(found))
    if not unique or not all(door.allowed(address) for address in unique):
        raise NotFetched(f"{host} does not lie on the open net; nothing inside is ever asked.")
    return unique[:MOST_ADDRESSES]


def _ask(pool: urllib3.HTTPSConnectionPool, path: str, headers: Mapping[str, str], ends: float) -> Fetched:
    asked = bool(headers.keys() & {"If-None-Match", "If-Modified-Since"})
    answer = pool.urlopen(
        "GET", path, headers=headers, redirect=False, preload_content=False, decode_content=False
    )  # fmt: skip
    try:
        _judge(answer, asked=asked)
        body = None if answer.status == 304 else _body(answer, ends)
    finally:
        answer.close()
    return Fetched(body, _kept(answer, "ETag", 200), _kept(answer, "Last-Modified", 60))


def _hand_over(
    pool: urllib3.HTTPSConnectionPool,
    path: str,
    headers: Mapping[str, str],
    body: bytes,
    *,
    heard: Callable[[urllib3.BaseHTTPResponse], None] = lambda _answer: None,
) -> int:
    """POST `body`; `heard` may read what is answered with one of 2xx."""
    answer = pool.urlopen(
        "POST", path, body=body, headers=headers, redirect=False, preload_content=False, decode_content=False
    )  # fmt: skip
    try:
        if 200 <= answer.status < 300:
            heard(answer)
            return answer.status
        moved = " It has moved; write its new address down." if 300 <= answer.status < 400 else ""
        sentence = f"The server answered {answer.status}.{moved}"
        raise NotTaken(sentence, status=answer.status, retry_after_s=_retry_after_s(answer))
    finally:
        answer.close()


def _retry_after_s(answer: urllib3.BaseHTTPResponse) -> int:
    wait = answer.headers.get("Retry-After", "")
    return int(wait) if wait.isascii() and wait.isdigit() and len(wait) < 8 else 0


def _judge(answer: urllib3.BaseHTTPResponse, *, asked: bool) -> None:
    if answer.status == 200 or (answer.status == 304 and asked):
        if answer.headers.get("Content-Encoding", "identity").strip().lower() != "identity":
            raise NotFetched("The server packed its answer, though it was asked not to.")
        return
    if 300 <= answer.status < 400:
        raise NotFetched(f"The feed has moved ({answer.status}). Write its new address down.")
    raise NotFetched(f"The server answered {answer.status}.", retry_after_s=_retry_after_s(answer))


def _body(answer: urllib3.BaseHTTPResponse, ends: float) -> bytes:
    body = bytearray()
    while piece := answer.read1(65536):
        body += piece
        if len(body) > MAX_BYTES:
            raise NotFetched(f"The answer is larger than {MAX_BYTES // 2**20} MB. Ask for fewer readings.")
        if time.monotonic() > ends:
            raise NotFetched("The answer came too slowly.")
    return bytes(body)


def _kept(answer: urllib3.BaseHTTPResponse, name: str, most: int) -> str | None:
    """A header to send back the next time; one too long to keep is as good as none."""
    value = answer.headers.get(name)
    return value if value and len(value) <= most and value.isascii() and value.isprintable() else None


def _short(error: Exception) -> str:
    """The kind of a fault, without addresses inside the house."""
    return type(error.__cause__ or error).__name__
