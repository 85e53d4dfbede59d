"""Layout: taped sides and diagonals of an outline, 3-4-5, and bond lines with the rows they guide."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import acos, hypot, sin, sqrt
from typing import Literal

from gradecheck.catalogue import _
from gradecheck.checks.held import Judgment
from gradecheck.ground.outline import turn
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import FINE, distance, root
from gradecheck.measure.quantities import ZERO, Length, Slope, feet, inches, millimetres
from gradecheck.plan.limits import Limit, Limits

Pair = frozenset[str]
"""The two corners a tape runs between, in either order."""
Tapes = Mapping[Pair, Length]
Corners = Sequence[tuple[str, Place]]
"""The wanted corners by name, in turn around the outline, each name once."""


# What to tape ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tape:
    """One tape to pull: between which corners, and how long it should be."""

    start: str
    end: str
    kind: Literal["side", "diagonal"]
    length: Length

    @property
    def pair(self) -> Pair:
        """The corners it runs between, to find what was taped there."""
        return frozenset((self.start, self.end))


def to_tape(corners: Corners) -> tuple[Tape, ...]:
    """Every side, and a diagonal across every corner; a triangle has sides alone.

    Exact along the axes of the plan and wherever else a length has an exact value, else to a nanometre.
    """
    found: dict[Pair, Tape] = {}
    kinds: tuple[Literal["side", "diagonal"], ...] = ("side", "diagonal")
    for step, kind in enumerate(kinds, 1):
        for index, (name, at) in enumerate(corners):
            other, there = corners[(index + step) % len(corners)]
            target = Tape(name, other, kind, distance(at, there))
            found.setdefault(target.pair, target)
    return tuple(found.values())


def allowed_off(target: Tape, tolerance: Length | None, limits: Limits) -> Length:
    """What a tape may be off: the tolerance given, else the rule for squareness over that length."""
    return tolerance if tolerance is not None else limits["out of square at most"].slope.over(target.length)


def rectangle(width: Length, length: Length) -> tuple[tuple[str, Place], ...]:
    """The corners A to D of a rectangle, against the clock: A to B is `width`, B to C is `length`."""
    return ("A", (ZERO, ZERO)), ("B", (width, ZERO)), ("C", (width, length)), ("D", (ZERO, length))


# How far out ---------------------------------------------------------------------------------------------------


def corner_lean(one: Length, other: Length, across: Length) -> Slope | None:
    """By how much a corner between two sides opens past square, as the sine of the angle beyond 90 degrees; exact.

    Negative where it closes; out-of-square over a side is this slope over it. None where the three lengths make no
    triangle: then one of them was misread.
    """
    a, b, c = one.metres, other.metres, across.metres
    if a <= 0 or b <= 0 or c <= 0:
        return None
    sine = (c * c - a * a - b * b) / (2 * a * b)
    return Slope(sine) if abs(sine) < 1 else None


def rectangle_lean(width: Length, length: Length, diagonal: Length, other: Length) -> Slope | None:
    """The lean of a rectangle with true sides, from its two diagonals: the sine of the angle off square, exact.

    Positive where the first diagonal is the longer one: then the two corners it does not touch open by that much.
    None where a side is nothing or the diagonals are too different for any lean.
    """
    if width <= ZERO or length <= ZERO:
        return None
    sine = (diagonal.metres**2 - other.metres**2) / (4 * width.metres * length.metres)
    return Slope(sine) if abs(sine) < 1 else None


@dataclass(frozen=True, slots=True)
class CornerCheck:
    """How far one corner is from the angle wanted there, by its two sides and the tape across.

    `lean` is the sine of the difference, positive where the corner is too open (a corner that turns inward is judged
    by its side of less than 180 degrees); exact where a right angle is wanted, else to a thousand-millionth. `over`
    is what that puts each of the two sides out of square at its far end.
    """

    name: str
    lean: Slope
    over: tuple[tuple[str, Length], tuple[str, Length]]
    limit: Limit
    verdict: Judgment


@dataclass(frozen=True, slots=True)
class Misread:
    """The tape that most likely was misread: by `off`, more than it should show, and what it should show.

    `sure` is False where another tape explains it nearly as well; then tape both again.
    """

    pair: Pair
    off: Length
    should: Length
    sure: bool


@dataclass(frozen=True, slots=True)
class Squareness:
    """What the tapes of one outline say.

    `corners` are those with both sides and the tape across known. `lean` is that of a rectangle from the means of its
    sides and its diagonals. `gap` is what a diagonal is off from what the other five tapes say (four corners only;
    None where a tape is missing or they make no figure). `closes` is None where nothing can be told, False where
    three tapes make no triangle or reading them does not explain the gap; `misread` is then the likeliest reason, if
    one is found. `proved` says whether all is taped that shows the shape: equal diagonals alone do not, a trapezoid
    has them too.
    """

    corners: tuple[CornerCheck, ...]
    lean: Slope | None
    gap: Length | None
    closes: bool | None
    misread: Misread | None
    proved: bool
    begun: bool = True
    """Whether anything is taped."""

    @property
    def verdict(self) -> Judgment:
        """A fault where a corner is out or the tapes disagree; advice to go on taping where nothing is proved yet."""
        if self.closes is False or any(corner.verdict == "fault" for corner in self.corners):
            return "fault"
        return "passes" if self.proved else "advice"


def check_outline(wanted: Corners, taped: Tapes, limits: Limits, reading: Length) -> Squareness:
    """What was taped between three or more wanted corners, held to the limit on being out of square, inclusive.

    `reading` is how far off a tape may be read, half a mark or what the crew trusts: the tapes are questioned only
    where that does not explain why they disagree. Tapes that are not wanted are left alone.
    """
    corners, impossible = _corners(wanted, taped, limits["out of square at most"])
    whole = all(target.pair in taped for target in to_tape(wanted))
    gap, misread = None, None
    closes = False if impossible else None
    if len(wanted) == 4 and whole:
        figure = _Figure(dict(wanted), {pair: float(taped[pair].metres) for pair in _pairs(wanted)})
        gap, explained = _closure(wanted, figure, float(reading.metres))
        closes = explained and not impossible
        if not closes:
            misread = _misread(figure, float(reading.metres))
    begun = any(target.pair in taped for target in to_tape(wanted))
    return Squareness(corners, _lean(wanted, taped), gap, closes, misread, whole, begun)


def _corners(wanted: Corners, taped: Tapes, limit: Limit) -> tuple[tuple[CornerCheck, ...], bool]:
    """The corners that can be judged, and whether any three tapes make no triangle."""
    found, impossible = [], False
    for index, (name, at) in enumerate(wanted):
        (before, back), (after, on) = wanted[index - 1], wanted[(index + 1) % len(wanted)]
        pairs = frozenset((name, before)), frozenset((name, after)), frozenset((before, after))
        # At a corner that runs straight on the tape across hardly moves, and tells nothing.
        if any(pair not in taped for pair in pairs) or not turn(back, at, on):
            continue
        one, other, across = (taped[pair] for pair in pairs)
        lean = corner_lean(one, other, across)
        if lean is None:
            impossible = True
            continue
        dot = sum(((back[axis] - at[axis]).metres * (on[axis] - at[axis]).metres for axis in (0, 1)), Fraction(0))
        if dot:
            lean = _off(lean, dot, distance(at, back), distance(at, on))
        over = (before, Length(lean.ratio * one.metres)), (after, Length(lean.ratio * other.metres))
        verdict: Judgment = "fault" if abs(lean.ratio) > limit.value else "passes"
        found.append(CornerCheck(name, lean, over, limit, verdict))
    return tuple(found), impossible


def _off(lean: Slope, dot: Fraction, one: Length, other: Length) -> Slope:
    """The sine of what a corner is off where no right angle is wanted there."""
    cosine = float(dot) / (float(one.metres) * float(other.metres))
    found = acos(-float(lean.ratio))
    return Slope(Fraction(round(sin(found - acos(max(-1.0, min(1.0, cosine)))) * FINE), FINE))


def _lean(wanted: Corners, taped: Tapes) -> Slope | None:
    """The lean of a rectangle by its diagonals and the means of what was taped of its opposite sides."""
    if len(wanted) != 4 or not _is_rectangle(wanted):
        return None
    a, b, c, d = (name for name, _ in wanted)
    means = []
    for pairs in (({a, b}, {c, d}), ({b, c}, {d, a})):
        sides = [taped[frozenset(pair)] for pair in pairs if frozenset(pair) in taped]
        if not sides:
            return None
        means.append(Length(sum((side.metres for side in sides), Fraction(0)) / len(sides)))
    one, other = taped.get(frozenset((a, c))), taped.get(frozenset((b, d)))
    return rectangle_lean(means[0], means[1], one, other) if one is not None and other is not None else None


def _is_rectangle(wanted: Corners) -> bool:
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = (place for _, place in wanted)
    square = (bx - ax).metres * (dx - ax).metres + (by - ay).metres * (dy - ay).metres == 0
    return square and cx - bx == dx - ax and cy - by == dy - ay


# Which tape was misread ----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Figure:
    """Four corners where they are wanted, and the six tapes between them in metres."""

    at: Mapping[str, Place]
    tapes: Mapping[Pair, float]

    def implied(self, pair: Pair, changed: Mapping[Pair, float] | None = None) -> float | None:
        """What the tape should show by the other five; None where they make no figure."""
        tapes = {**self.tapes, **(changed or {})}
        first, second = sorted(pair)
        base, end = sorted(set(self.at) - pair)
        along = tapes[frozenset((base, end))]
        places = []
        for corner in (first, second):
            near, far = tapes[frozenset((base, corner))], tapes[frozenset((end, corner))]
            if along <= 0:
                return None
            x = (near * near - far * far + along * along) / (2 * along)
            if near * near < x * x:
                return None
            side = 1 if turn(self.at[base], self.at[end], self.at[corner]) > 0 else -1
            places.append((x, side * sqrt(near * near - x * x)))
        (x1, y1), (x2, y2) = places
        return hypot(x2 - x1, y2 - y1)

    def unfit(self, pair: Pair, should: float) -> float:
        """How far all tapes lie from what is wanted once that one is corrected: the square sum, square metres."""
        return sum(
            ((should if each == pair else length) - float(distance(*(self.at[name] for name in each)).metres)) ** 2
            for each, length in self.tapes.items()
        )


def _pairs(wanted: Corners) -> Iterator[Pair]:
    return (frozenset(pair) for pair in combinations((name for name, _ in wanted), 2))


def _closure(wanted: Corners, figure: _Figure, reading: float) -> tuple[Length | None, bool]:
    """The gap on the first diagonal, and whether tapes each read that much off could make it."""
    diagonal = frozenset((wanted[0][0], wanted[2][0]))
    implied = figure.implied(diagonal)
    if implied is None:
        return None, False
    allowed = reading
    for pair, length in figure.tapes.items():
        if pair != diagonal:
            moved = [figure.implied(diagonal, {pair: length + error}) for error in (reading, -reading)]
            allowed += max((abs(each - implied) for each in moved if each is not None), default=0.0)
    gap = figure.tapes[diagonal] - implied
    # A nanometre for the roots: tapes that are right to the last digit close with no reading allowance at all.
    return Length(Fraction(round(gap * FINE), FINE)), abs(gap) <= allowed + 2 / FINE


_SURE = 4
"""Another tape is out of the question where it leaves twice as much unexplained, in squares."""


def _misread(figure: _Figure, reading: float) -> Misread | None:
    """Each tape in turn is taken for the misread one and corrected by the other five.

    Any of them closes the figure then. The right one also leaves a figure near the wanted one; every other leaves the
    misread tape where it was and spoils a good one to match.
    """
    ranked = []
    for pair, length in figure.tapes.items():
        should = figure.implied(pair)
        if should is not None:
            ranked.append((figure.unfit(pair, should), sorted(pair), length, should))
    if not ranked:
        return None
    ranked.sort()
    unfit, names, length, should = ranked[0]
    sure = len(ranked) < 2 or ranked[1][0] > _SURE * max(unfit, reading**2)
    off, exact = Fraction(round((length - should) * FINE), FINE), Fraction(round(should * FINE), FINE)
    return Misread(frozenset(names), Length(off), Length(exact), sure)


# 3-4-5 ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ThreeFourFive:
    """Marks for a right angle: one along each line from the corner, and what the tape across must show.

    `marks` are where to hold one tape laid right round: its zero and last mark on the corner, the first on the first
    line, the second on the other line.
    """

    first: Length
    second: Length
    across: Length
    marks: tuple[Length, Length, Length]


_GRAINS = {False: (feet(1), inches(3), inches(1)), True: (millimetres(100), millimetres(10))}
"""What the multiples are counted in, the easiest to find on a tape first."""


def three_four_five(
    first: Length, second: Length, *, metric: bool, tape: Length | None = None
) -> ThreeFourFive | None:
    """The largest multiple of 3-4-5 with room along both lines from the corner; the longer leg lies where it fits.

    Whole feet or tenths of a metre; where not even those fit, 3 in, 1 in or 10 mm. With a `tape`, no larger than it
    reaches across; held right round it must be as long as the last mark. Larger is better: the same error on the tape
    turns the corner less. None where nothing fits.
    """
    for grain in _GRAINS[metric]:
        most = None if tape is None else tape.metres // (5 * grain.metres)
        fits = []
        for one, other in ((4, 3), (3, 4)):
            times = min(first.metres // (one * grain.metres), second.metres // (other * grain.metres))
            fits.append((times if most is None else min(times, most), one, other))
        times, one, other = max(fits)
        if times > 0:
            a, b, c = grain * (one * times), grain * (other * times), grain * (5 * times)
            return ThreeFourFive(a, b, c, (a, a + c, a + b + c))
    return None


Pattern = Literal["running", "half", "third"]
_SHIFTS: dict[Pattern, int] = {"running": 2, "half": 2, "third": 3}
"""After how many rows the joints stand in line again. Running bond is laid on the half."""


def measured_module(across: Length, units: int) -> Length:
    """The unit and its joint as laid, from the edge of a unit to the same edge so many units on; about 10 are best.

    Raises a ValueError where there are none.
    """
    if units < 1:
        raise ValueError(_("a module is measured over one unit or more"))
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
    """The edge of a row against its chalk line: `off` is positive where the rows have run long."""

    rows: int
    wanted: Length
    off: Length
    allowed: Length
    limit: Limit
    verdict: Judgment


def drift(width: Length, rows: int, found: Length, limits: Limits) -> Drift:
    """How far the edge behind so many rows, found that far from the first edge, has drifted; at the limit passes.

    `width` is that of one row with its joint.
    """
    wanted = width * rows
    off, allowed = found - wanted, allowed_wander(wanted, limits)
    verdict: Judgment = "fault" if abs(off) > allowed else "passes"
    return Drift(rows, wanted, off, allowed, limits["bond wander at most"], verdict)


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
