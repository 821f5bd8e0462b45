"""Under which names and addresses this server is known on the shop's network."""

from __future__ import annotations

import fcntl
import ipaddress
import re
import socket
import struct
import sys
from collections.abc import Iterator
from dataclasses import dataclass

Address = ipaddress.IPv4Address | ipaddress.IPv6Address

LOCAL_NAME = "localhost"
LOOPBACK = (ipaddress.ip_address("127.0.0.1"), ipaddress.ip_address("::1"))
SIOCGIFADDR = 0x8915  # netdevice(7)
NAMELESS = "clampbook"
# Nothing is sent to these: asked for a way there, the system names its own address on that way.
# Two are set aside for documentation, the others are the far ends of the private ranges.
FAR_IPV4 = ("198.51.100.1", "10.255.255.254", "172.31.255.254", "192.168.255.254")
FAR_IPV6 = ("2001:db8::1",)


@dataclass(frozen=True)
class Names:
    """What a certificate is for: the one host of the shop's origin, and addresses that lead to it."""

    host: str
    addresses: tuple[Address, ...]

    @property
    def dns(self) -> tuple[str, ...]:
        known = () if as_address(self.host) else (self.host,)
        return tuple(dict.fromkeys((*known, LOCAL_NAME)))

    @property
    def ips(self) -> tuple[Address, ...]:
        own = as_address(self.host)
        return tuple(dict.fromkeys((*([own] if own else []), *self.addresses, *LOOPBACK)))

    @property
    def words(self) -> tuple[str, ...]:
        """All of them, the host first."""
        return tuple(dict.fromkeys((self.host, *self.dns, *map(str, self.ips))))


def as_address(text: str) -> Address | None:
    try:
        return ipaddress.ip_address(text)
    except ValueError:
        return None


def machine_name() -> str:
    """The name other machines may find this one by; without a domain it is announced as `.local`."""
    name = re.sub(r"[^a-z0-9.-]", "-", socket.gethostname().lower()).strip("-.")
    if not name or name.startswith(LOCAL_NAME):
        name = NAMELESS
    return name if "." in name else f"{name}.local"


def own_addresses(listening_on: str) -> tuple[Address, ...]:
    """Where other machines reach a server that listens there; the way to the outside first."""
    given = as_address(listening_on)
    if given is not None and not given.is_unspecified:
        return (given,)
    if given is None and listening_on:
        found = [*_resolved(listening_on)]
    else:
        found = [*_towards(FAR_IPV4, socket.AF_INET), *_on_interfaces()]
        if given is not None and given.version == 6:
            found += _towards(FAR_IPV6, socket.AF_INET6)
        found += sorted(_resolved(socket.gethostname()), key=str)
    usable = [one for one in found if not (one.is_loopback or one.is_link_local)]
    return tuple(dict.fromkeys(usable))


def origin(scheme: str, host: str, port: int) -> str:
    """As a browser writes it: the usual port is left out."""
    shown = f"[{host}]" if ":" in host else host
    usual = {"https": 443, "http": 80}[scheme]
    return f"{scheme}://{shown}" + ("" if port == usual else f":{port}")


def _resolved(name: str) -> Iterator[Address]:
    try:
        answers = socket.getaddrinfo(name, None, type=socket.SOCK_STREAM)
    except OSError:
        return
    for *_, place in answers:
        address = as_address(str(place[0]).partition("%")[0])
        if address is not None:
            yield address


def _on_interfaces() -> Iterator[Address]:
    """For a network without a way to the outside, which names no address of its own."""
    if sys.platform != "linux":
        return
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        for _, name in socket.if_nameindex():
            try:
                told = fcntl.ioctl(probe, SIOCGIFADDR, struct.pack("256s", name.encode()[:15]))
            except OSError:
                continue
            yield ipaddress.IPv4Address(told[20:24])


def _towards(far: tuple[str, ...], family: socket.AddressFamily) -> Iterator[Address]:
    for place in far:
        with socket.socket(family, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((place, 9))
                yield ipaddress.ip_address(probe.getsockname()[0])
            except OSError:
                continue
