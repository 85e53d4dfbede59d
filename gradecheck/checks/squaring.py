"""Where taped corners stand, and which of them to move so that every side and diagonal measures right."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import dist, hypot

from gradecheck.checks.layout import Corners, Tape, Tapes, check_outline, to_tape
from gradecheck.ground.surfaces import FINE
from gradecheck.measure.quantities import Length
from gradecheck.plan.limits import Limits

Pin = tuple[float, float]
"""Metres to the right and up, in the plan's own directions as nearly as tapes can tell."""
Pins = Mapping[str, Pin]

_MOST_TRIED = 8
"""Corners up to which every way of moving some of them is tried; beyond, one, two, or all but one."""
_STILL, _TURNS = 1e-12, 5_000
"""Metres by which a pin no longer moves when the tapes fit, and the turns after which that is given up."""
_STEEP = 0.3
"""Sine of the angle between two lines, from which on a way can be told along both."""


@dataclass(frozen=True, slots=True)
class CornerMove:
    """One corner to move: along the line to another corner, or two of them, positive toward it, else away from it."""

    corner: str
    along: tuple[tuple[str, Length], ...]


def as_taped(wanted: Corners, taped: Tapes) -> dict[str, Pin] | None:
    """Where the corners stand by their tapes, beginning at the wanted places; None until all of them are taped.

    Each corner in turn goes to the mean of where its tapes put it, until none moves: the places from which all tapes
    together are off by the least squares (majorization, de Leeuw 1977, from memory).
    """
    targets = to_tape(wanted)
    if any(target.pair not in taped for target in targets):
        return None
    pins = {name: (float(x.metres), float(y.metres)) for name, (x, y) in wanted}
    ends: dict[str, list[tuple[str, float]]] = {name: [] for name, _ in wanted}
    for target in targets:
        long = float(taped[target.pair].metres)
        ends[target.start].append((target.end, long))
        ends[target.end].append((target.start, long))
    for _ in range(_TURNS):
        moved = 0.0
        for name, tapes in ends.items():
            here = pins[name]
            put = [_toward(pins[other], here, long) for other, long in tapes]
            pins[name] = sum(x for x, _ in put) / len(put), sum(y for _, y in put) / len(put)
            moved = max(moved, dist(here, pins[name]))
        if moved < _STILL:
            break
    return pins


def _toward(start: Pin, there: Pin, long: float) -> Pin:
    far = dist(start, there) or 1.0
    return start[0] + (there[0] - start[0]) * long / far, start[1] + (there[1] - start[1]) * long / far


def squaring(
    wanted: Corners, taped: Tapes, limits: Limits, allowed: Callable[[Tape], Length], mark: Length
) -> tuple[CornerMove, ...] | None:
    """What to move so that each tape is within what it is `allowed` and each corner square; nothing where all is.

    The fewest corners that do; of several ways the one that leaves the least. `mark` is the smallest division of the
    tape. None where that can't be told: not all is taped, or the tapes contradict one another.
    """
    checked = check_outline(wanted, taped, limits, mark)
    pins = as_taped(wanted, taped)
    if pins is None or checked.closes is False or _unfit(wanted, taped, pins) > 2 * float(mark.metres):
        return None
    lengths = [(taped[target.pair] - target.length, allowed(target)) for target in to_tape(wanted)]
    if checked.verdict != "fault" and all(abs(off) <= most for off, most in lengths):
        return ()
    found = _best(wanted, pins, limits, allowed, mark)
    grain = float(mark.metres) / 2
    ring = [name for name, _ in wanted]
    moves = ((name, _along(ring, pins, name, to, grain)) for name, to in found.items())
    return tuple(CornerMove(name, along) for name, along in moves if along)


def _unfit(wanted: Corners, taped: Tapes, pins: Pins) -> float:
    """What the worst tape is off from where the corners stand by all of them, in metres."""
    return max(
        abs(dist(pins[target.start], pins[target.end]) - float(taped[target.pair].metres))
        for target in to_tape(wanted)
    )


def _best(
    wanted: Corners, pins: Pins, limits: Limits, allowed: Callable[[Tape], Length], mark: Length
) -> dict[str, Pin]:
    """Where the corners that are moved go: as few as put all right. All but one always do."""
    names = [name for name, _ in wanted]
    many = len(names)
    for count in range(1, many) if many <= _MOST_TRIED else (1, 2, many - 1):
        ways = []
        for moving in combinations(names[::-1], count):  # the first side is the one most often snapped to a wall
            goal = _fitted(wanted, pins, [name for name in names if name not in moving])
            after = {**pins, **{name: goal[name] for name in moving}}
            left = _left(wanted, after, limits, allowed)
            far = sum(dist(pins[name], after[name]) for name in moving)
            to = {name: goal[name] for name in names if name in moving}
            ways.append((left > 1 + 1e-6, round(left, 3), round(far, 6), to))
        fails, _, _, to = min(ways, key=lambda way: way[:3])
        if not fails or count == many - 1:
            return to
    raise AssertionError("all but one corner can always be moved")


def _fitted(wanted: Corners, pins: Pins, kept: Sequence[str]) -> dict[str, Pin]:
    """The wanted outline, turned and shifted onto the corners kept; with one kept, turned to suit all of them."""
    plan = {name: (float(x.metres), float(y.metres)) for name, (x, y) in wanted}
    fx, fy = _middle([plan[name] for name in kept])
    tx, ty = _middle([pins[name] for name in kept])
    cosine = sine = 0.0
    for name in kept if len(kept) > 1 else plan:
        (px, py), (qx, qy) = plan[name], pins[name]
        cosine += (px - fx) * (qx - tx) + (py - fy) * (qy - ty)
        sine += (px - fx) * (qy - ty) - (py - fy) * (qx - tx)
    size = hypot(cosine, sine) or 1.0
    c, s = cosine / size, sine / size
    return {
        name: (tx + c * (x - fx) - s * (y - fy), ty + s * (x - fx) + c * (y - fy)) for name, (x, y) in plan.items()
    }


def _middle(places: Sequence[Pin]) -> Pin:
    return sum(x for x, _ in places) / len(places), sum(y for _, y in places) / len(places)


def _left(wanted: Corners, pins: Pins, limits: Limits, allowed: Callable[[Tape], Length]) -> float:
    """What would be left with the corners there: the worst tape or corner, counted in what is allowed."""
    tapes = {
        target.pair: Length(Fraction(round(dist(pins[target.start], pins[target.end]) * FINE), FINE))
        for target in to_tape(wanted)
    }
    blur = 2 / FINE  # places are rounded to a nanometre, and so are diagonals
    parts = [
        max(float(abs(tapes[target.pair] - target.length).metres) - blur, 0.0)
        / max(float(allowed(target).metres), blur)
        for target in to_tape(wanted)
    ]
    for corner in check_outline(wanted, tapes, limits, Length(Fraction(1, FINE))).corners:
        parts.append(float(abs(corner.lean.ratio) / corner.limit.value))
    return max(parts)


def _along(ring: Sequence[str], pins: Pins, name: str, to: Pin, grain: float) -> tuple[tuple[str, Length], ...]:
    """That way as people pace it: along one line where the rest is less than can be read, else along two."""
    here = pins[name]
    way = to[0] - here[0], to[1] - here[1]
    place = ring.index(name)
    sides = [ring[place - 1], ring[(place + 1) % len(ring)]]
    others = [*sides, *(each for each in ring if each != name and each not in sides)]
    unit = {each: _toward((0.0, 0.0), (pins[each][0] - here[0], pins[each][1] - here[1]), 1.0) for each in others}
    for each in others:
        across = abs(way[0] * unit[each][1] - way[1] * unit[each][0])
        if across < grain:
            return tuple(_said([(each, way[0] * unit[each][0] + way[1] * unit[each][1])], grain))
    pairs = list(combinations(others, 2))
    one, other = next(
        (pair for pair in pairs if abs(_cross(unit[pair[0]], unit[pair[1]])) > _STEEP),
        max(pairs, key=lambda pair: abs(_cross(unit[pair[0]], unit[pair[1]]))),
    )
    turn = _cross(unit[one], unit[other])
    first, second = _cross(way, unit[other]) / turn, _cross(unit[one], way) / turn
    return tuple(_said([(one, first), (other, second)], grain))


def _cross(one: Pin, other: Pin) -> float:
    return one[0] * other[1] - one[1] * other[0]


def _said(parts: Sequence[tuple[str, float]], grain: float) -> Iterator[tuple[str, Length]]:
    for end, by in sorted(parts, key=lambda part: -abs(part[1])):
        if abs(by) >= grain:
            yield end, Length(Fraction(round(by * FINE), FINE))
