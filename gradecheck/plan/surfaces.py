"""From a surface as a job file writes it to the surface it means, carried by points whose finish is known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

from gradecheck.ground.outline import turn
from gradecheck.ground.planes import Plane, plane_through
from gradecheck.ground.spots import Spot
from gradecheck.ground.surfaces import Surface, edge_plane, in_one_plane
from gradecheck.ground.triangles import triangulate
from gradecheck.measure.quantities import NO_SLOPE, FallXY, Slope
from gradecheck.plan.shapes import FallsEntry, SurfaceEntry


class SurfaceError(ValueError):
    """The entry means no surface; the message is one sentence."""


def surface_of(entry: SurfaceEntry, spot: Callable[[str], Spot]) -> Surface:
    """The surface that the entry means. `spot` gives each of its anchors. Raises `SurfaceError`."""
    if entry.at is not None:
        assert isinstance(entry.fall, FallsEntry)
        at, falls = spot(entry.at), FallXY(entry.fall.x or NO_SLOPE, entry.fall.y or NO_SLOPE)
        return Surface("plane", (Plane(at.at, at.z, falls),), says=f"plane through {entry.at}")
    if entry.through is not None:
        return _plane(plane_through(*map(spot, entry.through)), entry.through, "plane through")
    if entry.high_edge is not None and entry.low_edge is not None:
        names = (*entry.high_edge, *entry.low_edge)
        plane = in_one_plane([spot(name) for name in names])
        if plane is None:
            raise SurfaceError("These four do not lie in one plane; for a warped surface write “corners:”.")
        return _plane(plane, names, "plane through")
    if entry.high_edge is not None:
        assert entry.toward is not None
        assert isinstance(entry.fall, Slope)
        plane = _off_edge(spot, entry.high_edge, entry.fall, spot(entry.toward))
        return Surface("plane", (plane,), says=f"plane off the edge {', '.join(entry.high_edge)}")
    if entry.corners is not None:
        return _warped([spot(name) for name in entry.corners])
    if entry.spots is not None:
        return _joined([spot(name) for name in entry.spots])
    return _ridge(entry, spot)


def _plane(plane: Plane | None, names: Sequence[str], words: str) -> Surface:
    if plane is None:
        raise SurfaceError(f"{', '.join(names)} lie in one line and carry no plane; choose another.")
    return Surface("plane", (plane,), says=f"{words} {', '.join(names)}")


def _off_edge(spot: Callable[[str], Spot], names: Sequence[str], fall: Slope, toward: Spot) -> Plane:
    one, other = map(spot, names)
    if one.at == other.at:
        raise SurfaceError(f"{names[0]} and {names[1]} lie at one place and make no line; choose another.")
    plane = edge_plane(one, other, fall, toward.at)
    if plane is None:
        raise SurfaceError(f"“{toward.name}” lies on the line of the edge; “toward:” is a point beside it.")
    return plane


def _warped(spots: Sequence[Spot]) -> Surface:
    ring = [spot.at for spot in spots]
    turns = [turn(ring[i], ring[(i + 1) % 4], ring[(i + 2) % 4]) for i in range(4)]
    if not (all(side > 0 for side in turns) or all(side < 0 for side in turns)):
        raise SurfaceError("Four corners are written in turn around the surface, none within the others.")
    return Surface("warped", spots=tuple(spots), says=f"between {', '.join(spot.name for spot in spots)}")


def _joined(spots: Sequence[Spot]) -> Surface:
    joined = triangulate(spots)
    if not joined.corners:
        raise SurfaceError("These spots lie in one line and carry no surface; add one beside it.")
    if len(joined.spots) < len(spots):
        raise SurfaceError("Two of these spots lie at one place; take one out.")
    return Surface("joined", spots=joined.spots, corners=joined.corners, says=f"through {len(spots)} spots")


def _ridge(entry: SurfaceEntry, spot: Callable[[str], Spot]) -> Surface:
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
    return Surface(kind, tuple(planes), says=f"{kind} from {one.name} to {other.name}")
