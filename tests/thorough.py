"""What README's test command asks of a few, and `.ci/run` of all."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

import pytest

EVERYDAY_SCREENS = ("jobs", "check", "set up", "day")
"""The screens a crew is on all day: what holds for every screen is seen on these first."""


def every(number: int, values: Iterable[Any]) -> list[Any]:
    """Each value as a parameter of a test, the first and every so many after it for everyone, the rest `thorough`."""
    return [
        value if at % number == 0 else pytest.param(value, marks=pytest.mark.thorough)
        for at, value in enumerate(values)
    ]


def some(values: Iterable[Any], kept: Collection[Any] = EVERYDAY_SCREENS) -> list[Any]:
    """Each value as a parameter of a test, those that are not kept as `thorough`; what is kept is one of them."""
    asked = list(values)
    assert kept
    assert all(value in asked for value in kept), "what is kept for everyone must be there to be kept"
    return [value if value in kept else pytest.param(value, marks=pytest.mark.thorough) for value in asked]
