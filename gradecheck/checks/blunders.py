"""Placeholder while the guard is being written."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from gradecheck.measure.notation import Notation
from gradecheck.measure.quantities import Length
from gradecheck.plan.model import Tolerance


def question(
    typed: str,
    reading: Length,
    wanted_reading: Length,
    notation: Notation,
    tolerance: Tolerance,
    kind: Literal["standard", "direct"],
    recent: Sequence[Length],
) -> str | None:
    """Nothing yet."""
    return None
