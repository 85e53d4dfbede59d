"""A person, rod or setup that reads high or low against the others is told with its mean and its count."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.trend import SeenHeight, biases
from gradecheck.measure.quantities import Elevation, Length, inches


def _seen(spot: str, sixteenths: int, by: str = "RK", rod: str = "site", setup: str = "1") -> SeenHeight:
    return SeenHeight(spot, Elevation(inches(Fraction(sixteenths, 16)).metres), by, rod, setup)


def test_a_worn_rod_shows_by_what_it_reads_against_the_other() -> None:
    looks = [_seen(spot, z + (1 if rod == "old" else 0), rod=rod) for spot, z in {"A": 0, "B": -9, "C": 7}.items()
             for rod in ("new", "old")]  # fmt: skip
    found = {bias.name: (bias.mean, bias.count, bias.scatter) for bias in biases(looks)}
    assert found == {
        "old": (inches(Fraction(1, 16)), 3, 0.0),
        "new": (inches(Fraction(-1, 16)), 3, 0.0),
    }


def test_spots_that_one_alone_saw_tell_nothing() -> None:
    assert biases([_seen("A", 0), _seen("A", 3), _seen("B", 1)]) == []


def test_one_look_has_no_scatter() -> None:
    assert {bias.scatter for bias in biases([_seen("A", 0), _seen("A", 3, by="ME")])} == {None}


@given(st.dictionaries(st.sampled_from("ABCDEFG"), st.integers(-99, 99), min_size=1), st.integers(-9, 9))
def test_whoever_reads_alike_everywhere_has_just_that_bias(heights: dict[str, int], bias: int) -> None:
    looks = [_seen(spot, z + shift, by=by) for spot, z in heights.items() for by, shift in (("RK", 0), ("ME", bias))]
    found = {each.name: each.mean for each in biases(looks)}
    assert found["ME"] == inches(Fraction(bias, 16))
    assert found["RK"] == Length(-found["ME"].metres)
