"""A circuit that misses by exactly what is allowed closes, and an allowance is more than nothing."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import pytest

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length, metres, millimetres
from gradecheck.plan.closure import allowance_from, closes

WALKED = metres(2250)


@dataclass
class Loop:
    """Nine setups over 2.25 km: three times the amount a setup, one and a half times the amount a kilometer."""

    misclosure: Length
    setups: int = 9
    distance: Length | None = WALKED
    is_loop: bool = True


@pytest.mark.parametrize(
    ("rule", "most"), [("12 mm", 12), ("4 mm per root setup", 12), ("12 mm per root km", 18), ("FGCC third", 18)]
)
@pytest.mark.parametrize("sign", [1, -1])
def test_a_circuit_closes_at_what_is_allowed_and_a_micrometer_past_not(rule: str, most: int, sign: int) -> None:
    allowance = allowance_from(rule, Units.MM)
    assert closes(Loop(millimetres(sign * most)), allowance)
    assert not closes(Loop(millimetres(sign * (most + Fraction(1, 1000)))), allowance)


@pytest.mark.parametrize("rule", ["0", "0 mm", "0 in per root setup", "12 mm per root 0 m"])
def test_an_allowance_of_nothing_is_refused(rule: str) -> None:
    with pytest.raises(ValueError, match="must be more than zero"):
        allowance_from(rule, Units.MM)
