"""A relay in front of a server, which ends a connection at a byte that was drawn: closed, reset, or silent."""

from __future__ import annotations

import contextlib
import socket
import struct
import threading
from dataclasses import dataclass

CLOSED, RESET, SILENT = "closed", "reset", "silent"


@dataclass(frozen=True, slots=True)
class Cut:
    """Behind that byte to the server (or from it) the connection ends, in that way."""

    how: str
    to_server: bool
    at: int


class Relay:
    """Passes everything on and counts it; one `cut` is made once, on the first connection that gets so far."""

    def __init__(self, port: int) -> None:
        self._to = port
        self._taken = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._taken.getsockname()[1]
        self.cut: Cut | None = None
        self.counted = {True: 0, False: 0}
        """Bytes to the server and from it, of all connections since they were set to nothing."""
        threading.Thread(target=self._serve, daemon=True).start()

    def close(self) -> None:
        """Takes no more connections."""
        self._taken.close()

    def _serve(self) -> None:
        while True:
            try:
                client, _ = self._taken.accept()
            except OSError:
                return
            try:
                server = socket.create_connection(("127.0.0.1", self._to), timeout=5)
            except OSError:
                client.close()
                continue
            server.settimeout(None)
            threading.Thread(target=self._between, args=(client, server), daemon=True).start()

    def _between(self, client: socket.socket, server: socket.socket) -> None:
        with client, server:
            ways = ((client, server, True), (server, client, False))
            both = [threading.Thread(target=self._pass, args=way, daemon=True) for way in ways]
            for each in both:
                each.start()
            for each in both:
                each.join()

    def _pass(self, source: socket.socket, sink: socket.socket, to_server: bool) -> None:
        silent = False
        with contextlib.suppress(OSError):
            while some := source.recv(65536):
                cut = self.cut
                left = cut.at - self.counted[to_server] if cut is not None and cut.to_server is to_server else None
                if left is not None and left < len(some):
                    self.cut = None
                    assert cut is not None
                    sink.sendall(some[: max(0, left)])
                    if cut.how != SILENT:
                        _end(source, sink, cut.how)
                        return
                    silent = True  # whoever waits now waits until he ends that himself
                self.counted[to_server] += len(some)
                if not silent:
                    sink.sendall(some)
        with contextlib.suppress(OSError):
            sink.shutdown(socket.SHUT_WR)


def _end(one: socket.socket, other: socket.socket, how: str) -> None:
    for each in (one, other):
        with contextlib.suppress(OSError):
            if how == RESET:
                each.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                each.shutdown(socket.SHUT_RD)  # the other thread reads it; nothing is sent before that one lets it go
            else:
                each.shutdown(socket.SHUT_RDWR)
        each.close()
