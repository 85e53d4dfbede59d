"""Bond lines: where to chalk them, how far the rows may drift, rows that fit, and lines round an obstruction."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from gradecheck.checks.held import Verdict
from gradecheck.ground.surfaces import root
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.limits import Limit, Limits

Pattern = Literal["running", "half", "third"]
_SHIFTS: dict[Pattern, int] = {"running": 2, "half": 2, "third": 3}
"""After how many rows the joints stand in line again. Running bond is laid on the half."""


def measured_module(across: Length, units: int) -> Length:
    """The unit and its joint as laid, from the edge of a unit to the same edge so many units on; about 10 are best.

    Raises a ValueError where there are none.
    """
    if units < 1:
        raise ValueError("a module is measured over one unit or more")
    return Length(across.metres / units)


@dataclass(frozen=True, slots=True)
class ChalkLine:
    """The line behind so many rows, from the first edge, and how far the row that starts on it is shifted."""

    rows: int
    at: Length
    shift: Length


def chalk_lines(width: Length, length: Length, pattern: Pattern, rows: int, every: int = 1) -> tuple[ChalkLine, ...]:
    """A line every so many rows up to the last row, from the measured modules across and along the rows.

    These are the joints that run through: they lie square to the way vehicles travel. `shift` is where the first
    joint across stands in the row beyond the line, from the end of the line, less than one module.
    Raises a ValueError where `every` is less than one row.
    """
    if every < 1:
        raise ValueError("chalk lines lie one row apart or more")
    return tuple(ChalkLine(row, width * row, shift(length, pattern, row)) for row in range(every, rows + 1, every))


def shift(length: Length, pattern: Pattern, row: int) -> Length:
    """How far the units of a row are shifted along it, rows counted from 0; `length` is the module along the row."""
    parts = _SHIFTS[pattern]
    return Length(length.metres * (row % parts) / parts)


# Drift ---------------------------------------------------------------------------------------------------------


def allowed_wander(run: Length, limits: Limits) -> Length:
    """What a bond line may wander from its string over that run, in proportion to the run the limit is given for."""
    share = limits["bond wander at most"].length.metres / limits["bond wander over"].length.metres
    return Length(share * abs(run).metres)


@dataclass(frozen=True, slots=True)
class Drift:
    """The edge of a row against its chalk line: positive where the rows have run long.

    `per_row` is what to take off every joint to stand right again at the row asked for, None without one.
    """

    rows: int
    wanted: Length
    off: Length
    allowed: Length
    per_row: Length | None
    limit: Limit
    verdict: Verdict


def drift(width: Length, rows: int, found: Length, limits: Limits, right_at: int | None = None) -> Drift:
    """How far the edge behind so many rows, found that far from the first edge, has drifted; at the limit passes.

    `right_at` is the later row at which the lines should be met again. Correct before compacting.
    Raises a ValueError where that row is already laid.
    """
    if right_at is not None and right_at <= rows:
        raise ValueError("only rows that are not laid yet can make good")
    wanted = width * rows
    off, allowed = found - wanted, allowed_wander(wanted, limits)
    per_row = None if right_at is None else Length(off.metres / (right_at - rows))
    verdict: Verdict = "fault" if abs(off) > allowed else "passes"
    return Drift(rows, wanted, off, allowed, per_row, limits["bond wander at most"], verdict)


# Rows that fit -------------------------------------------------------------------------------------------------


# Round an obstruction ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Offset:
    """A line carried round a corner nobody can stand in, as a rectangle beside it.

    Mark `near` and `far` on the good part of the line, measured from the corner; square off `out` at both; the line
    through the two new marks is parallel, and goes `near` back to the other side of the corner. `apart` is the
    distance between the marks on both lines, `diagonal` that from either mark to the new one opposite, to a
    nanometre where it is not exact: both diagonals must show it, or the offsets are not square.
    """

    near: Length
    far: Length
    out: Length
    apart: Length
    diagonal: Length


def offset_round(along: Length, depth: Length, room: Length, step: Length, clear: Length = ZERO) -> Offset | None:
    """The offsets past an obstruction that takes up so much along the line and so much out from it.

    `room` is how far from the corner the line can be marked, `clear` what to stay away from the obstruction. The
    offsets are whole steps (a foot, 100 mm) so that they are easy to find on a tape, the two as far apart as the room
    allows. None where there is no room for two.
    """
    near, out = _up(along + clear, step), _up(depth + clear, step)
    far = step * (room.metres // step.metres)
    apart = far - near
    if apart <= ZERO or out <= ZERO:
        return None
    return Offset(near, far, out, apart, Length(root(apart.metres**2 + out.metres**2)))


def _up(length: Length, step: Length) -> Length:
    return step * -(-length.metres // step.metres)
