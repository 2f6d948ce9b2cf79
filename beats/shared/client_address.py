"""Whose request it is, for limits: the address of the client, also behind proxies. Pure.

Each proxy adds the address it was asked from at the right end of `X-Forwarded-For`; what stands further left
came with the request and may be invented. So the client is the first address from the right that is no proxy
of ours.
"""

from collections.abc import Sequence
from ipaddress import IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

Network = IPv4Network | IPv6Network
LONGEST = 4096
"""Characters of the header that are looked at, from the right."""
ONE_CLIENT = 64
"""Bits of an IPv6 address that name one network: a client has all the others to choose from (RFC 6177)."""


def networks(told: Sequence[str]) -> list[Network]:
    """From texts such as 10.0.0.0/8 or 192.0.2.1. Raises ValueError."""
    return [ip_network(each.strip(), strict=False) for each in told]


def client_address(remote: str, forwarded_for: str, proxies: Sequence[Network]) -> str:
    """The client's address, an IPv6 one as its /64; "" where it cannot be told.

    `remote` is who opened the connection, `forwarded_for` the header as it came. An address in the header that
    is none, where a proxy's or the client's should be, cannot be told.
    """
    chain = [*(each.strip() for each in forwarded_for[-LONGEST:].split(",") if each.strip()), remote]
    for each in reversed(chain):
        address = _parsed(each)
        if address is None:
            return ""
        if not any(address in network for network in proxies):
            return _grouped(address)
    return _grouped(address)


def _parsed(text: str):
    try:
        address = ip_address(text)
    except ValueError:
        return None
    mapped = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    return mapped or address


def _grouped(address) -> str:
    if isinstance(address, IPv6Address):
        return str(ip_network((address, ONE_CLIENT), strict=False))
    return str(address)
