"""A bucket of tokens for each address and limit, in memory and bounded."""

from __future__ import annotations

import ipaddress
import math
import time
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from starlette.types import ASGIApp, Receive, Scope, Send

from api.routes.guards.limits import Limit
from api.routes.guards.refusing import changes, refuse

MOST_BUCKETS = 10_000
IPV6_NETWORK_BITS = 64


@dataclass
class _Bucket:
    tokens: float
    at_s: float


class Buckets:
    """Takes one token for each request; the buckets used longest ago are dropped first."""

    def __init__(self, now_s: Callable[[], float], most: int = MOST_BUCKETS) -> None:
        self._now_s = now_s
        self._most = most
        self._buckets: OrderedDict[tuple[str, str], _Bucket] = OrderedDict()

    def __len__(self) -> int:
        return len(self._buckets)

    def wait_s(self, limit: Limit, address: str) -> float:
        """Seconds until this request would be taken; 0 when it is taken now."""
        now_s, key = self._now_s(), (limit.name, address)
        bucket = self._buckets.pop(key, None) or _Bucket(limit.burst, now_s)
        gained = max(now_s - bucket.at_s, 0.0) * limit.per_min / 60
        bucket.tokens, bucket.at_s = min(bucket.tokens + gained, limit.burst), now_s
        self._buckets[key] = bucket
        if len(self._buckets) > self._most:
            self._buckets.popitem(last=False)
        if bucket.tokens < 1:
            return (1 - bucket.tokens) * 60 / limit.per_min
        bucket.tokens -= 1
        return 0.0


class RateGuard:
    def __init__(
        self, app: ASGIApp, limits: Sequence[Limit], now_s: Callable[[], float] = time.monotonic
    ) -> None:
        self.app = app
        self.limits = limits
        self.buckets = Buckets(now_s)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        limit = self._limit_of(scope)
        wait_s = 0.0 if limit is None else self.buckets.wait_s(limit, address_of(scope))
        if wait_s <= 0:
            await self.app(scope, receive, send)
            return
        whole_s = math.ceil(wait_s)
        detail = f"Too many requests came from this address. Wait {whole_s} s, then try again."
        await refuse(scope, receive, send, 429, "too-many", detail, retry_after_s=whole_s)

    def _limit_of(self, scope: Scope) -> Limit | None:
        if scope["type"] != "http":
            return None
        changing, path = changes(scope), scope["path"].rstrip("/")
        for limit in self.limits:
            if (path in limit.paths or not limit.paths) and (changing or limit.reads):
                return limit
        return None


def address_of(scope: Scope) -> str:
    """Who asks: an IPv4 address, or the network of an IPv6 address, whose owner has all of it."""
    host = scope["client"][0] if scope.get("client") else ""
    try:
        address = ipaddress.ip_address(host.partition("%")[0])
    except ValueError:
        return str(host)
    if isinstance(address, ipaddress.IPv6Address):
        if address.ipv4_mapped:
            return str(address.ipv4_mapped)
        return str(ipaddress.ip_network((address, IPV6_NETWORK_BITS), strict=False))
    return str(address)
