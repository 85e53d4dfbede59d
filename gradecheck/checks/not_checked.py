"""A check that could apply and was not made: silence is never a pass."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class NotChecked:
    """`check` is the heading it would stand under, `why` it was not made, and `how` it could be.

    Both are words without a full stop: ``no point has a place``, ``give the points “at:”``.
    """

    check: str
    why: str
    how: str
