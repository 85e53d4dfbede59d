"""Which way people walk, by the edges the plan draws or by ``along:``; where neither tells, nothing is guessed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import metres
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from gradecheck.plan.surfaces import along_edges

Corner = tuple[float | Fraction, float | Fraction]


def _line(*corners: Corner) -> tuple[Place, ...]:
    return tuple((metres(Fraction(x)), metres(Fraction(y))) for x, y in corners)


LEFT, RIGHT = _line((0, 0), (10, 0)), _line((0, 2), (10, 2))
OUTER, INNER = _line((0, 0), (10, 0), (10, 10)), _line((0, 2), (8, 2), (8, 10))


@pytest.mark.parametrize(
    "edges",
    [
        pytest.param((LEFT, RIGHT), id="two alike"),
        pytest.param((LEFT, RIGHT[::-1]), id="one read back"),
        pytest.param((LEFT, RIGHT, _line((0, 1), (10, 1))), id="three"),
        pytest.param((LEFT, _line((0, 2), (3, 2))), id="one shorter"),
        pytest.param((OUTER, INNER), id="bent alike"),
        pytest.param((OUTER, INNER[::-1]), id="bent, one read back"),
        pytest.param((_line((0, 0), (10, 0), (10, 10), (20, 10)), _line((0, 2), (8, 2), (8, 12), (20, 12))), id="S"),
        pytest.param((LEFT, _line((0, 2), (8, 4))), id="a quarter askew, as much as may be"),
        pytest.param((LEFT, _line((0, 2), (0, 2), (10, 2))), id="a corner named twice"),
    ],
)
def test_edges_that_take_the_same_turns_tell_the_way(edges: tuple[tuple[Place, ...], ...]) -> None:
    assert along_edges(edges) == edges


@pytest.mark.parametrize(
    "edges",
    [
        pytest.param((), id="none"),
        pytest.param((LEFT,), id="one alone"),
        pytest.param((LEFT, _line((0, 2), (0, 12))), id="one across"),
        pytest.param((LEFT, RIGHT, _line((10, 0), (10, 2))), id="two along and the end"),
        pytest.param((LEFT, _line((0, 2), (8, Fraction(401, 100)))), id="more than a quarter askew"),
        pytest.param((OUTER, LEFT), id="one bends, the other does not"),
        pytest.param((OUTER, _line((0, 2), (10, 2), (10, -10))), id="bent the other way"),
        pytest.param((OUTER, _line((0, 0), (10, 0), (10, 10), (0, 10), (0, 0))), id="one goes round the area"),
        pytest.param((_line((0, 0), (10, 0), (5, 1)), _line((0, 2), (10, 2), (5, 3))), id="they turn back"),
        pytest.param((LEFT, _line((3, 3), (3, 3))), id="one leads nowhere"),
    ],
)
def test_edges_that_do_not_agree_tell_nothing(edges: tuple[tuple[Place, ...], ...]) -> None:
    assert along_edges(edges) == ()


small = st.integers(-20, 20)


@given(
    turns=st.lists(st.tuples(st.integers(1, 9), st.integers(0, 9)), min_size=1, max_size=5),
    start=st.tuples(small, small),
    far=st.tuples(small, small),
    longer=st.integers(1, 5),
    read_back=st.booleans(),
)
def test_a_line_with_the_same_turns_beside_another_goes_its_way(
    turns: list[tuple[int, int]], start: tuple[int, int], far: tuple[int, int], longer: int, read_back: bool
) -> None:
    def walked(x: int, y: int, by: int) -> list[Corner]:
        corners: list[Corner] = [(x, y)]
        for right, up in turns:
            x, y = x + right * by, y + up * by
            corners.append((x, y))
        return corners

    one = _line(*walked(*start, 1))
    other = _line(*walked(*far, longer))
    other = other[::-1] if read_back else other
    assert along_edges((one, other)) == (one, other)
    across = _line(*((-y, x) for x, y in walked(*far, longer)))
    if all(right and up <= 2 * right and right <= 2 * up for right, up in turns):
        assert along_edges((one, across)) == ()


def _plan(walk: str) -> Plan:
    return read_plan(
        "job: Sedge Lane\nunits: ft\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 0.02}\nareas:\n  walk:\n"
        "    accessible: yes\n    points:\n"
        "      A: {elevation: -1, at: [0, 0]}\n      B: {elevation: -1.1, at: [9, 0]}\n"
        f"      C: {{elevation: -1.2, at: [9, 9]}}\n      D: -1\n{walk}",
        "job.yaml",
    )


EDGES = "    surface: {at: A, fall: {x: 1%}}\n    edges:\n      L: {every: 3 ft, along: [[0, 0], [9, 0]]}\n"
ACROSS = "      R: {every: 3 ft, along: [[0, 3], [0, 9]]}\n"


@pytest.mark.parametrize(
    ("walk", "ways"),
    [
        ("", []),
        ("    along: [A, B]\n", [[(0, 0), (9, 0)]]),
        ("    along: [A, B, C]\n", [[(0, 0), (9, 0), (9, 9)]]),
        ("    along: [a, [4, 0], [9 ft, 5 ft]]\n", [[(0, 0), (4, 0), (9, 5)]]),
        (EDGES + "      R: {every: 3 ft, along: [[9, 3], [0, 3]]}\n", [[(0, 0), (9, 0)], [(9, 3), (0, 3)]]),
        (EDGES + ACROSS, []),
        (EDGES + ACROSS + "    along: [A, B]\n", [[(0, 0), (9, 0)]]),
    ],
)
def test_along_says_it_and_else_the_edges_do(walk: str, ways: list[list[tuple[int, int]]]) -> None:
    foot = Fraction(381, 1250)
    found = [[(x.metres / foot, y.metres / foot) for x, y in line] for line in _plan(walk).areas["walk"].travel]
    assert found == ways


@pytest.mark.parametrize(
    ("along", "says"),
    [
        ("[A]", "at least 2 are needed"),
        ("[A, A]", "These lie at one place; a way leads from one place to another."),
        ("[A, D]", "D"),
        ("[A, Q]", "Q"),
    ],
)
def test_an_along_that_leads_nowhere_is_refused(along: str, says: str) -> None:
    with pytest.raises(PlanProblemsError) as refused:
        _plan(f"    along: {along}\n")
    assert says in str(refused.value)
