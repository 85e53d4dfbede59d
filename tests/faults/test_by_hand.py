"""The daily report by hand can't be wrong in the program's own way: it uses nothing of it."""

from __future__ import annotations

import ast
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from tests.faults.by_hand import exact, headline, marks

MODULES = ("by_hand", "by_hand_instrument", "by_hand_report")


@pytest.mark.parametrize("module", MODULES)
def test_the_sums_by_hand_lean_on_nothing_but_python_and_themselves(module: str) -> None:
    tree = ast.parse((Path(__file__).parent / f"{module}.py").read_text(encoding="utf-8"))
    imported = {each.module or "" for each in ast.walk(tree) if isinstance(each, ast.ImportFrom)}
    imported |= {name.name for each in ast.walk(tree) if isinstance(each, ast.Import) for name in each.names}
    own = {f"tests.faults.{name}" for name in MODULES}
    assert {name for name in imported - own if name.partition(".")[0] not in sys.stdlib_module_names} == set()
    assert imported


@pytest.mark.parametrize(
    ("value", "whole", "at_a_mark"),
    [
        (Fraction(0), "0", "0"),
        (Fraction(-13, 4), "-3 1/4", "-3 1/4"),
        (Fraction(1, 32), "1/32", "1/16"),  # a half goes away from zero
        (Fraction(-1, 32), "-1/32", "-1/16"),
        (Fraction(-12, 5), "-2.4", "-2 3/8"),
        (Fraction(1, 3), "0.3333", "5/16"),
    ],
)
def test_lengths_are_written_as_a_person_would(value: Fraction, whole: str, at_a_mark: str) -> None:
    assert (exact(value), marks(value)) == (whole, at_a_mark)


@pytest.mark.parametrize(
    ("off", "limit", "says"),
    [
        (Fraction(3, 8), Fraction(3, 8), "ON GRADE"),
        (Fraction(3, 8) + Fraction(1, 100), Fraction(3, 8), "CUT 7/16"),  # never shown as what would be allowed
        (Fraction(-5, 8), Fraction(1, 2), "FILL 5/8"),
    ],
)
def test_a_difference_is_judged_exactly_and_shown_on_its_side_of_the_limit(
    off: Fraction, limit: Fraction, says: str
) -> None:
    assert headline(off, limit) == says
