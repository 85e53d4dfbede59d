"""The closed lines of a drawing as the outline of an area."""

from __future__ import annotations

import contextlib
from fractions import Fraction

from gradecheck.catalogue import _
from gradecheck.exchange.answers import in_quotes, short
from gradecheck.exchange.found import DrawnLine, FoundDrawing, shortest_decimal
from gradecheck.ground.outline import Outline, Ring, crosses_itself, signed_area, where
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import Length
from gradecheck.plan.geojson import Outlined
from gradecheck.plan.lines import LineError, arc_through
from gradecheck.plan.problems import PlanProblemsError, Problem


def outline_on(drawing: FoundDrawing, layer: str, one: Fraction, file: str) -> Outlined:
    """The closed line of that layer with those inside it as holes; arcs as chords, as the plan has them."""
    closed = [each for each in drawing.lines if each.closed and each.layer == layer]
    if not closed:
        layers = dict.fromkeys(each.layer for each in drawing.lines if each.closed)
        there = (
            _("there are some on {listed}", listed=in_quotes(list(layers))) if layers else _("there is none at all")
        )
        raise PlanProblemsError(
            [
                Problem(
                    file,
                    1,
                    1,
                    _("There is no closed line on “{quoted}”; {there}.", quoted=short(layer), there=there),
                )
            ]
        )
    rings = sorted((_ring(each, one, file) for each in closed), key=lambda ring: -abs(signed_area(ring)))
    outer, *holes = rings
    if any(map(crosses_itself, rings)):
        raise PlanProblemsError(
            [Problem(file, 1, 1, _("A closed line on “{quoted}” crosses itself.", quoted=short(layer)))]
        )
    if any(where(outer, corner) < 0 for hole in holes for corner in hole):
        says = _(
            "There are several closed lines side by side on “{quoted}”; an area has one outline.",
            quoted=short(layer),
        )
        raise PlanProblemsError([Problem(file, 1, 1, says)])
    return Outlined("", Outline(outer, tuple(holes)), 1)


def _ring(line: DrawnLine, one: Fraction, file: str) -> Ring:
    places = [(Length(x * one), Length(y * one)) for (x, y, _), _ in line.corners]
    corners: list[Place] = []
    for start, end, (_corner, bulge) in zip(places, [*places[1:], places[0]], line.corners, strict=True):
        corners.append(start)
        if bulge and start != end:
            with contextlib.suppress(LineError):  # as good as straight
                corners += arc_through(start, _middle(start, end, bulge), end).chords()[:-1]
        if len(corners) > _MOST_CORNERS:
            says = _(
                "{where} takes more than {most:,} corners; draw it with straight sides.",
                where=line.where,
                most=_MOST_CORNERS,
            )
            raise PlanProblemsError([Problem(file, 1, 1, says)])
    return tuple(dict.fromkeys(corners))


_MOST_CORNERS = 20_000


def _middle(start: Place, end: Place, bulge: float) -> Place:
    """The middle of the arc: as far to the right of the chord as the bulge times half of it (DXF reference)."""
    half = (shortest_decimal(bulge) or Fraction(0)) / 2
    (x, y), (to_x, to_y) = ((each[0].metres, each[1].metres) for each in (start, end))
    return Length((x + to_x) / 2 + (to_y - y) * half), Length((y + to_y) / 2 - (to_x - x) * half)
