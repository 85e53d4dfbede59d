"""How to draw places, spots and closed lines for the property tests."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import shapely
from hypothesis import strategies as st

from gradecheck.ground.spots import Place, Spot
from gradecheck.measure.quantities import Elevation, Length

Corner = tuple[int, int]


def place(x: int | Fraction, y: int | Fraction) -> Place:
    """A place so many metres along both directions."""
    return Length(Fraction(x)), Length(Fraction(y))


def ring(*corners: tuple[int | Fraction, int | Fraction]) -> tuple[Place, ...]:
    """A closed line through corners in metres."""
    return tuple(place(x, y) for x, y in corners)


def spots(*given: tuple[int | Fraction, int | Fraction, int | Fraction]) -> list[Spot]:
    """Spots at x, y and z in metres, named by their order."""
    return [Spot(f"S{n}", place(x, y), Elevation(Fraction(z))) for n, (x, y, z) in enumerate(given, 1)]


def polygon(line: Sequence[Place]) -> shapely.Polygon:
    """The same closed line for shapely."""
    return shapely.Polygon([(float(x.metres), float(y.metres)) for x, y in line])


small = st.integers(-8, 8)
"""Few enough values for corners to lie on lines and lines on one another."""
corners = st.tuples(small, small)
heights = st.integers(-40, 40).map(lambda sixteenths: Fraction(sixteenths, 16))

_DIRECTIONS = [
    (4, 0), (4, 1), (3, 2), (2, 4), (0, 3), (-1, 4), (-3, 3), (-4, 1), (-4, 0), (-4, -2), (-2, -3), (-1, -4), (0, -4),
    (2, -4), (3, -3), (4, -1),
]  # fmt: skip


@st.composite
def outlines(draw: st.DrawFn) -> tuple[Place, ...]:
    """A line round a middle that every corner can be seen from: hollow or bulging, never crossing itself."""
    firsts = draw(st.sets(st.sampled_from(range(16)), min_size=4))
    # One corner in each quarter keeps the middle inside.
    chosen = sorted(firsts | {0, 4, 8, 12})
    way = draw(st.sampled_from((1, -1)))
    far = [draw(st.integers(1, 12)) for _ in chosen]
    found = [place(_DIRECTIONS[n][0] * size, _DIRECTIONS[n][1] * size) for n, size in zip(chosen, far, strict=True)]
    return tuple(found[::way])


@st.composite
def sites(draw: st.DrawFn, least: int = 4, most: int = 14) -> list[Spot]:
    """Spots at different places, not all in one line."""
    where = draw(st.lists(corners, min_size=least, max_size=most, unique=True).filter(_spread))
    return spots(*((x, y, draw(heights)) for x, y in where))


def _spread(where: Sequence[Corner]) -> bool:
    (ax, ay), (bx, by) = where[:2]
    return any((bx - ax) * (y - ay) != (by - ay) * (x - ax) for x, y in where[2:])
