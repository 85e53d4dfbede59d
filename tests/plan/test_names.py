"""Names: the longest that is taken has 24 characters, and one more is told with its beginning."""

from __future__ import annotations

import pytest

from gradecheck.plan.names import name_fault, point_name_fault


def test_a_name_has_24_characters_at_most() -> None:
    assert name_fault("n" * 24) is None
    assert name_fault("n" * 25) == f"“{'n' * 24}…” is longer than 24 characters; shorten it."


@pytest.mark.parametrize(("name", "fault"), [("4A", True), ("-A", True), ("A4", False), ("Å", False)])
def test_what_could_be_a_reading_names_no_point(name: str, fault: bool) -> None:
    assert (point_name_fault(name) is not None) == fault
