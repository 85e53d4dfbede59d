"""What a table is written as, by the ending of a file's name."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from gradecheck.exchange.dxf_out import WRITTEN, dxf_bytes
from gradecheck.exchange.landxml_out import HEAD, landxml_text
from gradecheck.exchange.table import PointTable, csv_text, geojson_text, xlsx_bytes

ENDINGS: dict[str, Callable[[PointTable, datetime, str], bytes]] = {
    # The mark before the text tells a spreadsheet that it is UTF-8.
    ".csv": lambda table, made, state: csv_text(table).encode("utf-8-sig"),
    ".geojson": lambda table, made, state: geojson_text(table).encode(),
    ".xlsx": lambda table, made, state: xlsx_bytes(table),
    ".dxf": lambda table, made, state: dxf_bytes(table),
    ".xml": lambda table, made, state: landxml_text(table, made, state).encode(),
    ".landxml": lambda table, made, state: landxml_text(table, made, state).encode(),
}
"""How each kind of file is written, from the table, the time, and what its points are: proposed or existing."""
NEED_PLACES = (".dxf", ".xml", ".landxml")
"""Drawings, where a row without a place has no place."""
BEGINNINGS = {".dxf": f"999\r\n{WRITTEN}\r\n".encode(), ".xml": HEAD.encode(), ".landxml": HEAD.encode()}
"""How a file that was written here begins, where that can be told."""
