"""Surfaces as a job file means them, the places they are checked at, and the lines along which people walk."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import lcm
from typing import Literal, NamedTuple

from gradecheck.catalogue import _, stored
from gradecheck.ground.outline import Outline, turn, where_number
from gradecheck.ground.planes import Plane, plane_through
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import AreaSurface, distance, edge_plane, in_one_plane
from gradecheck.ground.triangles import triangulate
from gradecheck.measure.quantities import NO_SLOPE, ZERO, FallXY, Length, Slope
from gradecheck.plan.area_entries import EdgeEntry, FallsEntry, SurfaceEntry


class SurfaceError(ValueError):
    """The entry means no surface; the message is one sentence."""


def surface_of(entry: SurfaceEntry, spot: Callable[[str], Spot]) -> AreaSurface:
    """The surface that the entry describes. `spot` gives each of its anchors. Raises `SurfaceError`."""
    if entry.at is not None:
        assert isinstance(entry.fall, FallsEntry)
        at, falls = spot(entry.at), FallXY(entry.fall.x or NO_SLOPE, entry.fall.y or NO_SLOPE)
        return AreaSurface("plane", (Plane(at.at, at.z, falls),), says=stored("plane through {at}", at=entry.at))
    if entry.through is not None:
        return _plane(plane_through(*map(spot, entry.through)), entry.through)
    if entry.high_edge is not None and entry.low_edge is not None:
        names = (*entry.high_edge, *entry.low_edge)
        plane = in_one_plane([spot(name) for name in names])
        if plane is None:
            raise SurfaceError(_("These four do not lie in one plane; for a warped surface write “corners:”."))
        return _plane(plane, names)
    if entry.high_edge is not None:
        assert entry.toward is not None
        assert isinstance(entry.fall, Slope)
        plane = _off_edge(spot, entry.high_edge, entry.fall, spot(entry.toward))
        return AreaSurface(
            "plane", (plane,), says=stored("plane off the edge {high_edge}", high_edge=", ".join(entry.high_edge))
        )
    if entry.corners is not None:
        return _warped([spot(name) for name in entry.corners])
    if entry.spots is not None:
        return _joined([spot(name) for name in entry.spots])
    return _ridge(entry, spot)


def _plane(plane: Plane | None, names: Sequence[str]) -> AreaSurface:
    if plane is None:
        raise SurfaceError(_("{names} lie in one line and carry no plane; choose another.", names=", ".join(names)))
    return AreaSurface("plane", (plane,), says=stored("plane through {corners}", corners=", ".join(names)))


def _off_edge(spot: Callable[[str], Spot], names: Sequence[str], fall: Slope, toward: Spot) -> Plane:
    one, other = map(spot, names)
    if one.at == other.at:
        raise SurfaceError(
            _(
                "{one} and {other} lie at one place and make no line; choose another.",
                one=names[0],
                other=names[1],
            )
        )
    plane = edge_plane(one, other, fall, toward.at)
    if plane is None:
        raise SurfaceError(
            _("“{name}” lies on the line of the edge; “toward:” is a point beside it.", name=toward.name)
        )
    return plane


def _warped(spots: Sequence[Spot]) -> AreaSurface:
    ring = [spot.at for spot in spots]
    turns = [turn(ring[i], ring[(i + 1) % 4], ring[(i + 2) % 4]) for i in range(4)]
    if not (all(side > 0 for side in turns) or all(side < 0 for side in turns)):
        raise SurfaceError(_("Four corners are written in turn around the surface, none within the others."))
    return AreaSurface(
        "warped", spots=tuple(spots), says=stored("between {spots}", spots=", ".join(spot.name for spot in spots))
    )


def _joined(spots: Sequence[Spot]) -> AreaSurface:
    joined = triangulate(spots)
    if not joined.corners:
        raise SurfaceError(_("These spots lie in one line and carry no surface; add one beside it."))
    if len(joined.spots) < len(spots):
        raise SurfaceError(_("Two of these spots lie at one place; remove one."))
    return AreaSurface(
        "joined", spots=joined.spots, corners=joined.corners, says=stored("through {spots} spots", spots=len(spots))
    )


def _ridge(entry: SurfaceEntry, spot: Callable[[str], Spot]) -> AreaSurface:
    names = entry.crown or entry.valley
    assert names is not None
    assert entry.falls is not None
    one, other = map(spot, names)
    across = (one.y - other.y, other.x - one.x)  # a quarter turn to the left of the way from one to the other
    left = Spot("left", (one.x + across[0], one.y + across[1]), one.z)
    right = Spot("right", (one.x - across[0], one.y - across[1]), one.z)
    kind: Literal["crown", "valley"] = "crown" if entry.crown else "valley"
    falls = [fall if entry.crown else Slope(-fall.ratio) for fall in entry.falls]
    planes = [_off_edge(spot, names, fall, side) for fall, side in zip(falls, (left, right), strict=True)]
    return AreaSurface(
        kind, tuple(planes), says=stored("{kind} from {start} to {end}", kind=kind, start=one.name, end=other.name)
    )


MOST = 50_000
"""Points in a grid; a larger one is a slip of a unit."""


class TooManyError(ValueError):
    """The spacing would make more points than `MOST`."""


class Spacing(NamedTuple):
    """How far apart the columns (along x) and the rows (along y) of a grid are."""

    x: Length
    y: Length


def grid_places(outline: Outline, every: Spacing, prefix: str, start: Place | None) -> list[tuple[str, Place]]:
    """The grid's points inside the outline and on its line, named by row and place in the row, as ``G2-3``.

    Rows run along x and are walked there and back, so that nobody walks a row for nothing. `start` is a place the
    grid passes through, the outline's lowest corner where none is given. Raises `TooManyError`.
    """
    left, right = _reach(outline, 0)
    bottom, top = _reach(outline, 1)
    origin = start or (Length(left), Length(bottom))
    columns = _steps(left, right, origin[0], every.x)
    rows = _steps(bottom, top, origin[1], every.y)
    if len(columns) * len(rows) > MOST:
        raise TooManyError(
            _(
                "This grid would have {columns:,} points; {most:,} are the most.",
                columns=len(columns) * len(rows),
                most=MOST,
            )
        )
    inside = _Inside(outline, origin, every)
    found: list[tuple[str, Place]] = []
    number = 0
    for row in rows:
        kept = [column for column in columns if inside(column, row)]
        if not kept:
            continue
        number += 1
        y = origin[1] + every.y * row
        line = [
            (f"{prefix}{number}-{place}", (origin[0] + every.x * column, y)) for place, column in enumerate(kept, 1)
        ]
        found += line if number % 2 else reversed(line)
    return found


def edge_places(entry: EdgeEntry, prefix: str) -> list[tuple[str, Place]]:
    """The points of an edge; exact along straight lines, else rounded once to 0.001 mm.

    Raises `TooManyError`, and `LineError` where the line turns too sharply for the offset.
    """
    line = entry.along
    right = entry.right.metres if entry.right else -entry.left.metres if entry.left else Fraction(0)
    if entry.every is not None and not right and not line.curved:
        return places_along(line, entry.every, prefix)
    if entry.every is not None and line.length > entry.every.metres * MOST:
        raise TooManyError(_("This line would have more than {most:,} points; write a larger spacing.", most=MOST))
    stations = line.every(entry.every) if entry.every else [each.metres for each in entry.stations or ()]
    return [(f"{prefix}{number}", line.place(each, right)) for number, each in enumerate(stations, 1)]


def places_along(line: list[Place], every: Length, prefix: str) -> list[tuple[str, Place]]:
    """Points along a line of places, `every` so far from its start; its corners and its end are among them.

    Raises `TooManyError`.
    """
    found = [place for start, end in pairwise(line) for place in _stretch(start, end, every)]
    return [(f"{prefix}{number}", place) for number, place in enumerate([*found, line[-1]], 1)]


def _stretch(start: Place, end: Place, every: Length) -> Iterator[Place]:
    length = distance(start, end)
    if length.metres > every.metres * MOST:
        raise TooManyError(_("This line would have more than {most:,} points; write a larger spacing.", most=MOST))
    so_far = ZERO
    while so_far < length:
        share = so_far.metres / length.metres
        yield start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share
        so_far = so_far + every


def _reach(outline: Outline, axis: int) -> tuple[Fraction, Fraction]:
    values = [corner[axis].metres for corner in outline.ring]
    return min(values), max(values)


def _steps(low: Fraction, high: Fraction, origin: Length, every: Length) -> range:
    first = -((origin.metres - low) // every.metres)
    return range(first, int((high - origin.metres) // every.metres) + 1)


class _Inside:
    """Whether a crossing of the grid lies inside; in whole numbers, everything scaled to one denominator."""

    def __init__(self, outline: Outline, origin: Place, every: Spacing) -> None:
        rings = [outline.ring, *outline.holes]
        lengths = [*origin, *every, *(length for ring in rings for corner in ring for length in corner)]
        scale = lcm(*(length.metres.denominator for length in lengths))
        self._ring, *self._holes = (
            [(int(x.metres * scale), int(y.metres * scale)) for x, y in ring] for ring in rings
        )
        self._x, self._y = (int(length.metres * scale) for length in origin)
        self._step_x, self._step_y = (int(length.metres * scale) for length in every)

    def __call__(self, column: int, row: int) -> bool:
        x, y = self._x + column * self._step_x, self._y + row * self._step_y
        return where_number(self._ring, x, y) >= 0 and all(where_number(hole, x, y) <= 0 for hole in self._holes)


Line = tuple[Place, ...]
Vector = tuple[Fraction, Fraction]
ASKEW = Fraction(1, 4)
"""Two edges that go as much sideways of one another for so much along, about 14 degrees, are those of one walk."""


def along_edges(edges: Sequence[Line]) -> tuple[Line, ...]:
    """The edges where they show which way is walked: two or more that take the same turns, either way round.

    Nothing where they go round the area, turn back, or one goes across where another goes along: then the plan has to
    say it.
    """
    ways = [list(_ways(edge)) for edge in edges]
    if (
        len(edges) < 2
        or not all(ways)
        or any(edge[0] == edge[-1] or _turns_back(each) for edge, each in zip(edges, ways, strict=True))
    ):
        return ()
    first = ways[0]
    for other in ways[1:]:
        if not any(_same_turns(first, turned) for turned in (other, other[::-1])):
            return ()
    return tuple(edges)


def _ways(edge: Line) -> Iterator[Vector]:
    for one, other in pairwise(edge):
        if one != other:
            yield (other[0] - one[0]).metres, (other[1] - one[1]).metres


def _turns_back(ways: Sequence[Vector]) -> bool:
    return any(x * u + y * v < 0 for (x, y) in ways for (u, v) in ways)


def _same_turns(first: Sequence[Vector], other: Sequence[Vector]) -> bool:
    """Whether the two take the same turns stretch by stretch, in the same or in the opposite direction."""
    if len(first) != len(other) or not all(map(_alike, first, other)):
        return False
    return len({x * u + y * v > 0 for (x, y), (u, v) in zip(first, other, strict=True)}) == 1


def _alike(one: Vector, other: Vector) -> bool:
    along, across = one[0] * other[0] + one[1] * other[1], one[0] * other[1] - one[1] * other[0]
    return abs(across) <= ASKEW * abs(along)
