"""Which kind of file it is, told from what it holds and never from its name, and the reading of each."""

from __future__ import annotations

from gradecheck.catalogue import _
from gradecheck.exchange.answers import ImportAnswers, ImportResult
from gradecheck.exchange.drawing_points import take_drawing
from gradecheck.exchange.found import MOST_BYTES, MOST_TEXT, FoundDrawing, Grid, refuse
from gradecheck.exchange.geojson_in import read_geojson_drawing
from gradecheck.exchange.list_in import decoded, read_csv, read_xlsx
from gradecheck.exchange.list_points import take_list

_OTHERS = {
    b"\xd0\xcf\x11\xe0": _("This is a workbook of the old kind; save it as .xlsx or CSV."),
    b"AC10": _("This is a DWG; export it as DXF."),
    b"AutoCAD Binary DXF": _("This is a binary DXF; export it as ASCII DXF."),
    b"%PDF": _("This is a PDF, which holds a picture of the points; ask for the list or the drawing itself."),
    b"\x1f\x8b": _("This is packed (gzip); unpack it first."),
    b"\xff\xd8\xff": _("This is a picture; ask for the list or the drawing itself."),
    b"\x89PNG": _("This is a picture; ask for the list or the drawing itself."),
    b"SQLite format 3": _("This is a database; export its points as a list."),
}
"""How other files begin, and what to do about each."""


def read(content: bytes, file: str, sheet: str = "") -> Grid | FoundDrawing:
    """What the file holds. Raises `PlanProblemsError`."""
    if len(content) > MOST_BYTES:
        refuse(file, _("This file is larger than {most} MB; export a part of it.", most=MOST_BYTES // 10**6))
    for beginning, says in _OTHERS.items():
        if content.startswith(beginning):
            refuse(file, says)
    if content.startswith(b"PK\x03\x04"):
        return read_xlsx(content, file, sheet)
    start = content[:2000].lstrip(b"\xef\xbb\xbf \t\r\n")
    if content.startswith((b"\xff\xfe<", b"\xfe\xff\x00<")) or start.startswith(b"<"):
        from gradecheck.exchange.landxml_in import read_landxml

        return read_landxml(content, file)
    if start.startswith((b"{", b"[")):
        if len(content) > MOST_TEXT:
            refuse(
                file,
                _("This GeoJSON is larger than {most} MB; export a part of it.", most=MOST_TEXT // 10**6),
            )
        return read_geojson_drawing(decoded(content, file)[0], file)
    if start.split()[:2] == [b"0", b"SECTION"] or start.startswith((b"999\n", b"999\r\n")):
        from gradecheck.exchange.dxf_in import read_dxf

        return read_dxf(content, file)
    return read_csv(content, file)


def take(found: Grid | FoundDrawing, answers: ImportAnswers, file: str) -> ImportResult:
    """The points of what was found, or what must be answered first. Raises `PlanProblemsError`."""
    return take_list(found, answers, file) if isinstance(found, Grid) else take_drawing(found, answers, file)
