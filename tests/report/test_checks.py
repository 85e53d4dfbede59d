"""What the checks tell of steps: every riser, the limits they were held to, and who sets those."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.checks.flatness import Station, judge_line
from gradecheck.checks.layout import Corners, check_outline
from gradecheck.measure.judged import judged_length
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Elevation, feet, inches, millimetres
from gradecheck.plan.limits import Limits
from gradecheck.report.checks import (
    CheckResult,
    area_results,
    layout_results,
    line_results,
    over_dig_result,
    result_line,
)
from gradecheck.report.daily_report import daily_report
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area, over_dug
from gradecheck.state.state import Surface

JOB = """\
job: Plover Rise
codes: [us-residential]
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/4}
areas:
  stair:
    flight: {from: DOOR, down: 3, riser: 6 in, tread: 14 in}
"""
MORNING = datetime(2026, 5, 12, 7, 30, tzinfo=UTC)


@pytest.fixture
def stair(tmp_path: Path) -> Iterator[Callable[..., Session]]:
    """Opens a job whose flight was built at these heights, under these rules of the plan."""
    opened: list[Session] = []

    def built(*heights: float, rules: str = "") -> Session:
        (tmp_path / "job.yaml").write_text(JOB + rules, encoding="utf-8")
        session = Session(tmp_path, by="RK", clock=lambda: MORNING)
        opened.append(session)
        session.record(actions.set_up(session.state, "DOOR", "50"))
        for number, height in enumerate(heights, 1):
            session.record(
                actions.reading(session.state, Surface("stair", f"S{number}", "finish"), f"{50 - height:g}")
            )
        return session

    yield built
    for session in opened:
        session.close()


def _steps(session: Session) -> list[CheckResult]:
    results = area_results(check_area(session.state, "stair"), session.plan.notation)
    return [each for each in results if each.verdict != "not checked"]


LIMITS = {
    ("7 3/4 in", "IRC 2018 R311.7.5.1, 2024 R318.7.5.1"),
    ("3/16 in", "BOCA 1981, as cited in a trade answer"),
    ("3/8 in", "IRC 2018 R311.7.5.1, 2024 R318.7.5.1"),
}


def test_risers_that_pass_are_told_with_what_they_were_held_to(stair: Callable[..., Session]) -> None:
    told = _steps(stair(-6, -12.125, -18.125))
    assert [(each.says, each.verdict) for each in told] == [
        ("risers 6, 6 1/8, 6", "passes"),
        ("neighbor risers 1/8 in, DOOR to S2", "passes"),
        ("largest less smallest riser 1/8 in, DOOR to S1 against S1 to S2", "passes"),
    ]
    assert {(each.limit, each.source) for each in told} == LIMITS
    assert result_line(told[0]) == "OK    risers 6, 6 1/8, 6"


def test_a_limit_that_the_plan_sets_is_told_as_the_plans(stair: Callable[..., Session]) -> None:
    told = _steps(stair(-6, -12, rules="rules: {riser at most: 7 in, riser at least: 5 in}\n"))
    assert (told[0].limit, told[0].source) == ("5 in to 7 in", "the plan")


def test_risers_of_which_one_is_out_are_not_called_good(stair: Callable[..., Session]) -> None:
    told = _steps(stair(-6, -14))
    assert [(each.says, each.verdict) for each in told] == [
        ("riser 8 in, S1 to S2", "fault"),
        ("largest less smallest riser 2 in, DOOR to S1 against S1 to S2", "fault"),
        ("neighbor risers 2 in, DOOR to S2", "advice"),
        ("risers 6, 8", "reminder"),
    ]


@pytest.mark.parametrize("heights", [(-6, -12.125, -18.125), (-6, -14)], ids=["all pass", "one is out"])
def test_the_daily_report_lists_what_risers_were_held_to(
    stair: Callable[..., Session], heights: tuple[float, ...]
) -> None:
    session = stair(*heights)
    told = daily_report(session.state, session.lines(limit=10**9), MORNING.date())
    assert {(each.limit, each.source) for each in told.limits if each.what == "steps"} >= LIMITS


def test_a_flight_of_which_nothing_was_read_names_no_limit(stair: Callable[..., Session]) -> None:
    assert _steps(stair()) == []


@pytest.mark.parametrize(
    ("length", "limit", "said"),
    [
        ("479 2/3", "500", "479.7 mm"),
        ("3 2/3", "4", "3.7 mm"),
        ("3", "4", "3 mm"),
        ("10 1/50", "10", "10.02 mm"),
        ("9 99/100", "10", "10 mm"),
    ],
)
def test_a_length_is_told_on_its_own_side_of_a_limit(length: str, limit: str, said: str) -> None:
    exact, most = millimetres(sum(map(Fraction, length.split()), Fraction(0))), millimetres(Fraction(limit))
    told = judged_length(exact, most, Notation.usual(Units.MM), passes=exact <= most, worked_out=True)
    assert told.found == said


def test_the_mean_over_dig_of_three_points_is_to_a_tenth_of_a_millimetre(tmp_path: Path) -> None:
    job = JOB.replace("units: in", "units: mm").replace(
        "  stair:", "  dig:\n    points: {A: 0, B: 0, C: 0}\n  stair:"
    )
    job = job.replace("areas:", "build-ups: {dig: [{slab: 100 mm}]}\nareas:").replace(
        "  dig:\n", "  dig:\n    build-up: dig\n"
    )
    job = job.replace("tolerances: {finish: 1/4}", "tolerances: {subgrade: 10, finish: 5}")
    (tmp_path / "job.yaml").write_text(job, encoding="utf-8")
    session = Session(tmp_path, by="RK", clock=lambda: MORNING)
    session.record(actions.set_up(session.state, "DOOR", "1000"))
    for name, rod in (("A", "1105"), ("B", "1103"), ("C", "1103")):
        session.record(actions.reading(session.state, Surface("dig", name, "subgrade"), rod))
    found = over_dug(session.state, "dig")
    assert found is not None
    says = over_dig_result(found, session.plan.notation).says
    assert says.partition(";")[0] == "3 of 3 below target, mean 3.7 mm, worst 5 mm at A"
    session.close()


def test_only_a_line_read_every_foot_has_f_numbers() -> None:
    """The toy line of the published sources: 29.9 and 121."""
    heights = [
        inches(Fraction(each))
        for each in ["0", ".02", "-.01", ".03", ".05", "0", "-.02", ".01", ".04", ".02", "-.03", "0", ".02"]
    ]
    for apart, says in (
        (1, ["F-numbers against the plan: FF 30, FL 121; read every foot, no rule asks for one"]),
        (2, []),
    ):
        stations = tuple(Station(f"S{n}", feet(n * apart), Elevation(z.metres)) for n, z in enumerate(heights))
        flat = judge_line(stations, Limits())
        assert [told.says for told in line_results((), flat, Notation.usual(Units.IN))[1:]] == says


def test_a_corner_is_out_by_length_over_length_in_tape_fractions() -> None:
    # A right angle is wanted at A; (4301/16)^2 - 240^2 - 120^2 = 260.16 over 2 * 240 * 120 = 57,600 is 0.0045167, the
    # sine of what it is too open by: 1.084 in over 20 ft, 0.542 in over 10 ft. Allowed 1:1200 of 20 ft: 0.2 in.
    wanted: Corners = (
        ("A", (feet(0), feet(0))),
        ("B", (feet(20), feet(0))),
        ("C", (feet(20), feet(10))),
        ("D", (feet(0), feet(10))),
    )
    tapes = {
        frozenset("AB"): inches(240),
        frozenset("AD"): inches(120),
        frozenset("BD"): inches(Fraction(4301, 16)),
    }
    notation = Notation.usual(Units.IN)
    limits = Limits().with_rules({"out of square at most": Fraction(1, 1200)})
    results = layout_results("pad", check_outline(wanted, tapes, limits, inches(Fraction(1, 16))), notation)
    assert results[0].says == "corner A is too open: out of square 1 1/16 in over 20 ft to B, 9/16 in over 10 ft to D"
    assert results[0].limit == "13/64 in over 20 ft"
