"""Rows as a drawing: DXF of release 12, plain text that any program for drawings reads.

Each point is a POINT at its place and height, and an insert there that carries every column as an attribute; outlines
are closed polylines. Release 12 is written in Windows code page 1252, other letters as ``\\U+XXXX``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import hypot

from gradecheck.exchange.table import PointTable, Value, number
from gradecheck.ground.spots import Place
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length
from gradecheck.plan.names import visible

INSUNITS = {Units.IN: 1, Units.FT: 2, Units.MM: 4, Units.CM: 5, Units.M: 6}
"""The drawing units of a DXF header (DXF reference, $INSUNITS)."""
BLOCK = "GRADE-POINT"
WRITTEN = "written by gradecheck"
"""The remark that a file begins with."""
_LONGEST = 255
"""Characters of a text; more have no place in release 12 (common practice, no source)."""
_LAYER = 31
"""Characters of a layer's name in release 12 (common practice, no source)."""
Pairs = Iterator[tuple[int, object]]


def dxf_bytes(table: PointTable) -> bytes:
    """The drawing. Rows without a place are left out, and so must be told of by whoever asks for it."""
    units = table.written
    placed = [(row, at) for row in table.rows if (at := table.at(row)) is not None]
    layers = _layers([table.layer(row) for row, _ in placed] + [(each.name,) for each in table.outlines])
    height = _letter(placed, units)
    entities: list[tuple[int, object]] = []
    for row, at in placed:
        entities += _point(table, row, at, layers[table.layer(row)], height, units)
    for each in table.outlines:
        for ring in (each.outline.ring, *each.outline.holes):
            entities += _polyline(ring, layers[(each.name,)], units)
    pairs = [
        (999, WRITTEN),
        *_head(table, placed, units, list(layers.values()), height),
        *_section("ENTITIES", entities),
        (0, "EOF"),
    ]
    return "".join(f"{code:>3}\r\n{value}\r\n" for code, value in pairs).encode("cp1252")


def _section(name: str, pairs: Sequence[tuple[int, object]]) -> Pairs:
    yield from ((0, "SECTION"), (2, name))
    yield from pairs
    yield 0, "ENDSEC"


def _head(
    table: PointTable, placed: Sequence[tuple[tuple[Value, ...], Place]], units: Units, layers: list[str], height: str
) -> Pairs:
    """Everything before what is drawn: units and extents, the layers, and the block of the inserts."""
    corners = [at for _, at in placed] + [at for each in table.outlines for at in each.outline.ring]
    extents = [(min(side), max(side)) for side in zip(*corners, strict=True)]
    header: list[tuple[int, object]] = [(9, "$ACADVER"), (1, "AC1009"), (9, "$DWGCODEPAGE"), (3, "ANSI_1252")]
    header += [(9, "$INSUNITS"), (70, INSUNITS[units]), (9, "$PDMODE"), (70, _RINGED_CROSS)]
    for name, end in (("$EXTMIN", 0), ("$EXTMAX", 1)) if extents else ():
        header += [
            (9, name),
            *((10 * axis, number(each[end], units)) for axis, each in enumerate(extents, 1)),
            (30, 0),
        ]
    yield from _section("HEADER", header)
    rows: list[tuple[int, object]] = [(0, "TABLE"), (2, "LAYER"), (70, len(layers) + 1)]
    for layer in ("0", *layers):
        rows += [(0, "LAYER"), (2, layer), (70, 0), (62, 7), (6, "CONTINUOUS")]
    yield from _section("TABLES", [*rows, (0, "ENDTAB")])
    block: list[tuple[int, object]] = [
        (0, "BLOCK"),
        (8, "0"),
        (2, BLOCK),
        (70, 2),
        *_place(10, "0", "0", "0"),
        (3, BLOCK),
    ]
    for at, column in enumerate(table.columns):
        block += [(0, "ATTDEF"), (8, "0"), *_place(10, "0", f"-{at}", "0"), (40, height), (1, "")]
        block += [(3, column), (2, _tag(column)), (70, 0 if column in _shown(table) else _HIDDEN)]
    yield from _section("BLOCKS", [*block, (0, "ENDBLK"), (8, "0")])


_RINGED_CROSS = 35
"""How points are shown: what $PDMODE calls a cross in a ring (DXF reference)."""
_HIDDEN = 1
"""The flag of an attribute that is not drawn."""


def _tag(column: str) -> str:
    return column.upper().replace(" ", "-")


def _shown(table: PointTable) -> tuple[str, ...]:
    """The columns that are drawn beside a point, all others go unseen: its name, and what was found or is wanted."""
    return (table.name, table.z)


def _place(first: int, x: str, y: str, z: str) -> Pairs:
    yield from zip((first, first + 10, first + 20), (x, y, z), strict=True)


def _point(table: PointTable, row: tuple[Value, ...], at: Place, layer: str, height: str, units: Units) -> Pairs:
    z = table.cell(row, table.z)
    x, y = (number(size, units) for size in at)
    up = number(z, units) if isinstance(z, Length) else "0"
    if isinstance(z, Length):  # one without a height would be taken for one at zero
        yield from ((0, "POINT"), (8, layer), *_place(10, x, y, up))
    yield from ((0, "INSERT"), (8, layer), (66, 1), (2, BLOCK), *_place(10, x, y, up))
    for column, value in zip(table.columns, row, strict=True):
        said = _text(value) if isinstance(value, str) else number(value, units)
        yield from ((0, "ATTRIB"), (8, layer), *_place(10, x, y, up), (40, height), (1, said))
        yield from ((2, _tag(column)), (70, 0 if column in _shown(table) else _HIDDEN))
    yield from ((0, "SEQEND"), (8, layer))


def _polyline(ring: Sequence[Place], layer: str, units: Units) -> Pairs:
    yield from ((0, "POLYLINE"), (8, layer), (66, 1), *_place(10, "0", "0", "0"), (70, 1))
    for x, y in ring:
        yield from ((0, "VERTEX"), (8, layer), *_place(10, number(x, units), number(y, units), "0"))
    yield from ((0, "SEQEND"), (8, layer))


def _letter(placed: Sequence[tuple[tuple[Value, ...], Place]], units: Units) -> str:
    """How high letters are: a twentieth of the usual way from a point to the next (common practice, no source)."""
    ways = [
        hypot(float(b[0].metres - a[0].metres), float(b[1].metres - a[1].metres))
        for (_, a), (_, b) in pairwise(placed)
    ]
    some = sorted(way for way in ways if way) or [float(units.one.metres) * 20]
    usual = some[len(some) // 2] / float(units.one.metres)
    return f"{usual / 20:.6f}"


def _text(text: str) -> str:
    """The text so that it is read again as it is: with no control code of the format in it, on one line."""
    plain = visible(text)[:_LONGEST]
    if "%%" in plain:
        plain = plain.replace("%", "%%%")
    plain = plain.replace("\\U+", "\\U+005CU+").replace("^", "^ ")
    return "".join(c if _fits(c) else f"\\U+{ord(c):04X}" if ord(c) < 0x10000 else "?" for c in plain)


def _fits(character: str) -> bool:
    try:
        character.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def _layers(named: Sequence[tuple[str, ...]]) -> dict[tuple[str, ...], str]:
    """A layer's name for each: capitals, digits, hyphens, no two alike, as release 12 has them."""
    found: dict[tuple[str, ...], str] = {}
    for parts in named:
        if parts in found:
            continue
        plain = "-".join(filter(None, (_NOT_PLAIN.sub("-", part.upper()).strip("-") for part in parts)))[:_LAYER]
        name, again = plain or "POINTS", 2
        while name in found.values():
            name, again = f"{(plain or 'POINTS')[: _LAYER - 4]}-{again}", again + 1
        found[parts] = name
    return found


_NOT_PLAIN = re.compile("[^A-Z0-9]+")
