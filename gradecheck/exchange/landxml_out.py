"""Rows as LandXML 1.2, the open schema for points and surfaces: a CgPoint each, grouped, with north before east."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from itertools import count, pairwise
from xml.sax.saxutils import quoteattr

from gradecheck.exchange.table import PointTable, Value, number
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length
from gradecheck.plan.names import visible

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n<!-- written by gradecheck -->'
"""How a file begins."""
NAMESPACE = "http://www.landxml.org/schema/LandXML-1.2"
_IMPERIAL = (
    '<Imperial linearUnit="{}" areaUnit="squareFoot" volumeUnit="cubicYard" temperatureUnit="fahrenheit"'
    ' pressureUnit="inHG"/>'
)
_METRIC = (
    '<Metric linearUnit="{}" areaUnit="squareMeter" volumeUnit="cubicMeter" temperatureUnit="celsius"'
    ' pressureUnit="milliBars"/>'
)
LINEAR = {Units.IN: "inch", Units.FT: "foot", Units.MM: "millimeter", Units.CM: "centimeter", Units.M: "meter"}
"""The `linearUnit` that says these units."""


def landxml_text(table: PointTable, made: datetime, state: str) -> str:
    """The file; `state` is what its points are, ``proposed`` or ``existing``, and `made` when it was written.

    What has no attribute of its own stands in `desc`, each column with its value, in the units of the file.
    Rows without a place are left out, and so must be told of by
    whoever asks for it.
    """
    units = table.written
    groups: dict[str, list[str]] = {}
    taken: dict[str, set[str]] = {}
    for row in table.rows:
        at = table.at(row)
        if at is None:
            continue
        group = visible(" ".join(table.layer(row)))
        name = _unlike(visible(str(table.cell(row, table.name))), taken.setdefault(group, set()))
        groups.setdefault(group, []).append(_point(table, row, at, name, state, units))
    points = "".join(
        f" <CgPoints name={_quoted(group)}>\n{''.join(each)} </CgPoints>\n" for group, each in groups.items()
    )
    features = "".join(
        _outline(each.name, ring, units)
        for each in table.outlines
        for ring in (each.outline.ring, *each.outline.holes)
    )
    drawn = f" <PlanFeatures>\n{features} </PlanFeatures>\n" if features else ""
    measured = (_IMPERIAL if units.imperial else _METRIC).format(LINEAR[units])
    return (
        f"{HEAD}\n"
        f'<LandXML xmlns="{NAMESPACE}" version="1.2" date="{made:%Y-%m-%d}" time="{made:%H:%M:%S}">\n'
        f" <Units>{measured}</Units>\n <Project name={_quoted(table.title)}/>\n{points}{drawn}</LandXML>\n"
    )


def _unlike(name: str, taken: set[str]) -> str:
    """The name, with a number behind it where it is taken in its group: it may be shown there only once."""
    alone, again = name, count(2)
    while alone in taken:
        alone = f"{name} ({next(again)})"
    taken.add(alone)
    return alone


def _point(table: PointTable, row: tuple[Value, ...], at: Place, name: str, state: str, units: Units) -> str:
    (x, y), z = at, table.cell(row, table.z)
    place = [number(size, units) for size in (y, x, z) if isinstance(size, Length)]
    others = {
        column: value if isinstance(value, str) else number(value, units)
        for column, value in zip(table.columns, row, strict=True)
        if column not in (table.name, table.z, "x", "y", *table.layers)
    }
    notes = [f"{column} {value}" if len(others) > 1 else value for column, value in others.items() if value]
    desc = f" desc={_quoted('; '.join(notes))}" if notes else ""
    return f'  <CgPoint name={_quoted(name)}{desc} state="{state}">{" ".join(place)}</CgPoint>\n'


def _outline(name: str, ring: Sequence[Place], units: Units) -> str:
    ends = [f"{number(y, units)} {number(x, units)}" for x, y in (*ring, ring[0])]
    lines = "".join(f"<Line><Start>{start}</Start><End>{end}</End></Line>" for start, end in pairwise(ends))
    return f"  <PlanFeature name={_quoted(name)}><CoordGeom>{lines}</CoordGeom></PlanFeature>\n"


def _quoted(text: str) -> str:
    return quoteattr(visible(text))
