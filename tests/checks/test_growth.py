"""Twice the spots are twice the work: counted by what is looked at, not by a clock."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from fractions import Fraction

import pytest

from gradecheck.checks import flatness, neighbors, ponding
from gradecheck.checks.flatness import grid_lines, judge_lines
from gradecheck.checks.neighbors import _Field
from gradecheck.checks.ponding import ponds
from gradecheck.checks.ways import Along, AwayFrom, Way
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import triangulate
from gradecheck.plan.limits import Limits
from tests.ground.drawing import ring, spots

HOUSE = AwayFrom(ring((-1, -2000), (-1, 2000)), (ring((-9, -2000), (-9, 2000)),))


def _square(side: int) -> list[Spot]:
    """Spots a metre apart, every third of them a hollow."""
    return spots(
        *((x, y, -Fraction(x + y, 50) - Fraction(x * y % 3 == 1, 9)) for x in range(side) for y in range(side))
    )


def _border(side: int) -> list[Spot]:
    """As many spots along a border of two rows."""
    return spots(*((0, x // 2, 0) if x % 2 else (2, x // 2, -Fraction(x % 5, 9)) for x in range(side * side)))


def _slanted(side: int) -> list[Spot]:
    """As many on a slant: most of the ground in the box round them is none of theirs."""
    return spots(*((x // 2 + x % 2, x // 2, -Fraction(x % 5, 9)) for x in range(side * side)))


def _counting(monkeypatch: pytest.MonkeyPatch, place: object, name: str) -> Counter[str]:
    calls, real = Counter[str](), getattr(place, name)

    def counted(*given: object, **named: object) -> object:
        calls[name] += 1
        return real(*given, **named)

    monkeypatch.setattr(place, name, counted)
    return calls


def _grows_no_faster(work: Callable[[int], int]) -> bool:
    """Whether four times the spots are less than six times the work; were all pairs looked at, it were sixteen."""
    few, many = work(15), work(30)
    return 0 < many < few * 6


@pytest.mark.parametrize("site", [_square, _border, _slanted])
@pytest.mark.parametrize("way", [Along(Fraction(1), Fraction(0)), Along(Fraction(-1), Fraction(3)), HOUSE])
def test_to_find_neighbors_each_spot_looks_at_a_few_others(
    monkeypatch: pytest.MonkeyPatch, site: Callable[[int], list[Spot]], way: Way
) -> None:
    def work(side: int) -> int:
        looked, angles = _counting(monkeypatch, _Field, "_joined"), _counting(monkeypatch, neighbors, "_angle")
        list(neighbors.neighbors(site(side), way, None))
        monkeypatch.undo()
        return looked.total() + angles.total()

    assert _grows_no_faster(work)


@pytest.mark.parametrize("site", [_square, _border])
def test_the_straightedge_looks_at_what_lies_below_it(
    monkeypatch: pytest.MonkeyPatch, site: Callable[[int], list[Spot]]
) -> None:
    def work(side: int) -> int:
        looked = _counting(monkeypatch, flatness, "_over")
        assert judge_lines(grid_lines(site(side)), Limits(metric=True))
        monkeypatch.undo()
        return looked.total()

    assert _grows_no_faster(work)


def test_each_puddle_looks_at_its_own_ground(monkeypatch: pytest.MonkeyPatch) -> None:
    def work(side: int) -> int:
        looked = _counting(monkeypatch, ponding, "_wet_area")
        assert len(ponds(triangulate(_square(side)), Limits()).ponds) > side
        monkeypatch.undo()
        return looked.total()

    assert _grows_no_faster(work)
