"""POST a signed message to an address that somebody wrote down, through the same door as every fetch.

https only, to the very address that was judged, no redirect followed, size and time bounded
(`beats.outbound`).
"""

import time
from collections.abc import Mapping

import urllib3
from urllib3.exceptions import HTTPError

from beats import outbound
from beats.outbound import OUT, Door, NotFetched


class NotTaken(Exception):
    """The other side did not take the message. `for_good`: trying again as it is will not help."""

    def __init__(self, sentence: str, *, for_good: bool = False) -> None:
        super().__init__(sentence)
        self.for_good = for_good


def post(url: str, body: bytes, *, headers: Mapping[str, str], door: Door = OUT) -> bytes:
    """Send `body`; what was answered with 2xx. Raises NotTaken."""
    try:
        host, port, path = outbound._parts(url)  # noqa: SLF001 - one door, two verbs
        addresses = outbound._judged(host, port, door)  # noqa: SLF001
    except NotFetched as fault:
        raise NotTaken(str(fault)) from None
    sent = {"Host": host if port == 443 else f"{host}:{port}", "User-Agent": "Rodtally",
            "Content-Type": "application/json", "Accept-Encoding": "identity", **headers}  # fmt: skip
    pool = urllib3.HTTPSConnectionPool(
        str(addresses[0]), port, server_hostname=host.strip("[]"), ssl_context=door.trust(), retries=False,
        timeout=urllib3.Timeout(connect=outbound.CONNECT_S, read=outbound.READ_S),
    )  # fmt: skip
    try:
        return _ask(pool, path, body, sent)
    except (HTTPError, OSError) as error:
        raise NotTaken(f"{host} could not be reached: {type(error.__cause__ or error).__name__}.") from None
    finally:
        pool.close()


def _ask(pool: urllib3.HTTPSConnectionPool, path: str, body: bytes, headers: Mapping[str, str]) -> bytes:
    """One address only and no second try here: whether a message that broke off was taken is not known."""
    ends = time.monotonic() + outbound.ALL_S
    answer = pool.urlopen(
        "POST", path, body=body, headers=headers, redirect=False, preload_content=False, decode_content=False
    )  # fmt: skip
    try:
        if not 200 <= answer.status < 300:
            refused = 400 <= answer.status < 500 and answer.status not in (401, 403, 408, 409, 425, 429)
            raise NotTaken(f"The gateway answered {answer.status}.", for_good=refused)
        try:
            return outbound._body(answer, ends)  # noqa: SLF001
        except NotFetched as fault:
            raise NotTaken(str(fault)) from None
    finally:
        answer.close()
