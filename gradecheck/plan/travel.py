"""Which way people walk on an area, by the lines its plan draws along it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from gradecheck.ground.spots import Place

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
    """Whether they go alike stretch for stretch, all the same way or all the other way round."""
    if len(first) != len(other) or not all(map(_alike, first, other)):
        return False
    return len({x * u + y * v > 0 for (x, y), (u, v) in zip(first, other, strict=True)}) == 1


def _alike(one: Vector, other: Vector) -> bool:
    along, across = one[0] * other[0] + one[1] * other[1], one[0] * other[1] - one[1] * other[0]
    return abs(across) <= ASKEW * abs(along)
