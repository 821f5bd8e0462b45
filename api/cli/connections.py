"""Bounds on connections themselves, before there is a request that a guard could look at."""

from __future__ import annotations

import asyncio
from typing import Any, cast

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from api.routes.guards.headers import HEADERS

LONGEST_HEAD_S = 20.0
# Fifty tablets behind one address hold up to seven connections each.
MOST_OF_ONE_ADDRESS = 400
MOST_CONNECTIONS = 900
MOST_HEAD_BYTES = 32_000
LONGEST_HANDSHAKE_S = 10.0
LONGEST_FAREWELL_S = 2.0
TOO_SLOW = b"HTTP/1.1 408 Request Timeout\r\ncontent-length: 0\r\nconnection: close\r\n\r\n"


class BoundedConnection(H11Protocol):
    """Ends a connection whose request does not come, and more of them than one address needs."""

    longest_head_s = LONGEST_HEAD_S
    most_of_one_address = MOST_OF_ONE_ADDRESS
    _timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        if self._of_my_address() > self.most_of_one_address:
            transport.abort()
        else:
            self._expect_head()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            self._expect_head()
        else:
            self._stop_waiting()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_waiting()
        super().connection_lost(exc)

    def _should_upgrade(self) -> bool:
        """Nothing here speaks another protocol; the request is answered as what it is."""
        return False

    def send_400_response(self, msg: str) -> None:
        """As uvicorn sends it, with the headers of every other answer."""
        headers = [
            ("content-type", "text/plain; charset=utf-8"),
            ("cache-control", "no-store"),
            ("connection", "close"),
            *HEADERS.items(),
        ]
        for event in (
            h11.Response(status_code=400, headers=headers, reason="Bad Request"),
            h11.Data(data=msg.encode("ascii")),
            h11.EndOfMessage(),
        ):
            self.transport.write(self.conn.send(event) or b"")
        self.transport.close()

    def _of_my_address(self) -> int:
        mine = self.client[0] if self.client else None
        others = (cast(Any, one).client for one in self.connections)
        return sum(1 for client in others if client and client[0] == mine)

    def _expect_head(self) -> None:
        if self._timer is None:
            self._timer = self.loop.call_later(self.longest_head_s, self._give_up)

    def _stop_waiting(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _give_up(self) -> None:
        self._timer = None
        if self.conn.our_state is h11.IDLE:
            self.transport.write(TOO_SLOW)
        self.transport.close()


class PromptLoop(asyncio.SelectorEventLoop):
    """Gives up a connection that does not come to terms about its encryption.

    Until then there is no protocol that could: `BoundedConnection` begins after the handshake.
    """

    async def create_server(self, *args: Any, **more: Any) -> asyncio.Server:
        if more.get("ssl") is not None:
            more |= {
                "ssl_handshake_timeout": LONGEST_HANDSHAKE_S,
                "ssl_shutdown_timeout": LONGEST_FAREWELL_S,
            }
        return await super().create_server(*args, **more)


# For `uvicorn.Config`.
OPTIONS: dict[str, Any] = {
    "http": BoundedConnection,
    "ws": "none",
    "h11_max_incomplete_event_size": MOST_HEAD_BYTES,
    "limit_concurrency": MOST_CONNECTIONS,
    "server_header": False,
}
