"""Tables for spreadsheets: read back by the standard library's own reader, no text a formula."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradecheck.report.spreadsheet import rows_csv


def _back(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def test_a_length_is_its_millimeters_and_its_text() -> None:
    rows = [
        {"point": "P4", "sure": None, "off": {"mm": -6.35, "text": "-1/4 in"}},
        {"point": "P5", "sure": {"mm": 1e-07, "text": "0 in"}, "off": {"mm": 12, "text": "15/32 in"}},
    ]
    assert _back(rows_csv(rows)) == [
        ["point", "sure (mm)", "sure", "off (mm)", "off"],
        ["P4", "", "", "-6.35", "'-1/4 in"],
        ["P5", "0.0000001", "0 in", "12", "15/32 in"],
    ]


def test_what_lies_deeper_stands_in_one_row() -> None:
    rows = [
        {"a": {"b": True, "c": [1, 2.5]}, "d": [{"from": "P1", "rise": {"mm": -3.0, "text": "-1/8 in"}}], "e": None}
    ]
    assert _back(rows_csv(rows)) == [
        ["a, b", "a, c", "d", "e"],
        ["yes", "1; 2.5", "from: P1, rise (mm): -3.0, rise: '-1/8 in", ""],
    ]


def test_no_rows_are_no_text() -> None:
    assert rows_csv([]) == ""


@settings(max_examples=100)
@given(st.lists(st.text(max_size=20), min_size=1, max_size=4))
def test_no_cell_is_a_formula_and_none_breaks_the_table(texts: list[str]) -> None:
    names = [f"column {at}" for at in range(len(texts))]
    head, row = _back(rows_csv([dict(zip(names, texts, strict=True))]))
    assert (head, len(row)) == (names, len(texts))
    assert not any(cell.lstrip()[:1] in set("=+-@") for cell in row if cell.lstrip())


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "@sum", "-2 left", "\t=1"])
def test_a_name_never_becomes_a_formula(name: str) -> None:
    assert _back(rows_csv([{"point": name}]))[1][0].startswith("'")
