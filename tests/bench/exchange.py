"""Measured without a screen: lists and drawings of an office taken in, beside the library alone on the same bytes."""

from __future__ import annotations

import gc
import io
import time
import xml.etree.ElementTree as ET
from collections.abc import Callable
from datetime import UTC, datetime
from fractions import Fraction

import ezdxf
import openpyxl
from ezdxf.filemanagement import read as read_drawing

from gradecheck.exchange.answers import ImportAnswers
from gradecheck.exchange.kinds import read, take
from gradecheck.exchange.landxml_out import landxml_text
from gradecheck.exchange.table import PointTable
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import metres
from tests.bench.measure import Measure, milliseconds, paired

ANSWERS = ImportAnswers(units="m", prefix="P")
MOST_ROUNDS = 3
"""Some seconds each."""


def measure(rounds: int, points: int = 50_000) -> list[Measure]:
    """So many points of each kind taken in, both ways in every round."""
    rows = [(f"P{n}", n % 250 / 4, n // 250 / 4, n % 977 / 1000) for n in range(points)]
    kinds = (
        (16, "XLSX", _workbook(rows), _workbook_alone, 2.5),
        (17, "DXF", _drawing(rows), _drawing_alone, 2),
        (18, "LandXML", _landxml(rows), _landxml_alone, 5),
    )
    return [
        _both(number, f"{points:,} points taken from {kind} / the library", content, alone, most, rounds)
        for number, kind, content, alone, most in kinds
    ]


def _both(
    number: int, what: str, content: bytes, alone: Callable[[bytes], object], most: float, rounds: int
) -> Measure:
    ours: list[float] = []
    bare: list[float] = []
    for turn in range(min(rounds, MOST_ROUNDS) + 1):
        one, other = _seconds(lambda: _taken(content)), _seconds(lambda: alone(content))
        if turn:  # the first time, the library is imported
            ours.append(one)
            bare.append(other)
    return Measure(number, what, paired(ours, bare), most, 3, f"{milliseconds(ours)} / {milliseconds(bare)}")


Rows = list[tuple[str, float, float, float]]


def _workbook(rows: Rows) -> bytes:
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    sheet.append(["name", "x", "y", "elevation"])
    for row in rows:
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _workbook_alone(content: bytes) -> object:
    book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    return list(book.worksheets[0].iter_rows(values_only=True))


def _drawing(rows: Rows) -> bytes:
    document = ezdxf.new("R2010")
    for _, *place in rows:
        document.modelspace().add_point(place)
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode()


def _drawing_alone(content: bytes) -> object:
    return [each.dxf.location for each in read_drawing(io.StringIO(content.decode())).modelspace()]


def _landxml(rows: Rows) -> bytes:
    exact = [("site", name, *(metres(Fraction(repr(each))) for each in place)) for name, *place in rows]
    columns, lengths = ("area", "name", "x", "y", "elevation"), frozenset(("x", "y", "elevation"))
    table = PointTable("Site", columns, lengths, exact, Units.M, "name", "elevation", ("area",))
    return landxml_text(table, datetime(2026, 5, 12, tzinfo=UTC), "proposed").encode()


def _landxml_alone(content: bytes) -> object:
    return [each.text for _, each in ET.iterparse(io.BytesIO(content))]  # noqa: S314 - written a moment ago


def _taken(content: bytes) -> None:
    of = take(read(content, "sent"), ANSWERS, "sent")
    if of.questions or not of.points:
        raise AssertionError("not all was taken")


def _seconds(work: Callable[[], object]) -> float:
    """As a command runs it, both ways: nobody looks for garbage."""
    gc.collect()  # what the other way left behind is not counted here
    gc.disable()
    try:
        began = time.process_time()
        work()
        return time.process_time() - began
    finally:
        gc.enable()
