"""The falls of an area's ground: one for each piece that falls evenly, for the arrows of its plan view."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import dist, hypot

from gradecheck.ground.outline import Outline, signed_area
from gradecheck.ground.planes import Plane, plane_through
from gradecheck.ground.spots import Place, Spot
from gradecheck.ground.surfaces import AreaSurface
from gradecheck.ground.triangles import Triangles, triangulate
from gradecheck.measure.quantities import Length
from gradecheck.plan.model import Area

STEP = 0.2
"""Steeper ground than this is a step; its arrow has no percent."""
ALIKE = 0.001
"""Pieces of ground that fall the same to a tenth of a percent along x and y are one; targets are rounded."""
LEAST = 0.0005
"""What falls less is level."""
MOST_SPOTS = 400
"""More spots than this are thinned out: the arrows of a larger grid could not be told apart."""
_SMALLEST = 0.02
"""Share of the ground below which a piece is a sliver between two others."""


def metres(place: Place) -> tuple[float, float]:
    """A place on the plan in metres, as near as a drawing needs."""
    return float(place[0].metres), float(place[1].metres)


@dataclass(frozen=True, slots=True)
class FallArrow:
    """The fall of a piece of ground, at a place in metres: `way` is one long and points down, `ratio` is above 0."""

    at: tuple[float, float]
    way: tuple[float, float]
    ratio: float

    @property
    def percent(self) -> str:
        """The fall in percent to a tenth, empty for a step."""
        return f"{self.ratio * 100:.1f}".removesuffix(".0") + "%" if self.ratio <= STEP else ""


def plan_falls(area: Area) -> tuple[FallArrow, ...]:
    """The falls of the finish as planned, the largest piece of ground first.

    They come from the area's surface where it has one, else from its points as `falls_through` has it.
    """
    surface = area.surface
    spots = [point.spot for point in area.points if point.spot is not None]
    if surface is None:
        return falls_through(spots, area.outline)
    if surface.kind == "joined":
        return _pieces(Triangles(surface.spots, surface.corners), area.outline)
    if surface.kind == "warped":
        return tuple(_quarters(surface))
    corners = area.outline.ring if area.outline else tuple(spot.at for spot in spots)
    return tuple(_sides(surface, corners, area.outline))


def falls_through(spots: Sequence[Spot], outline: Outline | None = None) -> tuple[FallArrow, ...]:
    """The falls of the ground that joins these spots, by pieces that fall alike, the largest first.

    Spots in one line give the fall from each to the next instead.
    """
    thinned = spots[:: -(-len(spots) // MOST_SPOTS) or 1]
    joined = triangulate(thinned, outline)
    if joined.corners:
        return _pieces(joined, outline)
    found = (_fall(_middle((one.at, other.at)), _line(one, other)) for one, other in pairwise(spots))
    return tuple(fall for fall in found if fall is not None)


def _fall(at: tuple[float, float], down: tuple[float, float]) -> FallArrow | None:
    ratio = hypot(*down)
    return FallArrow(at, (down[0] / ratio, down[1] / ratio), ratio) if ratio >= LEAST else None


def _line(one: Spot, other: Spot) -> tuple[float, float]:
    x, y = float((other.x - one.x).metres), float((other.y - one.y).metres)
    drop, square = float(one.z.above(other.z).metres), x * x + y * y
    return (x * drop / square, y * drop / square) if square else (0.0, 0.0)


def _down(plane: Plane) -> tuple[float, float]:
    return float(plane.falls.x.ratio), float(plane.falls.y.ratio)


def _place(at: tuple[float, float]) -> Place:
    return Length(Fraction(at[0])), Length(Fraction(at[1]))


def _middle(places: Sequence[Place]) -> tuple[float, float]:
    x = sum(float(place[0].metres) for place in places) / len(places)
    y = sum(float(place[1].metres) for place in places) / len(places)
    return x, y


def _sides(surface: AreaSurface, corners: Sequence[Place], outline: Outline | None) -> Iterator[FallArrow]:
    """Of a plane, a crown or a valley: one fall for each plane, in the middle of the corners where it holds."""
    for plane in surface.planes:
        own = [place for place in corners if plane.elevation(place) == surface.elevation(place)]
        if not own:
            continue
        at = _middle(own)
        if outline is not None and not outline.contains(_place(at)):
            # Of a hollow outline the middle may lie outside, or in a hole; half way to a corner need not.
            halves = [((at[0] + x) / 2, (at[1] + y) / 2) for x, y in map(metres, own)]
            at = next((half for half in halves if outline.contains(_place(half))), at)
        if fall := _fall(at, _down(plane)):
            yield fall


def _quarters(surface: AreaSurface) -> Iterator[FallArrow]:
    """Of a warped surface: the fall in the middle of each of its quarters."""
    a, b, c, d = (spot.at for spot in surface.spots)
    small = Length(Fraction(1, 1000))
    for s, t in ((1, 1), (3, 1), (3, 3), (1, 3)):
        shares = (Fraction(4 - s, 4) * Fraction(4 - t, 4), Fraction(s, 4) * Fraction(4 - t, 4),
                  Fraction(s, 4) * Fraction(t, 4), Fraction(4 - s, 4) * Fraction(t, 4))  # fmt: skip
        x, y = (
            Length(sum((share * place[axis].metres for share, place in zip(shares, (a, b, c, d), strict=True)),
                       Fraction(0)))
            for axis in (0, 1)
        )  # fmt: skip
        around: list[Spot] = []
        for place in ((x, y), (x + small, y), (x, y + small)):
            z = surface.elevation(place)
            around += [Spot("", place, z)] if z is not None else []
        plane = plane_through(*around) if len(around) == 3 else None
        if plane is not None and (fall := _fall(_middle([(x, y)]), _down(plane))):
            yield fall


def _pieces(joined: Triangles, outline: Outline | None) -> tuple[FallArrow, ...]:
    """Neighboring triangles that fall alike as one; slivers are left out."""
    downs = [_down(plane) for plane in joined.planes]
    middles = [_middle([joined.spots[corner].at for corner in corners]) for corners in joined.corners]
    sizes = [float(abs(signed_area([joined.spots[corner].at for corner in corners]))) for corners in joined.corners]
    found: list[tuple[float, FallArrow]] = []
    for piece in _alike(joined, downs):
        size = sum(sizes[each] for each in piece)
        at, down = (
            (
                sum(pairs[each][0] * sizes[each] for each in piece) / size,
                sum(pairs[each][1] * sizes[each] for each in piece) / size,
            )
            for pairs in (middles, downs)
        )
        if outline is not None and not outline.contains(_place(at)):
            # Round a hole, or where the outline is hollow: then in the middle of the triangle next to it.
            own = [middles[each] for each in piece if outline.contains(_place(middles[each]))]
            at = min(own, key=lambda middle: dist(middle, at), default=at)
        if fall := _fall(at, down):
            found.append((size, fall))
    kept = [each for each in found if each[0] >= _SMALLEST * sum(sizes)] or found
    return tuple(fall for _, fall in sorted(kept, key=lambda each: -each[0]))


def _alike(joined: Triangles, downs: Sequence[tuple[float, float]]) -> Iterator[list[int]]:
    """The triangles by pieces: those reached over shared sides that fall as the first of the piece does."""
    sides: dict[frozenset[int], list[int]] = defaultdict(list)
    for index, corners in enumerate(joined.corners):
        for side in _sides_of(corners):
            sides[side].append(index)
    waiting = set(range(len(joined.corners)))
    for first in range(len(joined.corners)):
        if first not in waiting:
            continue
        waiting.discard(first)
        piece = [first]
        for index in piece:
            for side in _sides_of(joined.corners[index]):
                for other in sides[side]:
                    if other in waiting and _same(downs[first], downs[other]):
                        waiting.discard(other)
                        piece.append(other)
        yield piece


def _sides_of(corners: Iterable[int]) -> Iterator[frozenset[int]]:
    a, b, c = corners
    yield from (frozenset((a, b)), frozenset((b, c)), frozenset((c, a)))


def _same(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return abs(one[0] - other[0]) <= ALIKE and abs(one[1] - other[1]) <= ALIKE
