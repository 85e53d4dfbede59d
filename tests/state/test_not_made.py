"""A check that could apply and was not made says so, why, and what it would take: silence is no pass."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradecheck import actions, checks
from gradecheck.checks.steps import check_flight, flights_of
from gradecheck.cli import main
from gradecheck.measure.quantities import inches
from gradecheck.plan.read import read_plan
from gradecheck.report.checks import area_results
from gradecheck.report.daily_report import daily_report
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area
from gradecheck.state.not_made import PONDING
from gradecheck.state.signing import questions
from gradecheck.state.state import Surface
from tests.cli.asides import answered

JOB = """\
job: Wicken Yard
units: in
codes: [us-residential, us-accessible]
benchmarks: {DOOR: 0}
build-ups:
  yard: [{paver: 2 in}, {bedding: 1 in}, {base: 6 in}]
tolerances: {subgrade: 1/2, base: 3/8, bedding: 1/4, finish: 1/4}
areas:
"""
Opened = Callable[..., Session]


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Opened]:
    """Opens a job with these areas, the instrument at 100 in, and reads points given as ``stage, A=-1, B=-2``."""
    sessions: list[Session] = []

    def job(areas: str, *readings: tuple[str, dict[str, float]], more: str = "") -> Session:
        folder = tmp_path / f"job{len(sessions)}"
        folder.mkdir()
        (folder / "job.yaml").write_text(JOB + areas + more, encoding="utf-8")
        session = Session(folder, by="RK")
        sessions.append(session)
        session.record(actions.set_up(session.state, "DOOR", "100"))
        for stage, heights in readings:
            for point, height in heights.items():
                surface = Surface(session.plan.area_of[point], point, stage)
                session.record(actions.reading(session.state, surface, f"{100 - height:.6f}".rstrip("0").rstrip(".")))
        return session

    yield job
    for session in sessions:
        session.close()


def said(session: Session, area: str, check: str, stage: str | None = None) -> list[str]:
    """Why that check of the area was not made."""
    return [each.why for each in check_area(session.state, area, stage).not_checked if each.check == check]


YARD = """\
  yard:
    build-up: yard
    points: {A: -1, B: -2}
"""


def test_layers_below_that_nobody_read_are_told(opened: Opened) -> None:
    session = opened(YARD, ("base", {"A": -4, "B": -5}), ("finish", {"A": -1}))
    assert said(session, "yard", "layers") == ["subgrade was not read", "bedding was not read"]
    assert said(session, "yard", "layers", "base") == ["subgrade was not read"]
    assert said(session, "yard", "layers", "subgrade") == []
    assert said(session, "yard", "layers", "bedding") == [], "nothing was read there, so nothing is said of it"


# -- steps


CHAIN = """\
  stair:
    points:
      S1: {from: DOOR, down: 1, riser: 6}
      S2: {from: S1, down: 1, riser: 6}
      S3: {from: S2, down: 1, riser: 6}
"""


def risers(session: Session, area: str) -> list[list[Fraction]]:
    """The risers of each flight of the area, in inches."""
    inch = inches(1).metres
    return [
        [riser.height.metres / inch for riser in flight.risers] for flight in check_area(session.state, area).flights
    ]


def test_risers_of_steps_written_as_a_chain_are_held_to_the_rules_of_steps(opened: Opened) -> None:
    """5 5/8 in beside 6 3/8 in: 3/4 in between them, where 3/8 in is the most (IRC R311.7.5.1)."""
    session = opened(CHAIN, ("finish", {"S1": -5.625, "S2": -12, "S3": -18}))
    assert risers(session, "stair") == [[Fraction(45, 8), Fraction(51, 8), 6]]
    [flight] = check_area(session.state, "stair").flights
    assert {held.what for held in flight.faults} == {"largest less smallest riser"}
    assert said(session, "stair", "steps") == []
    assert said(session, "stair", "treads") == ["the depth and the fall of the treads are not measured here"]


DOWN_RUNS = """\
  stair:
    points:
      T0: {from: DOOR, down: 1, riser: 6}
      T1: {from: T0, fall: 2%, over: 14}
      B1: {from: T1, down: 1, riser: 6}
      T2: {from: B1, fall: 2%, over: 14}
      B2: {from: T2, down: 1, riser: 6}
"""


@pytest.mark.parametrize(
    ("areas", "names"),
    [
        (DOWN_RUNS, ["DOOR", "T1", "T2", "B2"]),
        (DOWN_RUNS.replace("down:", "up:").replace("fall:", "rise:"), ["DOOR", "T0", "B1", "B2"]),
        (
            "  stair:\n    points:\n      A: {from: DOOR, down: 1, riser: 6}\n"
            "      B: {from: A, fall: 1:48, over: 14, down: 1, riser: 6}\n",
            ["DOOR", "A", "B"],
        ),
        (  # in two areas, from a point of the first
            "  yard:\n    points: {Y: -1, Z: {from: Y, down: 1, riser: 6}}\n"
            "  stair:\n    points: {A: {from: Z, down: 1, riser: 6}}\n",
            ["Y", "Z", "A"],
        ),
    ],
    ids=["down with treads", "up with treads", "treads and risers in one", "over two areas"],
)
def test_risers_run_from_nosing_to_nosing_however_the_chain_is_written(
    opened: Opened, areas: str, names: list[str]
) -> None:
    """Going down the nosing is the far end of a tread, going up the near one."""
    [steps] = opened(areas).plan.areas["stair"].steps
    assert [steps.rises[0].start, *(rise.end for rise in steps.rises)] == names
    assert steps.kind == "flight"


def test_a_chain_that_branches_is_a_flight_along_each_branch(opened: Opened) -> None:
    areas = CHAIN + "      L2: {from: S1, down: 1, riser: 6}\n"
    flights = [[rise.end for rise in steps.rises] for steps in opened(areas).plan.areas["stair"].steps]
    assert sorted(flights) == [["S1", "L2"], ["S1", "S2", "S3"]]


def test_a_landing_in_a_chain_parts_it_in_two_flights_and_a_walk_ends_it(opened: Opened) -> None:
    areas = """\
  stair:
    points:
      A1: {from: DOOR, down: 1, riser: 6}
      A2: {from: A1, down: 1, riser: 6}
      L: {from: A2, fall: 1:50, over: RUN}
      B1: {from: L, down: 1, riser: 6}
      B2: {from: B1, down: 1, riser: 6}
"""
    landing = opened(areas.replace("RUN", "40")).plan.areas["stair"].steps
    assert [len(steps.rises) for steps in landing] == [4]
    assert [(each.start, each.end) for each in landing[0].landings] == [("A2", "L")]
    session = opened(areas.replace("RUN", "30 ft"))
    assert [len(steps.rises) for steps in session.plan.areas["stair"].steps] == [2, 2]


def test_risers_without_points_between_are_told_as_not_checked(opened: Opened) -> None:
    areas = "  stair:\n    points: {A: -1, B: {from: A, down: 3, riser: 6}}\n"
    session = opened(areas, ("finish", {"A": -1, "B": -19}))
    assert said(session, "stair", "steps") == ["3 risers between A and B, without points between"]
    [flight] = check_area(session.state, "stair").flights
    assert (flight.risers, flight.total) == ((), inches(18))


def test_a_riser_of_which_one_end_was_not_read_is_told_as_not_checked(opened: Opened) -> None:
    session = opened(CHAIN, ("finish", {"S1": -6, "S3": -18}))
    assert said(session, "stair", "steps") == ["risers S1 to S2, S2 to S3: S2 is not known"]


def test_a_riser_alone_may_be_a_curb_and_is_held_only_in_steps(opened: Opened) -> None:
    areas = "  yard:\n    points: {A: {from: DOOR, down: 1, riser: 9}, B: -10}\n"
    session = opened(areas, ("finish", {"A": -9, "B": -10}))
    assert check_area(session.state, "yard").flights == ()
    assert said(session, "yard", "steps") == ["one riser alone, DOOR to A, may be a step or a curb"]
    session = opened(areas.replace("points", "use: steps\n    points"), ("finish", {"A": -9, "B": -10}))
    [flight] = check_area(session.state, "yard").flights
    assert {held.what for held in flight.faults} == {"riser"}


@given(
    count=st.integers(2, 7),
    down=st.booleans(),
    riser=st.integers(64, 124),  # sixteenths: 4 to 7 3/4 in, as the rules have it
    tread=st.sampled_from([None, 10, 14, 20]),
    off=st.lists(st.integers(-2, 2), min_size=8, max_size=8),
)
@settings(max_examples=40, deadline=None)
def test_a_chain_is_judged_as_the_same_flight_written_as_one(
    count: int, down: bool, riser: int, tread: int | None, off: list[int]
) -> None:
    way = "down" if down else "up"
    high = f"{riser // 16} {riser % 16}/16 in"
    run = f"{'fall' if down else 'rise'}: 0%, over: {tread}, " if tread else ""
    names = ["DOOR", *(f"S{number}" for number in range(1, count + 1))]
    chain = "".join(
        f"      {end}: {{from: {start}, {run if start != 'DOOR' else ''}{way}: 1, riser: {high}}}\n"
        for start, end in pairwise(names)
    )
    deep = f", tread: {tread}" if tread else ""
    flight = f"    flight: {{from: DOOR, {way}: {count}, riser: {high}{deep}}}\n"
    plans = [read_plan(JOB + "  stair:\n" + each, "job.yaml") for each in (f"    points:\n{chain}", flight)]
    found = []
    for plan in plans:
        area = plan.areas["stair"]
        heights = {"DOOR": plan.benchmarks["DOOR"].elevation}
        heights |= {point.name: point.finish + inches(Fraction(off[n], 16)) for n, point in enumerate(area.points)}
        assert area.use == "steps"
        [steps] = area.steps
        [one] = flights_of(steps, heights)
        checked = check_flight(one, plan.limits(area))
        assert len(checked.risers) == count
        found.append(
            (checked.risers, checked.total, {(each.what, each.value, each.verdict) for each in checked.held})
        )
    assert found[0] == found[1]


# -- walks


def _walk(how: str, bent: bool = False) -> str:
    """Two rows of points, 4 ft apart, along x; `bent`: and two more up y at its end. It falls 1 in 100 along x."""
    rows = {"A": (0, 0), "B": (120, 0), "C": (240, 0), "E": (0, 48), "F": (120, 48), "G": (192, 48)}
    rows |= {"H": (192, 144), "I": (240, 144)} if bent else {}
    points = "".join(f"      {n}: {{elevation: {-x / 100:g}, at: [{x}, {y}]}}\n" for n, (x, y) in rows.items())
    return f"  walk:\n    accessible: yes\n{how}    points:\n{points}"


def _so_deep(names: str) -> tuple[str, dict[str, float]]:
    deep = {"A": 0, "B": -1.2, "C": -2.4, "E": 0, "F": -1.2, "G": -1.92, "H": -1.92, "I": -2.4}
    return "finish", {name: deep[name] for name in names}


RUNNING, CROSS = "running fall", "cross fall"
NO_WAY = "the plan does not say which way people walk; give the area “along: [A, B]”, or two “edges:”"
ALONG = "    along: [[0, 24], [240, 24]]\n"
BENT = "    along: [[0, 24], [216, 24], [216, 144]]\n"
NONE_ALONG = "no two points that were read lie one along the way from the other; read another point along the walk"
NONE_ACROSS = (
    "no two points that were read lie across from one another; "
    "read both edges of the walk, and give the plan points there"
)


@pytest.mark.parametrize(
    ("walk", "read", "running", "cross"),
    [
        (_walk(""), "ABCEFG", [NO_WAY], [NO_WAY]),
        (_walk(ALONG), "ABCEFG", [], []),
        (_walk(ALONG), "ABC", [], [NONE_ACROSS]),
        (_walk(ALONG), "AE", [NONE_ALONG], []),
        (_walk(ALONG), "A", [NONE_ALONG], [NONE_ACROSS]),
        (_walk(BENT, bent=True), "ABCEFGHI", [], [
            "what was read beside C, G lies on another leg of the walk; "
            "read both edges of the walk, and give the plan points there, on the same leg"
        ]),
        (_walk("    rules: {accessible cross fall at most: 2%}\n" + ALONG), "ABC", [], [NONE_ACROSS]),
    ],
)  # fmt: skip
def test_which_way_people_walk_is_asked_for_with_the_words_that_give_it(
    opened: Opened, walk: str, read: str, running: list[str], cross: list[str]
) -> None:
    session = opened(walk, _so_deep(read))
    results = area_results(check_area(session.state, "walk"), session.plan.notation)
    for check, says in ((RUNNING, running), (CROSS, cross)):
        assert [each.says for each in results if each.section == check and each.verdict == "not checked"] == says


def test_spots_that_have_a_neighbor_on_another_leg_alone_are_told(opened: Opened) -> None:
    """B lies on the leg along x, E on that along y; the line between them goes across the one and along the other."""
    points = (
        "{A: {elevation: 0, at: [60, 0]}, B: {elevation: -1.4, at: [200, 0]}, E: {elevation: -1.44, at: [204, 60]}, "
    )
    points += "F: {elevation: -1.8, at: [240, 60]}}"
    session = opened(
        f"  walk:\n    accessible: yes\n{BENT}    points: {points}\n",
        ("finish", dict(zip("ABEF", (0, -1.4, -1.44, -1.8), strict=True))),
    )
    said_of = "what was read beside {} lies on another leg of the walk"
    assert said(session, "walk", RUNNING) == [said_of.format("E")]
    assert said(session, "walk", CROSS) == [said_of.format("B")]


@pytest.mark.parametrize("how", ["    along: [A, C]\n", ALONG])
def test_given_in_the_words_that_it_asks_for_the_walk_is_checked_both_ways(opened: Opened, how: str) -> None:
    session = opened(_walk(how), _so_deep("ABCEFG"))
    found = check_area(session.state, "walk")
    assert found.route is not None
    assert found.route.running.judged
    assert found.route.cross.judged
    assert not [each for each in found.not_checked if each.check in (RUNNING, CROSS)]


# -- ramps


RAMP = """\
  ramp:
    ramp: {from: DOOR, fall: 1:12, runs: [12 ft, 12 ft], landing: 5 ft}
"""


def test_runs_of_a_ramp_are_held_and_its_cross_slope_not_checked(opened: Opened) -> None:
    session = opened(RAMP, ("finish", {"R1": -12, "R1L": -12, "R2": -25}))
    held = {(each.what, each.where): each.verdict for each in check_area(session.state, "ramp").ramps}
    assert held["ramp", ("DOOR", "R1")] == "passes"
    assert held["ramp", ("R1L", "R2")] == "fault", "13 in over 12 ft is 1:11"
    assert said(session, "ramp", "cross fall") == ["no points on both edges of the ramp tell its cross slope"]
    assert said(session, "ramp", "ramp") == ["R2 to R2L: not both ends are known"]
    assert said(session, "ramp", "flatness") == [
        "flatness and ponding of a ramp's runs and landings are not worked out"
    ]


def test_a_ramp_written_as_points_says_that_its_runs_are_not_checked(opened: Opened) -> None:
    areas = "  ramp:\n    use: ramp\n    points: {A: -1, B: {from: A, fall: 1:10, over: 10 ft}}\n"
    session = opened(areas, ("finish", {"A": -1, "B": -13}))
    assert said(session, "ramp", "ramp") == ["its runs and landings are written as points"]
    assert len(said(session, "ramp", "cross fall")) == 1


# -- puddles and places


def _court(*inside: str) -> str:
    corners = "A: {elevation: -1, at: [0, 0]}, B: {elevation: -1, at: [120, 0]}, C: {elevation: -3.4, at: [120, 120]}"
    points = ", ".join([corners, "D: {elevation: -3.4, at: [0, 120]}", *inside])
    return f"  court:\n    points: {{{points}}}\n"


EDGES = {"A": -1, "B": -1, "C": -3.4, "D": -3.4}


def test_puddles_where_all_points_lie_on_the_edge_are_not_called_good(opened: Opened) -> None:
    session = opened(_court(), ("finish", EDGES))
    assert said(session, "court", PONDING) == ["every point read lies on the edge, where water is taken to run off"]
    results = area_results(check_area(session.state, "court"), session.plan.notation)
    assert {each.verdict for each in results if each.section == PONDING} == {"not checked"}
    session = opened(_court("M: {elevation: -2.2, at: [60, 60]}"), ("finish", {**EDGES, "M": -2.2}))
    assert said(session, "court", PONDING) == []
    results = area_results(check_area(session.state, "court"), session.plan.notation)
    assert [each.says for each in results if each.section == PONDING] == ["no low spot holds water"]


def test_at_a_wall_an_edge_can_hold_water(opened: Opened) -> None:
    wall = "walls:\n  house: [[0, -1], [120, -1]]\n"
    session = opened(_court(), ("finish", EDGES), more=wall)
    assert said(session, "court", PONDING) == []


ALCOVE = "walls:\n  house: [[0, 0], [120, 0], [120, 120], [0, 120]]\n"


def test_walls_on_every_side_without_a_drain_are_told_in_place_of_a_pass(opened: Opened) -> None:
    ring = "walls:\n  house: [[0, 0], [120, 0], [120, 120], [0, 120], [0, 0]]\n"
    session = opened(_court("M: {elevation: -4, at: [60, 60]}"), ("finish", {**EDGES, "M": -4}), more=ring)
    results = area_results(check_area(session.state, "court"), session.plan.notation)
    assert [(each.verdict, each.says) for each in results if each.section == PONDING] == [
        ("advice", "walls on every side and no drain: water has no way out")
    ]
    session = opened(_court("M: {elevation: -2, at: [60, 60]}"), ("finish", {**EDGES, "M": -2}), more=ALCOVE)
    assert check_area(session.state, "court").no_way_out == ()


@pytest.mark.parametrize(
    ("drains", "walls", "told"),
    [
        ("{away from: A}", "", ["A is a mark, and the plan names no wall, so no ground counts as near a building"]),
        ("{away from: HOUSE}", "walls: {HOUSE: [[0, -9], [0, 9]]}\n", []),
        ("{at least: 1%}", "", []),
    ],
)
def test_ground_that_may_lie_near_a_building_is_told_as_not_checked(
    opened: Opened, drains: str, walls: str, told: list[str]
) -> None:
    points = "{A: {elevation: -1, at: [0, 0]}, B: {elevation: -2, at: [50, 0]}}"
    areas = f"  yard:\n    drains: {drains}\n    points: {points}\n"
    session = opened(areas, ("finish", {"A": -1, "B": -2}), more=walls)
    assert [each for each in said(session, "yard", "falls") if "building" in each] == told


@pytest.mark.parametrize("read", [{"A": -1}, {"A": -1, "B": -1}, {"LOOSE": -1}])
def test_too_few_points_for_puddles_are_told(opened: Opened, read: dict[str, float]) -> None:
    session = opened(_court("LOOSE: -1"), ("finish", read))
    assert len(said(session, "court", PONDING)) == 1


def test_points_without_a_place_are_told(opened: Opened) -> None:
    session = opened(_court("LOOSE: -1"), ("finish", {**EDGES, "LOOSE": -1}))
    assert said(session, "court", "places") == ["LOOSE has no place, so slopes, flatness and ponding leave it out"]


def test_a_reading_in_doubt_is_told_as_left_out(opened: Opened) -> None:
    session = opened(YARD, ("finish", {"A": -1, "B": -2}))
    session.record(actions.recheck(session.state, "DOOR", "101"))
    assert said(session, "yard", "points") == [
        "A, B: in doubt or without a setup that counts, so every check leaves them out"
    ]


def test_paving_whose_joints_nobody_gauged_says_so(opened: Opened) -> None:
    session = opened(YARD, ("finish", {"A": -1}))
    assert said(session, "yard", "gauged") == ["no joint was gauged for lippage"]
    session.record(actions.gauge(session.state, "lippage", "yard", "by A", "1/16"))
    assert said(session, "yard", "gauged") == []


def test_what_was_not_checked_is_told_and_leaves_the_exit_alone(
    opened: Opened, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    opened(YARD, ("base", {"A": -4, "B": -5})).close()
    why = "subgrade was not read; read it before base covers it"
    assert main(["checks", str(tmp_path / "job0")]) == 0
    assert f"  layers       NOT CHECKED {why}" in capsys.readouterr().out.splitlines()
    assert main(["checks", str(tmp_path / "job0"), "--json"]) == 0
    found = answered(capsys.readouterr().out)
    assert why in [each["says"] for each in found if each["verdict"] == "not checked"]


def test_an_untied_datum_says_no_height_is_checked(opened: Opened) -> None:
    areas = "  deck:\n    datum: pool\n    points: {D1: {from: COPING, down: 1, riser: 6}}\n"
    session = opened(areas, more="datums: {pool: {mark: COPING, reads: 0}}\n")
    tied = session.record(actions.mark(session.state, "COPING", "94"))
    session.record(actions.reading(session.state, Surface("deck", "D1", "finish"), "100"))
    assert said(session, "deck", "heights") == []
    session.record(session.strike(tied.id, "the wrong stone"))
    assert said(session, "deck", "heights") == ["the datum pool is not tied now"]


# -- squareness


SQUARE_YARD = """\
  yard:
    outline: [[0, 0], [120, 0], [120, 160], [0, 160]]
    points: {A: -1, B: -2}
"""
OF_THE_YARD = "layout:\n  corner: {outline of: yard}\n"
OF_NO_AREA = "layout:\n  string: {sides: [120, 160]}\n"
TAPES = {"C1-C2": "120", "C2-C3": "160", "C3-C4": "120", "C4-C1": "160", "C1-C3": "200", "C2-C4": "200"}


def taped(session: Session, layout: str, tapes: list[str]) -> None:
    """These tapes of a layout check show what they should."""
    for tape in tapes:
        start, end = tape.split("-")
        session.record(actions.tape(session.state, layout, start, end, TAPES[tape]))


def test_an_untaped_layout_check_is_told_until_it_proves_something(
    opened: Opened, capsys: pytest.CaptureFixture[str]
) -> None:
    session = opened(SQUARE_YARD, ("finish", {"A": -1, "B": -2}), more=OF_THE_YARD)
    assert said(session, "yard", "squareness") == ["nobody taped corner"]
    assert "squareness NOT CHECKED: nobody taped corner" in questions(session.state, "yard", "finish")
    taped(session, "corner", list(TAPES)[:5])
    assert said(session, "yard", "squareness") == ["not all of corner is taped"]
    main(["checks", str(session.folder)])
    text = capsys.readouterr().out
    assert "NOT CHECKED not all of corner is taped; tape all sides and both diagonals" in text
    taped(session, "corner", list(TAPES)[5:])
    assert said(session, "yard", "squareness") == []
    assert not [each for each in questions(session.state, "yard", "finish") if each.startswith("squareness")]


def test_a_layout_check_of_no_area_is_told_everywhere(opened: Opened, capsys: pytest.CaptureFixture[str]) -> None:
    session = opened(SQUARE_YARD, ("finish", {"A": -1, "B": -2}), more=OF_NO_AREA)
    asked = "squareness NOT CHECKED: nobody taped string"
    assert asked in questions(session.state, "yard", "finish")
    assert main(["checks", str(session.folder)]) == 0
    says = "string       NOT CHECKED nothing is taped; tape all sides and both diagonals"
    assert f"layout\n  {says}" in capsys.readouterr().out
    day = session.clock().date()
    report = daily_report(session.state, session.all_lines(), day)
    [layout] = report.layouts
    assert [(each.section, each.verdict) for each in layout.checks] == [("string", "not checked")]
    for start, end, length in (
        ("A", "B", "120"),
        ("B", "C", "160"),
        ("C", "D", "120"),
        ("D", "A", "160"),
        ("A", "C", "200"),
        ("B", "D", "200"),
    ):
        session.record(actions.tape(session.state, "string", start, end, length))
    assert asked not in questions(session.state, "yard", "finish")
    main(["checks", str(session.folder)])
    assert "string       OK" in capsys.readouterr().out


def test_before_anything_was_read_nothing_is_said_of_squareness(
    opened: Opened, capsys: pytest.CaptureFixture[str]
) -> None:
    session = opened(SQUARE_YARD, more=OF_NO_AREA)
    main(["checks", str(session.folder)])
    assert capsys.readouterr().out == "Nothing has been read yet that can be checked.\n"


# -- ramps written as points


POINTS = "  bank:\n{use}    points:\n      A: {a}\n      B: {b}\n"


@pytest.mark.parametrize(
    ("use", "a", "b", "told"),
    [
        ("", "-1", "{from: A, fall: 1:12, over: 10 ft}", "to B"),
        ("", "-1", "{from: A, rise: 1:12, over: 10 ft}", "to B"),
        ("", "{elevation: -1, at: [0, 0]}", "{elevation: -11, at: [120, 0]}", "A to B"),
        ("    use: walk\n", "-1", "{from: A, fall: 1:19, over: 10 ft}", "to B"),
        ("    use: walk\n", "-1", "{from: A, fall: 1:20, over: 10 ft}", None),  # exactly what a walk may run
        ("    use: driveway\n", "-1", "{from: A, fall: 1:12, over: 10 ft}", None),
        ("", "-1", "{from: A, fall: 1:3, over: 10 ft}", None),  # a bank
        ("", "-1", "{from: A, fall: 1:12, over: 2 ft}", None),  # too short to be walked as one
        ("    accessible: yes\n", "-1", "{from: A, fall: 1:12, over: 10 ft}", None),  # OUT as a walk
    ],
)
def test_points_as_steep_as_a_ramp_say_they_are_not_held_as_one(
    opened: Opened, use: str, a: str, b: str, told: str | None
) -> None:
    session = opened(POINTS.format(use=use, a=a, b=b), ("finish", {"A": -1, "B": -11}))
    why = [f"{told} falls as a ramp does, and bank is not said to be one"] if told else []
    assert said(session, "bank", "ramp") == why
    across = [each for each in said(session, "bank", "cross fall") if "ramp" in each]
    assert across == (["no points on both edges of the ramp tell its cross slope"] if told else [])


def test_the_cross_slope_of_a_ramp_with_edges_is_said_not_to_be_worked_out(opened: Opened) -> None:
    areas = """\
  bank:
    use: ramp
    surface: {at: A, fall: {x: 1:12}}
    points: {A: {elevation: -1, at: [0, 0]}}
    edges:
      L: {every: 60, along: [[0, 0], [120, 0]]}
      R: {every: 60, along: [[0, 60], [120, 60]]}
"""
    session = opened(areas, ("finish", {"L2": -6, "R1": -1, "R2": -6}))
    assert said(session, "bank", "cross fall") == ["the cross slope of a ramp is not worked out from its edges"]


# -- landings, examples


def test_a_landing_of_which_one_end_was_not_read_is_told(opened: Opened) -> None:
    areas = (
        "  stair:\n    flight: {from: DOOR, down: 3, riser: 6, name: S, tread: 14, landings: {1: {length: 4 ft}}}\n"
    )
    session = opened(areas)
    [steps] = session.plan.areas["stair"].steps
    [landing] = steps.landings
    for point in session.plan.areas["stair"].points:
        if point.name != landing.end:
            height = point.finish.height.metres / inches(1).metres
            session.record(
                actions.reading(session.state, Surface("stair", point.name, "finish"), f"{float(100 - height):g}")
            )
    why = f"landing {landing.start} to {landing.end}: not both ends are known"
    assert why in said(session, "stair", "steps")


def test_nothing_is_held_to_figures_that_are_examples_still(opened: Opened) -> None:
    session = opened(_court("M: {elevation: -2.2, at: [60, 60]}"), ("finish", {**EDGES, "M": -9}), more="# end\n")
    assert any(pond.verdict == "fault" for pond in check_area(session.state, "court").ponds)
    marked = JOB + _court("M: {elevation: -2.2, at: [60, 60]}").replace("}}\n", "}}  # <--\n")
    (session.folder / "job.yaml").write_text(marked, encoding="utf-8")
    session.plan_file.refresh()
    session.record(session.accept_plan())
    results = area_results(check_area(session.state, "court"), session.plan.notation)
    assert [(each.section, each.says, each.verdict) for each in results] == [
        ("all checks", "EXAMPLE FIGURES, job file, line 10; write your own figures there", "not checked")
    ]


# -- every check there is


SILENT = {
    "dig": "subgrade not read: “layers”, above",
    "flatness": "no three in a row; no joint gauged: above",
    "layout": "nobody taped it: above; of chalk lines nothing is recorded",
    "line_falls": "no rule speaks of the line: `checks --line` says why",
    "not_checked": "no code named, or one that sets no limit",
    "ponding": "too few points, or all on the edge: above",
    "slope": "the plan does not say how ground runs, near a building, which way people walk; fewer than three points",
    "steps": "ends or nosings not read, several without points, one alone, treads, landings, cross slope: above",
}
"""The rooms that judge what was built, each with the states in which it is silent, and where that is tested."""
NO_CHECK = {
    "blunders": "asks about a figure keyed, and nothing else",
    "drains": "what the plan says of water and ways",
    "falls": "how the ground falls, held to nothing",
    "held": "a number beside its limit",
    "squaring": "which corners to move; layout holds what was taped",
    "neighbors": "which spots follow one another",
    "ties": "which two tapes find a point; the sheet names points that no two reach",
    "trend": "tells a bias, and holds it to nothing",
    "verdict": "each reading has its own; unread points are listed by review and sign",
    "ways": "which way water runs and people walk",
}


def test_every_check_tells_what_it_could_not_do() -> None:
    rooms = {path.stem for path in Path(checks.__file__).parent.glob("*.py")} - {"__init__"}
    assert rooms == SILENT.keys() | NO_CHECK.keys()


# -- spots that a check leaves out while it is made of others


def _grid_of(columns: int, rows: int, *, more: str = "", fall: str = "{x: 0%, y: 2%}") -> str:
    """A plane of spots 60 in apart, falling along y, and what lies beside them."""
    wide, deep = (columns + 1) * 60, (rows + 1) * 60
    return (
        f"  court:\n    outline: [[0, 0], [{wide}, 0], [{wide}, {deep}], [0, {deep}]]\n"
        f"    surface: {{at: P, fall: {fall}}}\n"
        f"    grid: {{every: 60, inside: [[60, 60], [{columns * 60}, 60], [{columns * 60}, {rows * 60}], "
        f"[60, {rows * 60}]], name: G}}\n"
        f"    points:\n      P: {{elevation: -1, at: [60, 60]}}\n{more}"
    )


def _at_target(session: Session, area: str = "court", leave: tuple[str, ...] = ()) -> Session:
    """Every point of the area but these read at its finish."""
    for point in session.plan.areas[area].points:
        if point.name not in leave:
            height = float(point.finish.metres / inches(1).metres)
            surface = Surface(area, point.name, "finish")
            session.record(actions.reading(session.state, surface, f"{100 - height:.6f}".rstrip("0").rstrip(".")))
    return session


ASIDE = "      A: {at: [70, 85]}\n      B: {at: [100, 140]}\n"
NO_ROW = "no three that were read lie in a row there on one slope"


def test_spots_in_no_row_are_named_while_the_straightedge_lies_on_others(opened: Opened) -> None:
    session = _at_target(opened(_grid_of(4, 3, more=ASIDE)))
    assert said(session, "court", "flatness") == [f"at A, B: {NO_ROW}"]
    results = area_results(check_area(session.state, "court"), session.plan.notation)
    assert [each.verdict for each in results if each.section == "flatness"] == ["passes", "not checked"]


def test_many_spots_in_no_row_are_counted_in_one_line(opened: Opened) -> None:
    more = "".join(f"      A{n}: {{at: [{61 + 7 * n}, {63 + 11 * n}]}}\n" for n in range(6))
    session = _at_target(opened(_grid_of(4, 3, more=more)))
    assert said(session, "court", "flatness") == [f"at A0, A1, A2 and 3 more: {NO_ROW}"]


@pytest.mark.parametrize("fall", ["{x: 0%, y: 2%}", "{x: 1.2%, y: 1.8%}", "{x: 2%, y: 2%}", "{x: 0.4%, y: 2%}"])
@pytest.mark.parametrize("size", [(3, 3), (4, 3), (6, 5)])
def test_a_whole_grid_leaves_nothing_out(opened: Opened, size: tuple[int, int], fall: str) -> None:
    session = _at_target(opened(_grid_of(*size, fall=fall)))
    assert said(session, "court", "flatness") == []


def test_where_more_would_be_named_than_are_left_the_line_is_not_said(opened: Opened) -> None:
    more = "".join(f"      A{n}: {{at: [{61 + 7 * n}, {63 + 11 * n}]}}\n" for n in range(6))
    grid = [f"G{row}-{column}" for row in (2, 3) for column in (1, 2, 3, 4)]
    session = _at_target(opened(_grid_of(4, 3, more=more)), leave=tuple(grid))
    assert said(session, "court", "flatness") == []
