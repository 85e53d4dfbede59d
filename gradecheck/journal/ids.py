"""Ids that sort by the time they were made: UUID version 7 (RFC 9562, section 5.7)."""

from __future__ import annotations

import os
import threading
import time
import uuid
from collections.abc import Callable


class Ids:
    """Makes ids; when the clock goes back, goes on from the last millisecond used."""

    def __init__(
        self,
        milliseconds: Callable[[], int] = lambda: time.time_ns() // 1_000_000,
        random: Callable[[int], bytes] = os.urandom,
    ) -> None:
        self._milliseconds = milliseconds
        self._random = random
        self._last = (0, 0)
        self._lock = threading.Lock()

    def __call__(self) -> str:
        """The next id; ids made one after the other by the same `Ids` sort in that order."""
        with self._lock:
            now = self._milliseconds()
            last, count = self._last
            # The 12 bits after the time count the ids of one millisecond (RFC 9562, section 6.2, method 1).
            if now > last:
                now, count = now, 0
            else:
                now, count = (last, count + 1) if count < 0xFFF else (last + 1, 0)
            self._last = (now, count)
        tail = int.from_bytes(self._random(8), "big") & (1 << 62) - 1
        return str(uuid.UUID(int=now << 80 | 0x7 << 76 | count << 64 | 0b10 << 62 | tail))
