"""What was built as rows: the figures of one day worked out by hand, and what each format tells of them."""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest

from gradecheck import actions
from gradecheck.exchange.as_built import as_built
from gradecheck.exchange.table import PointTable, xlsx_bytes
from gradecheck.measure.quantities import inches
from tests.report.day import JOB, Site, a_day

AREAS = ("yard", "path")


def table_of(site: Site, *, every: bool = False) -> PointTable:
    return as_built(site.session.state, site.session.all_lines(), AREAS, every=every)


def cells(table: PointTable, *columns: str) -> list[tuple[object, ...]]:
    """Those columns of every row."""
    return [tuple(table.cell(row, column) for column in columns) for row in table.rows]


@pytest.fixture
def site(tmp_path: Path) -> Site:
    return a_day(tmp_path / "court")


def test_every_surface_read_is_a_row_in_plan_order_with_exact_figures(site: Site) -> None:
    # The plane lies at 50: rod 52 7/8 is -2 7/8, the base is wanted at -1 - 2 3/8 = -3 3/8.
    told = cells(table_of(site), "area", "stage", "point", "target", "found", "off", "verdict", "setup", "entry")
    sixteenth = Fraction(1, 16)
    expected = [
        ("yard", "subgrade", "Y1", -150, -150, "ON GRADE", 4, 11),
        ("yard", "subgrade", "Y2", -150, -158, "ON GRADE", 4, 12),
        ("yard", "subgrade", "Y3", -190, -190, "ON GRADE", 4, 13),
        ("yard", "subgrade", "Y4", -190, -188, "ON GRADE", 4, 14),
        ("yard", "base", "Y1", -54, -54, "ON GRADE", 4, 5),
        ("yard", "base", "Y2", -54, -46, "CUT", 4, 6),
        ("yard", "base", "Y3", -94, -95, "ON GRADE", 4, 10),
        ("path", "finish", "P1", -32, -32, "ON GRADE", 18, 19),
    ]
    assert told == [
        (area, stage, point, *(inches(sixteenth * n) for n in (target, found, found - target)), word, setup, entry)
        for area, stage, point, target, found, word, setup, entry in expected
    ]


def test_who_and_when_and_where_stand_beside_it(site: Site) -> None:
    told = cells(table_of(site), "time", "person", "laptop", "x", "y")
    assert told[1] == ("2026-05-12T07:52:00-05:00", "RK", "bench", inches(120), inches(0))
    assert told[-1] == ("2026-05-12T08:07:00-05:00", "MT", "bench", None, None)


def test_a_struck_reading_is_left_out_and_a_corrected_one_names_its_number(site: Site) -> None:
    told = cells(table_of(site, every=True), "stage", "point", "entry", "remark")
    assert ("base", "Y3", 10, "corrects no. 7; questioned, kept") in told
    assert not [each for each in told if each[:2] == ("base", "Y4")]


def test_all_shows_readings_read_again_and_the_latest_alone_does_not(site: Site) -> None:
    site.read("P1", "44-1/4", "finish", "path")
    assert [each for each in cells(table_of(site), "point", "remark") if each[0] == "P1"] == [("P1", "")]
    both = [each for each in cells(table_of(site, every=True), "point", "remark", "off") if each[0] == "P1"]
    assert [each[2] for each in both] == [inches(0), inches(Fraction(-1, 4))]
    assert both[0][1].startswith("read again, no. ")  # type: ignore[attr-defined]


def test_a_reading_in_doubt_never_looks_like_one_that_is_not(tmp_path: Path) -> None:
    site = Site(tmp_path / "court")
    session = site.session
    session.record(actions.set_up_on(session.state, [("DOOR", "50"), ("PIN", "54-3/8")]))
    site.read("Y1", "53-3/8")
    session.record(actions.recheck(session.state, "PIN", "55-3/8"))  # an inch off: the laser was moved
    [told] = cells(table_of(site), "verdict", "off")
    assert told == ("IN DOUBT: ON GRADE", inches(0))


def test_a_reading_whose_setup_was_struck_is_not_judged_and_says_why(tmp_path: Path) -> None:
    site = Site(tmp_path / "court")
    session = site.session
    setup = session.record(actions.set_up_on(session.state, [("DOOR", "50"), ("PIN", "54-3/8")]))
    site.read("Y1", "53-3/8")
    session.record(session.strike(setup.id, "wrong mark"))
    [told] = cells(table_of(site), "found", "off", "verdict", "setup", "U", "remark")
    assert told == (None, None, "NOT JUDGED", None, None, "setup was struck")


def test_example_figures_are_neither_target_nor_difference(tmp_path: Path) -> None:
    text = JOB.replace("what: by the hall}", "what: by the hall}  # <--")
    site = Site(tmp_path / "court", text)
    session = site.session
    session.record(actions.set_up_on(session.state, [("DOOR", "50"), ("PIN", "54-3/8")]))
    site.read("Y1", "53-3/8")
    [told] = cells(table_of(site), "target", "found", "off", "verdict")
    assert told == (None, inches(Fraction(-27, 8)), None, "EXAMPLE FIGURES")


def test_each_row_of_a_rehearsal_says_that_it_is_one(tmp_path: Path) -> None:
    table = table_of(a_day(tmp_path / "court", rehearsed=True))
    remarks = [str(remark) for (remark,) in cells(table, "remark")]
    assert remarks
    assert all(remark.startswith("REHEARSAL") for remark in remarks)


def test_elevations_count_from_the_jobs_zero_whichever_datum_is_shown(tmp_path: Path) -> None:
    text = JOB.replace("build-ups:", "datums:\n  gate: {mark: PIN, reads: 0}\nbuild-ups:")
    site = Site(tmp_path / "court", text)
    session = site.session
    session.record(actions.set_up_on(session.state, [("DOOR", "50"), ("PIN", "54-3/8")]))
    site.read("Y1", "53-3/8")
    before = table_of(site).rows
    session.record(actions.show_datum(session.state, "gate"))
    assert session.state.datum == "gate"
    assert table_of(site).rows == before


def test_a_spreadsheet_has_the_figures_under_headings_with_their_unit(site: Site) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(xlsx_bytes(table_of(site)))).worksheets[0]
    heading, *rows = list(sheet.iter_rows(values_only=True))
    assert heading[:6] == ("area", "stage", "point", "x (in)", "y (in)", "target (in)")
    assert heading[6:10] == ("found (in)", "off (in)", "verdict", "U (in)")
    assert heading[10:] == ("time", "person", "laptop", "setup", "entry", "remark")
    assert rows[5][:9] == ("yard", "base", "Y2", 120, 0, -3.375, -2.875, 0.5, "CUT")
