"""Least squares against numpy's and scipy's own, and against what must come out without any fit."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import chdtrc, chdtri  # the chance above, and its inverse; scipy.stats takes a second to load

from gradecheck.measure.quantities import ZERO, Elevation, Length, millimetres
from gradecheck.survey.circuit import Circuit, Leg, SharedBy
from gradecheck.survey.network import Adjustment, adjust, chi_square_above, chi_square_limit
from tests.strategies import elevations

NANOMETRE = Length(Fraction(1, 10**9))
GATE = Elevation(Fraction(0))

rises = st.integers(-40_000, 40_000).map(lambda tenths: Length(Fraction(tenths, 10_000)))
slips = st.integers(-60, 60).map(lambda tenths: Length(Fraction(tenths, 10_000)))
sharing = st.sampled_from(list(SharedBy))


@st.composite
def networks(draw: st.DrawFn, extra: int = 8) -> tuple[dict[str, Elevation], list[Leg]]:
    """Marks each tied to an earlier one, then tied once more at random; some of them known, the first always."""
    heights = draw(st.lists(rises, min_size=2, max_size=8))
    names = [f"M{number}" for number in range(len(heights))]
    ties = [(draw(st.integers(0, number - 1)), number) for number in range(1, len(names))]
    pairs = st.tuples(st.integers(0, len(names) - 1), st.integers(0, len(names) - 1)).filter(
        lambda at: at[0] != at[1]
    )
    ties += draw(st.lists(pairs, min_size=1, max_size=extra))
    legs = [
        Leg(
            names[one],
            names[other],
            heights[other] - heights[one] + draw(slips),
            draw(st.integers(1, 9)),
            Length(Fraction(draw(st.integers(50, 4000)))),
        )
        for one, other in ties
    ]
    known = {"M0", *draw(st.sets(st.sampled_from(names), max_size=2))}
    return {name: Elevation(heights[names.index(name)].metres) for name in names if name in known}, legs


def _at(adjustment: Adjustment) -> dict[str, Elevation]:
    return {mark.mark: mark.elevation for mark in adjustment.marks}


# Against numpy and scipy --------------------------------------------------------------------------------------


def _system(
    known: dict[str, Elevation], legs: list[Leg], by: SharedBy
) -> tuple[list[str], np.ndarray, np.ndarray, np.ndarray]:
    """The unknowns, the design matrix, what was observed less what is known, and the weights, built plainly."""
    unknown = sorted({mark for leg in legs for mark in (leg.start, leg.end)} - set(known))
    design, observed = np.zeros((len(legs), len(unknown))), np.zeros(len(legs))
    for row, leg in enumerate(legs):
        observed[row] = float(leg.rise.metres)
        for mark, sign in ((leg.start, -1), (leg.end, 1)):
            if mark in known:
                observed[row] -= sign * float(known[mark].metres)
            else:
                design[row, unknown.index(mark)] = sign
    sizes = [float(leg.setups if by is SharedBy.SETUPS else leg.distance.metres / 1000) for leg in legs]  # type: ignore[union-attr]
    return unknown, design, observed, 1 / np.array(sizes)


@given(networks(), sharing)
def test_elevations_are_those_of_numpys_own_least_squares(
    network: tuple[dict[str, Elevation], list[Leg]], by: SharedBy
) -> None:
    known, legs = network
    unknown, design, observed, weights = _system(known, legs, by)
    root = np.sqrt(weights)
    expected = np.linalg.lstsq(design * root[:, None], observed * root, rcond=None)[0] if unknown else []
    found = _at(adjust(known, legs, by))
    assert set(found) == set(unknown)
    for mark, metres in zip(unknown, expected, strict=True):
        assert float(found[mark].metres) == pytest.approx(metres, abs=2e-9)


@given(networks(), sharing)
def test_deviations_follow_from_the_normal_equations(
    network: tuple[dict[str, Elevation], list[Leg]], by: SharedBy
) -> None:
    known, legs = network
    adjustment = adjust(known, legs, by, expected=millimetres(2))
    unknown, design, observed, weights = _system(known, legs, by)
    cofactors = np.linalg.inv(design.T @ np.diag(weights) @ design)
    shifts = cofactors @ design.T @ (weights * observed)
    residuals = design @ shifts - observed
    squares = float(residuals @ (weights * residuals))
    assert adjustment.dof == len(legs) - len(unknown) > 0
    assert adjustment.sigma0 == pytest.approx(sqrt(squares / adjustment.dof), abs=1e-9)
    assert adjustment.test is not None
    assert adjustment.test.statistic == pytest.approx(squares / 0.002**2, rel=1e-6, abs=1e-9)
    assert adjustment.test.limit == pytest.approx(chdtri(adjustment.dof, 0.05))

    scatter = 0.002 if adjustment.test.passes else adjustment.sigma0
    for mark in adjustment.marks:
        place = unknown.index(mark.mark)
        assert mark.deviation == pytest.approx(scatter * sqrt(cofactors[place, place]), rel=1e-6)
    spread = design @ cofactors @ design.T
    for row, leg in enumerate(adjustment.legs):
        assert float(leg.residual.metres) == pytest.approx(residuals[row], abs=3e-9)
        assert leg.deviation == pytest.approx(scatter * sqrt(max(0, spread[row, row])), rel=1e-6, abs=1e-9)
        left = 1 / weights[row] - spread[row, row]
        assert leg.redundancy == pytest.approx(left * weights[row], abs=1e-7)
        if leg.standardised is not None:
            assert leg.standardised == pytest.approx(residuals[row] / (0.002 * sqrt(left)), rel=1e-4, abs=1e-6)


@given(st.integers(1, 400), st.floats(1e-4, 0.9999))
def test_chi_square_is_scipys(dof: int, risk: float) -> None:
    limit = chi_square_limit(risk, dof)
    assert limit == pytest.approx(chdtri(dof, risk), rel=1e-9)
    assert chi_square_above(limit, dof) == pytest.approx(risk, rel=1e-9)


@pytest.mark.parametrize(("value", "dof"), [(0.0, 3), (1e-3, 1), (5.0, 2), (1500.0, 1400), (4000.0, 5)])
def test_the_chance_of_a_larger_chi_square_is_scipys(value: float, dof: int) -> None:
    assert chi_square_above(value, dof) == pytest.approx(chdtrc(dof, value), rel=1e-9)


# What must come out without a fit -----------------------------------------------------------------------------


@given(st.lists(st.tuples(rises, st.integers(1, 9), st.integers(1, 5000)), min_size=2, max_size=9), rises, sharing)
def test_on_a_single_line_least_squares_is_sharing_in_proportion(
    carried: list[tuple[Length, int, int]], closing: Length, by: SharedBy
) -> None:
    marks = ["GATE", *(f"TP{number}" for number in range(1, len(carried))), "POST"]
    legs = [
        Leg(start, end, rise, setups, Length(Fraction(distance)))
        for (start, end), (rise, setups, distance) in zip(pairwise(marks), carried, strict=True)
    ]
    post = Elevation(closing.metres)
    found = _at(adjust({"GATE": GATE, "POST": post}, legs, by))
    for mark in Circuit(tuple(legs), GATE, post).distributed(by)[:-1]:
        assert abs(found[mark.mark].above(mark.elevation)) <= NANOMETRE


@given(networks(), sharing, elevations)
def test_adding_a_common_height_to_all_known_marks_changes_nothing_else(
    network: tuple[dict[str, Elevation], list[Leg]], by: SharedBy, more: Elevation
) -> None:
    known, legs = network
    before = adjust(known, legs, by, millimetres(2))
    after = adjust({mark: at + more.height for mark, at in known.items()}, legs, by, millimetres(2))
    assert _at(after) == {mark: at + more.height for mark, at in _at(before).items()}
    assert replace(after, marks=before.marks) == before


@given(networks(), sharing)
def test_a_sight_turned_round_says_the_same(network: tuple[dict[str, Elevation], list[Leg]], by: SharedBy) -> None:
    known, legs = network
    turned = [Leg(leg.end, leg.start, -leg.rise, leg.setups, leg.distance) for leg in legs]
    there, back = _at(adjust(known, legs, by)), _at(adjust(known, turned, by))
    assert there.keys() == back.keys()
    assert all(abs(there[mark].above(back[mark])) <= NANOMETRE for mark in there)


@given(networks(), sharing)
def test_sights_without_any_slip_give_the_elevations_back_exactly(
    network: tuple[dict[str, Elevation], list[Leg]], by: SharedBy
) -> None:
    known, legs = network
    carried = adjust({"M0": known["M0"]}, legs, by)
    height = {**_at(carried), "M0": known["M0"]}
    sound = [replace(leg, rise=height[leg.end].above(height[leg.start])) for leg in legs]
    again = adjust({"M0": known["M0"]}, sound, by, millimetres(1))
    assert _at(again) == _at(carried)
    assert (again.sigma0, again.worst) == (0.0, ())
    assert all(leg.residual == ZERO and not leg.standardised for leg in again.legs)
    assert again.test is not None
    assert again.test.passes


@given(networks(), sharing)
def test_the_redundancies_add_up_to_the_sights_more_than_needed(
    network: tuple[dict[str, Elevation], list[Leg]], by: SharedBy
) -> None:
    adjustment = adjust(*network, by)
    assert sum(leg.redundancy for leg in adjustment.legs) == pytest.approx(adjustment.dof, abs=1e-5)


@given(networks())
def test_what_is_said_of_a_sight_agrees_with_itself(network: tuple[dict[str, Elevation], list[Leg]]) -> None:
    known, legs = network
    adjustment = adjust(known, legs)
    at = {**known, **_at(adjustment)}
    for leg in adjustment.legs:
        assert leg.rise == at[leg.leg.end].above(at[leg.leg.start]) == leg.leg.rise + leg.residual


# The test and the sight at fault ------------------------------------------------------------------------------

HEIGHTS = {"GATE": 0, "N": 500, "E": 300, "S": 700, "W": -200}


def _mesh(slip: dict[tuple[str, str], int] | None = None) -> list[Leg]:
    """Four marks round the gate, each tied to it and to its neighbors; `slip` is put into sights, in millimetres."""
    ties = [("GATE", mark) for mark in "NESW"] + [("N", "E"), ("E", "S"), ("S", "W"), ("W", "N")]
    return [
        Leg(one, other, millimetres(HEIGHTS[other] - HEIGHTS[one] + (slip or {}).get((one, other), 0)))
        for one, other in ties
    ]


def test_a_network_that_agrees_passes_and_says_so() -> None:
    adjustment = adjust({"GATE": GATE}, _mesh({("N", "E"): 1, ("S", "W"): -1}), expected=millimetres(1))
    assert adjustment.test is not None
    assert adjustment.test.passes
    assert adjustment.says == "The sights agree as well as can be expected of them."


@pytest.mark.parametrize("place", range(8))
@pytest.mark.parametrize("millimetre", [-25, 12])
def test_a_blunder_in_a_well_tied_network_is_pointed_at(place: int, millimetre: int) -> None:
    slipped = _mesh()[place]
    legs = _mesh({(slipped.start, slipped.end): millimetre})
    adjustment = adjust({"GATE": GATE}, legs, expected=millimetres(1))
    assert adjustment.test is not None
    assert not adjustment.test.passes
    assert [leg.leg.name for leg in adjustment.worst] == [slipped.name]
    assert f"most at fault is {slipped.name}" in adjustment.says


def test_round_a_single_loop_the_fault_can_lie_anywhere_and_that_is_said() -> None:
    legs = [
        Leg("GATE", "N", millimetres(500), 1),
        Leg("N", "E", millimetres(-200), 4),
        Leg("E", "GATE", millimetres(-290), 2),
        Leg("GATE", "SPUR", millimetres(40)),
    ]
    adjustment = adjust({"GATE": GATE}, legs, expected=millimetres(1))
    assert [leg.leg.name for leg in adjustment.worst] == ["GATE to N", "N to E", "E to GATE"]
    assert "one of GATE to N, N to E, E to GATE, which this network can't tell apart" in adjustment.says


def test_two_sights_equally_bad_in_different_places_are_not_called_alike() -> None:
    known = {"GATE": GATE, "POST": Elevation(Fraction(1)), "SILL": Elevation(Fraction(2))}
    legs = [Leg("GATE", "POST", millimetres(1010)), Leg("POST", "SILL", millimetres(990))]
    adjustment = adjust(known, legs, expected=millimetres(1))
    assert [leg.standardised for leg in adjustment.legs] == pytest.approx([-10, 10])
    assert len(adjustment.worst) == 1


def test_a_sight_that_nothing_checks_has_no_standardised_residual() -> None:
    adjustment = adjust({"GATE": GATE}, [*_mesh({("N", "E"): 9}), Leg("E", "SPUR", millimetres(5))])
    spur = adjustment.legs[-1]
    assert (spur.redundancy, spur.standardised, spur.residual) == (0.0, None, ZERO)


def test_without_a_sight_to_spare_no_test_is_possible_and_that_is_said() -> None:
    legs = [Leg("GATE", "N", millimetres(500)), Leg("N", "E", millimetres(-200))]
    adjustment = adjust({"GATE": GATE}, legs, expected=millimetres(1))
    assert (adjustment.dof, adjustment.sigma0, adjustment.test, adjustment.worst) == (0, None, None, ())
    assert "no test is possible" in adjustment.says
    assert _at(adjustment) == {"N": Elevation(Fraction(1, 2)), "E": Elevation(Fraction(3, 10))}
    # What is expected of a setup still tells how sure the marks are; without it nothing does.
    assert [mark.deviation for mark in adjustment.marks] == pytest.approx([0.001, 0.001 * sqrt(2)])
    assert [mark.deviation for mark in adjust({"GATE": GATE}, legs).marks] == [None, None]


def test_without_an_expected_scatter_no_test_is_possible_and_that_is_said() -> None:
    adjustment = adjust({"GATE": GATE}, _mesh({("N", "E"): 9}))
    assert adjustment.test is None
    assert "no test is possible" in adjustment.says


def test_a_network_of_known_marks_alone_is_tested_too() -> None:
    known = {mark: Elevation(millimetres(height).metres) for mark, height in HEIGHTS.items()}
    adjustment = adjust(known, _mesh({("N", "E"): 9}), expected=millimetres(1))
    assert (adjustment.marks, adjustment.dof) == ((), 8)
    assert [leg.leg.name for leg in adjustment.worst] == ["N to E"]
    assert adjustment.legs[0].deviation == 0


@pytest.mark.parametrize(
    ("known", "legs", "by", "says"),
    [
        ([], [], SharedBy.SETUPS, "There is no sight to adjust"),
        ([], [("N", "E")], SharedBy.SETUPS, "No mark of this network has a known elevation"),
        (["GATE"], [("N", "E")], SharedBy.SETUPS, "No mark of this network has a known elevation"),
        (["GATE"], [("GATE", "N"), ("E", "S")], SharedBy.SETUPS, "E, S are not tied to any mark of known elevation"),
        (["GATE"], [("GATE", "N")], SharedBy.DISTANCE, "The leg GATE to N has no distance"),
    ],
    ids=["nothing", "no-mark-known", "the-known-mark-not-in-it", "two-parts", "no-distance"],
)
def test_a_network_that_cannot_be_adjusted_is_refused_in_a_sentence(
    known: list[str], legs: list[tuple[str, str]], by: SharedBy, says: str
) -> None:
    with pytest.raises(ValueError, match=says):
        adjust(dict.fromkeys(known, GATE), [Leg(one, other, ZERO) for one, other in legs], by)


@pytest.mark.parametrize("expected", [ZERO, millimetres(-1)], ids=["none", "negative"])
def test_the_expected_deviation_is_more_than_nothing(expected: Length) -> None:
    with pytest.raises(ValueError, match="must be more than zero"):
        adjust({"GATE": GATE}, _mesh(), expected=expected)


# numpy --------------------------------------------------------------------------------------------------------


def test_numpy_is_loaded_by_an_adjustment_and_by_nothing_before_it() -> None:
    script = (
        "import sys; from gradecheck.measure.quantities import *; from gradecheck.survey.circuit import Leg;"
        "from gradecheck.survey.network import adjust; before = 'numpy' in sys.modules;"
        "adjust({'A': Elevation(Fraction(0))}, [Leg('A', 'B', ZERO)]); print(before, 'numpy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]
