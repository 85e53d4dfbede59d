"""The profile shows wanted, allowed and measured along the points, with every figure under it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.journal.facts import DatumChosen
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Length, inches
from gradecheck.measure.typed import Tolerance
from gradecheck.report.profile import ProfilePoint, line_through, points_on_lines, profile, stations
from gradecheck.report.scene import Style
from gradecheck.state.state import fold
from tests.journal_strategies import Site
from tests.report.site import YARD, measured, yard

PLAN = yard()
INCHES = Notation.usual(Units.IN)


def test_a_flight_in_plain_letters() -> None:
    found = profile(stations(measured(PLAN, {}), "steps", "finish"), PLAN.notation, 48, 7, braille=False)
    assert list(found.drawing.lines) == [
        "-3 7/8 in    . S1",
        "              _",
        "               _",
        "                __",
        "                 '_",
        "                S2 ._____________' '         S3",
        "-11 1/16 in                  ' ' ____________.",
    ]
    assert found.remarks == ()


def test_what_was_measured_is_drawn_with_the_sign_of_its_verdict() -> None:
    state = measured(PLAN, {"S1": 0, "S2": 8, "S3": -8}, area="steps")
    along = stations(state, "steps", "finish", current="S2")
    drawing = profile(along, PLAN.notation, 48, 9, braille=False).drawing
    shown = {text: style for row in range(9) for text, style in drawing.runs(row)}
    assert (shown["="], shown["+"], shown["-"]) == (Style.ON, Style.HIGH, Style.LOW)
    assert (shown[">"], shown["S2 CUT 1/2"]) == (Style.CURRENT, Style.CURRENT)
    assert any(style is Style.FOUND for style in shown.values())


def test_in_dots_what_was_measured_is_a_full_line_and_the_target_dotted() -> None:
    allowed = Tolerance(inches(1), inches(1))

    def lines(found: Length | None) -> list[str]:
        along = [ProfilePoint(name, inches(at), inches(0), allowed, found) for name, at in (("P", 0), ("Q", 100))]
        return list(profile(along, INCHES, 24, 3).drawing.lines)

    assert lines(inches(0)) == ["1 in   ⠁ ⠁ ⠁ ⠁ ⠁ ⠁ ⠁ ⠁", "     P o⠤⠤⠤⠤⠤⠤⠤⠤⠤⠤⠤⠤⠤o Q", "−1 in  ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀"]
    assert lines(None) == ["1 in   ⠁ ⠁ ⠁ ⠁ ⠁ ⠁ ⠁ ⠁", "     P o⠄⠄⠄⠄⠄⠄⠄⠄⠄⠄⠄⠄⠄o Q", "−1 in  ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀ ⡀"]


def test_no_line_is_drawn_across_a_point_nobody_read() -> None:
    state = measured(PLAN, {"S1": 0, "S3": 0}, area="steps")
    drawing = profile(stations(state, "steps", "finish"), PLAN.notation, 48, 9).drawing
    assert not any(style is Style.FOUND for row in drawing.styles for style in row)


def test_stations_run_along_the_straight_ways_between_the_points_exactly() -> None:
    text = YARD.replace(
        "D: {from: B, fall: 2%, over: 10 ft, at: [20 ft, 15 ft]", "D: {elevation: 0, at: [3 ft, 19 ft]"
    )
    along = stations(measured(yard(text), {}), "yard", "base", ["A", "C", "D"])
    # 10 ft on, then the 5 of a 3-4-5.
    assert [station.along for station in along] == [inches(0), inches(120), inches(180)]
    assert [station.point for station in along] == ["A", "C", "D"]


def test_any_points_make_a_profile_and_an_unknown_name_is_a_key_error() -> None:
    assert [station.point for station in stations(measured(PLAN, {}), "steps", "finish", ["S3", "S1"])] == [
        "S3",
        "S1",
    ]
    with pytest.raises(KeyError):
        stations(measured(PLAN, {}), "steps", "finish", ["S9"])


GRID = yard(
    """\
job: Fallow Lane court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8 in}
areas:
  court:
    points:
      A1: {elevation: -1, at: [0 ft, 0 ft]}
      A2: {elevation: -1, at: [8 ft, 0 ft]}
      A3: {elevation: -1, at: [16 ft, 0 ft]}
      A4: {elevation: -1, at: [24 ft, 0 ft]}
      B4: {elevation: -2, at: [24 ft, 6 ft]}
      B3: {elevation: -2, at: [16 ft, 6 ft]}
      B2: {elevation: -2, at: [8 ft, 6 ft]}
      B1: {elevation: -2, at: [0 ft, 6 ft]}
      C1: {elevation: -3, at: [0 ft, 12 ft]}
      C2: {elevation: -3, at: [8 ft 4 in, 12 ft]}
      E: -4
"""
).areas["court"]


@pytest.mark.parametrize(
    ("ends", "passed"),
    [
        (("A1", "A4"), ["A1", "A2", "A3", "A4"]),
        (("B4", "B1"), ["B4", "B3", "B2", "B1"]),
        (("A2", "C2"), ["A2", "B2", "C2"]),  # B2 stands 2 in beside that line
        (("A1", "B3"), ["A1", "B3"]),
        (("A1", "A4", "B4", "B3"), ["A1", "A2", "A3", "A4", "B4", "B3"]),
        (("A1", "E"), ["A1", "E"]),
    ],
)
def test_a_chosen_line_passes_the_points_that_stand_on_it(ends: tuple[str, ...], passed: list[str]) -> None:
    assert points_on_lines(GRID, ends) == passed


@pytest.mark.parametrize(
    ("current", "passed"),
    [
        ("A3", {"A1", "A2", "A3", "A4"}),
        ("B2", {"B1", "B2", "B3", "B4"}),
        ("C1", {"A1", "B1", "C1"}),  # A3, B2 and C1 are as many, and farther, but nobody walks there
        ("E", set(GRID.index)),
    ],
)
def test_until_a_line_is_chosen_it_is_the_one_that_passes_most_points(current: str, passed: set[str]) -> None:
    found = line_through(GRID, current)
    assert set(found) == passed
    places = [GRID.point(name).at for name in found]
    if current != "E":
        xs = [(at[0].metres, at[1].metres) for at in places if at]
        assert xs in (sorted(xs), sorted(xs, reverse=True)), "in the order they are passed"
        assert GRID.index[found[0]] < GRID.index[found[-1]], "from the end that is walked first"


def test_the_stage_decides_what_is_wanted_and_allowed() -> None:
    (station,) = stations(measured(PLAN, {}), "yard", "subgrade", ["A"])
    assert station.wanted == inches(Fraction(-75, 8))
    assert station.tolerance == PLAN.areas["yard"].tolerances["subgrade"]


def test_points_without_a_place_are_named_and_not_drawn() -> None:
    found = profile(stations(measured(PLAN, {}), "yard", "finish"), PLAN.notation, 60, 8)
    assert found.remarks == ("Without a place, and not drawn: LOOSE.",)
    assert not any("LOOSE" in line for line in found.drawing.lines)


def test_points_that_have_no_place_at_all_stand_evenly_and_that_is_said() -> None:
    along = [ProfilePoint(name, None, inches(up)) for name, up in (("A", 1), ("B", 2), ("C", 3))]
    found = profile(along, INCHES, 30, 4, braille=False)
    assert found.remarks == ("The plan does not say how far apart these points are; they are drawn evenly spaced.",)
    signs = [line.index("o") for line in reversed(found.drawing.lines) if "o" in line]
    assert len(signs) == 3
    assert signs[1] - signs[0] == pytest.approx(signs[2] - signs[1], abs=1)


def test_a_datum_that_is_not_tied_is_said_and_nothing_is_drawn() -> None:
    found = profile(stations(measured(PLAN, {}), "deck", "finish"), PLAN.notation, 40, 5)
    assert found.remarks == ("Without an elevation until the datum is tied: P1.",)
    assert not any(found.drawing.lines)


@given(
    st.lists(
        st.tuples(st.integers(-200, 200), st.none() | st.integers(0, 300), st.none() | st.integers(-9, 9)), max_size=6
    ),
    st.integers(1, 90),
    st.integers(1, 20),
    st.booleans(),
)
def test_a_profile_fits_whatever_room_it_is_given(
    given_: list[tuple[int, int | None, int | None]], columns: int, rows: int, braille: bool
) -> None:
    allowed = Tolerance(inches(1), inches(2))
    along = [
        ProfilePoint(f"P{number}", None if at is None else inches(at), inches(up), allowed,
                None if off is None else inches(up + off), current=number == 1)
        for number, (up, at, off) in enumerate(given_)
    ]  # fmt: skip
    found = profile(along, INCHES, columns, rows, braille=braille)
    assert [len(row) for row in found.drawing.cells] == [columns] * rows


def test_heights_are_those_of_the_datum_that_is_shown() -> None:
    office = YARD.replace("pool: {mark: COPING, reads: 0}", "office: {mark: SILL, reads: 100 in}")
    site = Site(yard(office.replace("datum: pool", "datum: office")))
    site.set_up("SILL", inches(50))
    site.read(("steps", "S1", "finish"), inches(54))
    site.add(DatumChosen("office"))
    station = stations(fold(site.plan, site.entries), "steps", "finish")[0]
    assert (station.wanted, station.found) == (inches(96), inches(96))
