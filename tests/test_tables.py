"""A table of rows that is one test fails for every row that fails, and says which."""

from __future__ import annotations

import inspect
from pathlib import Path

import pytest

from tests.tables import each_of


@each_of(("one", "other"), [(2, 2), pytest.param(3, 4, id="unlike"), (5, 5), (6, 7)])
def unlike(one: int, other: int) -> None:
    assert one == other, "not the same"


def test_each_row_that_fails_is_named_and_no_other() -> None:
    with pytest.raises(ExceptionGroup, match="2 of 4 rows") as told:
        unlike()  # type: ignore[call-arg]
    assert [each.__notes__ for each in told.value.exceptions] == [["in the row 3, 4"], ["in the row 6, 7"]]


@each_of("name", ["one", "two"])
@each_of("content", ["", "a line\n"])
def test_tables_multiply_and_fixtures_stay(tmp_path: Path, name: str, content: str) -> None:
    (tmp_path / name).write_text(content)
    assert (tmp_path / name).read_text() == content


def test_what_is_no_column_is_still_asked_of_pytest() -> None:
    assert list(inspect.signature(test_tables_multiply_and_fixtures_stay).parameters) == ["tmp_path"]


def test_a_table_without_rows_is_no_test() -> None:
    with pytest.raises(AssertionError, match="a table has rows"):
        each_of("name", [])
