"""A cell of the log is never a formula, and numbers stay numbers."""

from __future__ import annotations

import pytest

from gradecheck.report.spreadsheet import safe_cell


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t", "\r"])
def test_text_that_a_spreadsheet_would_work_out_gets_an_apostrophe(begins: str) -> None:
    """OWASP, CSV injection: these six."""
    assert safe_cell(f"{begins}1+1") == f"'{begins}1+1"


@pytest.mark.parametrize("value", ["51-1/2", "1=1", "a@b", "", 7, -3, 0.5, None])
def test_what_is_no_formula_stays_as_it_is(value: object) -> None:
    assert safe_cell(value) == value


def test_what_a_terminal_would_obey_is_taken_out() -> None:
    assert safe_cell("dry\x1b[31m\u202e") == "dry\N{REPLACEMENT CHARACTER}[31m\N{REPLACEMENT CHARACTER}"
