"""The door out: https, the open net, the right certificate, no detours, a bounded answer.

The ranges are those of the IANA special-purpose address registries (RFC 6890 and its updates); the
cases of the cloud's metadata address and of the ways to write 127.0.0.1 are common practice.
"""

import ipaddress
import ssl
import threading

import pytest

from beats import outbound
from beats.outbound import Door, Fetched, NotFetched, fetch, is_public, look_up
from tests.beats.feeds.server import NAME, playing, trust

INSIDE = [
    "127.0.0.1", "127.255.255.254", "10.0.0.1", "172.16.0.1", "172.31.255.255", "192.168.1.1", "169.254.169.254",
    "100.64.0.1", "0.0.0.0", "192.0.0.8", "192.0.2.1", "198.18.0.1", "198.51.100.1", "203.0.113.1", "192.88.99.1",
    "224.0.0.1", "240.0.0.1", "255.255.255.255",
    "::", "::1", "fe80::1", "fc00::1", "fd12:3456::1", "fec0::1", "ff02::1", "::ffff:127.0.0.1", "::ffff:8.8.8.8",
    "::127.0.0.1", "64:ff9b::7f00:1", "64:ff9b:1::1", "100::1", "2001::1", "2001:db8::1", "2002:7f00:1::1",
    "3fff::1",
]  # fmt: skip
OUTSIDE = ["8.8.8.8", "1.1.1.1", "192.0.1.1", "172.32.0.1", "100.128.0.1", "2606:4700::1", "2a00:1450::1"]


@pytest.mark.parametrize("text", INSIDE)
def test_an_address_inside_is_not_public(text):
    assert not is_public(ipaddress.ip_address(text))


@pytest.mark.parametrize("text", OUTSIDE)
def test_an_address_on_the_open_net_is_public(text):
    assert is_public(ipaddress.ip_address(text))


def door_to(*addresses):
    """The real judgement behind a made-up name."""
    return Door(look_up=lambda _host, _port: list(addresses))


@pytest.mark.parametrize("addresses", [["10.0.0.1"], ["8.8.8.8", "127.0.0.1"], ["2606:4700::1", "::1"], []])
def test_a_name_with_any_address_inside_is_refused(addresses):
    with pytest.raises(NotFetched, match="does not lie on the open net"):
        fetch(f"https://{NAME}/", door=door_to(*addresses))


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "localhost", "127.1", "2130706433", "0x7f000001", "[::1]", "[::ffff:127.0.0.1]"]
)
def test_no_way_of_writing_the_machine_itself_gets_through_the_real_door(feed, host):
    with pytest.raises(NotFetched, match=r"open net|no address"):
        fetch(feed.url(host=host))
    assert feed.asked == []


def test_the_door_is_real_unless_a_caller_hands_over_another():
    assert Door() == outbound.OUT == Door(look_up, is_public, ssl.create_default_context)


@pytest.mark.parametrize(
    "url",
    ["http://levels.example.org/", "ftp://levels.example.org/", "https://", "https:///x", "file:///etc/passwd",
     "https://me:pw@levels.example.org/", "levels.example.org",
     "https://levels.example.org:99999/", "https://[::1/", ""],
)  # fmt: skip
def test_only_an_https_address_without_a_user_is_asked(url):
    with pytest.raises(NotFetched):
        fetch(url, door=door_to("8.8.8.8"))


def test_the_judged_address_is_asked_under_the_feeds_own_name(feed):
    feed.body, feed.headers = b"levels", {"ETag": '"1"', "Last-Modified": "Wed, 06 May 2026 11:00:00 GMT"}
    assert fetch(feed.url(), door=feed.door()) == Fetched(b"levels", '"1"', "Wed, 06 May 2026 11:00:00 GMT")
    ((path, headers),) = feed.asked
    assert (path, headers["Host"]) == ("/series?id=1", f"{NAME}:{feed.port}")
    assert not {"If-None-Match", "If-Modified-Since"} & set(headers)


def test_a_name_is_looked_up_once_so_that_it_cannot_change_its_mind(feed):
    asked = []

    def rebinding(host, port):
        asked.append((host, port))
        return ["127.0.0.1"] if len(asked) == 1 else ["10.0.0.1"]

    judged = []
    door = Door(look_up=rebinding, allowed=lambda address: judged.append(str(address)) or True, trust=trust)
    fetch(feed.url(), door=door)
    assert (asked, judged) == ([(NAME, feed.port)], ["127.0.0.1"])


def test_an_address_that_does_not_answer_gives_way_to_the_next(feed):
    feed.body = b"levels"
    told = fetch(feed.url(), door=feed.door(addresses=("127.0.0.99", "127.0.0.1")))
    assert told.body == b"levels"


def test_what_was_kept_of_the_last_answer_is_sent_and_nothing_new_is_no_body(feed):
    feed.status = 304
    told = fetch(feed.url(), etag='"1"', modified="Wed, 06 May 2026 11:00:00 GMT", door=feed.door())
    assert told.body is None
    headers = feed.asked[0][1]
    assert headers["If-None-Match"] == '"1"'
    assert headers["If-Modified-Since"] == "Wed, 06 May 2026 11:00:00 GMT"


def test_nothing_new_without_having_asked_is_a_fault(feed):
    feed.status = 304
    with pytest.raises(NotFetched, match="moved"):
        fetch(feed.url(), door=feed.door())


def test_a_certificate_for_another_name_or_of_nobody_known_is_refused():
    with playing("other.example.org") as other:
        with pytest.raises(NotFetched, match=f"{NAME} could not be reached"):
            fetch(other.url(), door=other.door())
        untrusting = Door(look_up=lambda _host, _port: ["127.0.0.1"], allowed=lambda _address: True)
        with pytest.raises(NotFetched, match="could not be reached"):
            fetch(other.url(host="other.example.org"), door=untrusting)
        assert other.asked == []
        assert fetch(other.url(host="other.example.org"), door=other.door()).body == b""


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_a_redirect_is_told_and_not_followed(feed, status):
    feed.status, feed.headers = status, {"Location": feed.url("/elsewhere")}
    with pytest.raises(NotFetched, match=rf"has moved \({status}\)"):
        fetch(feed.url(), door=feed.door())
    assert [path for path, _ in feed.asked] == ["/series?id=1"]


@pytest.mark.parametrize(
    ("wait", "seconds"), [("120", 120), ("", 0), ("Wed, 06 May 2026 11:00:00 GMT", 0), ("-5", 0)]
)
def test_a_refusal_carries_how_long_the_server_wants_to_be_left_alone(feed, wait, seconds):
    feed.status, feed.headers = 503, {"Retry-After": wait}
    with pytest.raises(NotFetched, match="The server answered 503") as refused:
        fetch(feed.url(), door=feed.door())
    assert refused.value.retry_after_s == seconds


def test_an_answer_of_the_most_is_taken_and_one_byte_more_is_not(feed, monkeypatch):
    monkeypatch.setattr(outbound, "MAX_BYTES", 100_000)
    feed.body = b"x" * 100_000
    assert fetch(feed.url(), door=feed.door()).body == feed.body
    feed.body += b"x"
    with pytest.raises(NotFetched, match="larger than"):
        fetch(feed.url(), door=feed.door())


def test_a_packed_answer_is_refused_so_that_nothing_can_swell(feed):
    feed.body, feed.headers = b"\x1f\x8b", {"Content-Encoding": "gzip"}
    with pytest.raises(NotFetched, match="packed its answer"):
        fetch(feed.url(), door=feed.door())


def dripping(stop):
    def play(handler):
        handler.send_response(200)
        handler.end_headers()
        while not stop.wait(0.02):
            handler.wfile.write(b"x")
            handler.wfile.flush()

    return play


def test_an_answer_that_drips_is_given_up(feed, monkeypatch):
    stop = threading.Event()
    monkeypatch.setattr(outbound, "ALL_S", 0.2)
    feed.play = dripping(stop)
    with pytest.raises(NotFetched, match="too slowly"):
        fetch(feed.url(), door=feed.door())
    stop.set()


def test_a_server_that_says_nothing_is_given_up(feed, monkeypatch):
    stop = threading.Event()
    monkeypatch.setattr(outbound, "READ_S", 0.2)
    feed.play = lambda _handler: stop.wait(10)
    with pytest.raises(NotFetched, match="could not be reached"):
        fetch(feed.url(), door=feed.door())
    stop.set()


@pytest.mark.parametrize("etag", ['"' + "x" * 200 + '"', "caf\u00e9"])
def test_a_mark_too_odd_to_send_back_is_not_kept(feed, etag):
    feed.headers = {"ETag": etag}
    assert fetch(feed.url(), door=feed.door()).etag is None
