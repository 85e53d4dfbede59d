"""Quantities for the invoice: by hand from the plan of one yard and the day of another."""

from __future__ import annotations

import io
import re
from fractions import Fraction
from pathlib import Path

import openpyxl

from gradecheck.exchange.quantities import quantities
from gradecheck.exchange.table import PointTable, xlsx_bytes
from gradecheck.state.state import fold
from tests.report.day import JOB, Site, a_day
from tests.report.site import yard

YARD = Fraction(9144, 10_000)


def told(table: PointTable) -> dict[tuple[object, ...], object]:
    """The amount with its unit, by what it is of."""
    return {row[:3]: (row[3], row[4]) for row in table.rows}


def of_day(site: Site, truck: Fraction | None = None) -> dict[tuple[object, ...], object]:
    plan = site.session.plan
    return told(quantities(site.session.state, site.session.all_lines(), list(plan.areas.values()), truck))


def test_areas_and_layers_are_those_of_the_outline_less_its_holes() -> None:
    # 20 ft by 20 ft less 4 ft by 4 ft are 384 ft²; 6 in of base on that are 192 ft³, 2 3/8 in of pavers 76 ft³.
    plan = yard()
    found = told(quantities(fold(plan, []), [], list(plan.areas.values())))
    assert found["yard", "area", "planned"] == (384, "ft²")
    assert found["yard", "base", "in place"] == (Fraction(192, 27), "yd³")
    assert found["yard", "paver", "in place"] == (Fraction(76, 27), "yd³")
    assert found["steps", "area", "planned"] == (None, "")
    assert found["yard", "over-dig", "to fill"] == (None, "")


def test_the_soil_is_told_in_whole_loads_where_the_truck_is_known() -> None:
    plan = yard()
    areas = [plan.areas["yard"]]
    loose = told(quantities(fold(plan, []), [], areas))["yard", "soil", "hauled, loose"]
    assert isinstance(loose, tuple)
    assert isinstance(loose[0], Fraction)
    loads = told(quantities(fold(plan, []), [], areas, truck=10 * YARD**3))["yard", "soil", "hauled, loads"]
    assert loads == (-(-loose[0] // 10), "loads")


def test_tapes_are_told_in_feet_with_their_entry(tmp_path: Path) -> None:
    site = a_day(tmp_path / "court")
    plan = site.session.plan
    table = quantities(site.session.state, site.session.all_lines(), list(plan.areas.values()))
    taped = [row for row in table.rows if row[2] == "taped"]
    assert [(row[1], row[3]) for row in taped][:5:4] == [("A to B", 10), ("A to C", Fraction(679, 48))]
    assert all(str(row[5]).startswith("entry ") and str(row[5]).endswith(", MT, 2026-05-12") for row in taped)


def test_a_day_counts_what_is_last_at_its_point_and_how_it_came_out(tmp_path: Path) -> None:
    # Eight readings count, one was struck: seven on grade, Y2 at the base half an inch high.
    found = of_day(a_day(tmp_path / "court"))
    assert {key[1]: amount for key, amount in found.items() if key[0] == "2026-05-12"} == {
        "readings": (8, "readings"),
        "last at their point": (8, "readings"),
        "on grade": (7, "readings"),
        "out": (1, "readings"),
        "in doubt": (0, "readings"),
        "not judged": (0, "readings"),
    }


def test_over_dig_without_places_or_readings_is_never_told_as_none(tmp_path: Path) -> None:
    text = re.sub(r", at: \[[^]]*\]", "", JOB)
    site = Site(tmp_path / "court", text)
    assert of_day(site)["yard", "over-dig", "to fill"] == (None, "")
    table = quantities(site.session.state, [], [site.session.plan.areas["yard"]])
    assert [row[5] for row in table.rows if row[1] == "over-dig"] == ["NOT CHECKED: nothing was read at the subgrade"]


def test_a_rehearsal_says_so_first(tmp_path: Path) -> None:
    site = a_day(tmp_path / "court", rehearsed=True)
    table = quantities(site.session.state, site.session.all_lines(), [])
    assert table.rows[0][1] == "REHEARSAL"


def test_amounts_are_numbers_in_a_spreadsheet() -> None:
    row = ("yard", "base", "in place", Fraction(192, 27), "yd³", "=1+1")
    table = PointTable("x", ("of", "what", "kind", "amount", "unit", "basis"), frozenset(), [row],
                       yard().notation.units, "what", "amount", ("of",))  # fmt: skip
    cells = openpyxl.load_workbook(io.BytesIO(xlsx_bytes(table))).worksheets[0][2]
    assert [cell.data_type for cell in cells] == ["s", "s", "s", "n", "s", "s"]
    assert abs(float(cells[3].value) - 192 / 27) < 1e-12
