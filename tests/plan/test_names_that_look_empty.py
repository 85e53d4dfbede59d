"""A name with a letter in it that is drawn as nothing is refused: beside the name without it nobody could tell."""

from __future__ import annotations

import pytest

from gradecheck.plan.names import name_fault, point_name_fault


@pytest.mark.parametrize("filler", ["\u115f", "\u1160", "\u2800", "\u3164", "\uffa0"])
def test_a_filler_in_a_name_is_refused_with_its_number(filler: str) -> None:
    for name in (f"W{filler}1", f"W1{filler}", filler):
        for fault in (name_fault(name), point_name_fault(name)):
            assert fault is not None
            assert f"U+{ord(filler):04X}" in fault
    assert point_name_fault("W1") is None
