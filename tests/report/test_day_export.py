"""What the daily report gives to other programs: figures exact to a millionth of the unit, short lines."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length, feet, inches, millimetres
from gradecheck.report.day_export import _short, length_number


@pytest.mark.parametrize(
    ("length", "units", "written"),
    [
        (inches(Fraction(1, 16)), Units.IN, "0.0625"),
        (inches(Fraction(-1, 64)), Units.IN, "-0.015625"),
        (inches(Fraction(1, 16)), Units.FT_IN, "0.0625"),
        (feet(Fraction(1, 3)), Units.FT, "0.333333"),
        (feet(Fraction(-2, 3)), Units.FT, "-0.666667"),
        (millimetres(Fraction(1, 10)), Units.M, "0.0001"),
        (millimetres(351), Units.MM, "351.0"),
    ],
)
def test_a_length_is_written_to_a_millionth_of_the_unit(length: Length, units: Units, written: str) -> None:
    assert repr(length_number(length, units)) == written


@pytest.mark.parametrize(("long", "kept"), [(139, 139), (140, 140), (141, 140), (500, 140)])
def test_a_line_of_the_message_has_140_characters_at_most(long: int, kept: int) -> None:
    line = _short("x" * long)
    assert len(line) == kept
    assert line.endswith("…") == (long > 140)
