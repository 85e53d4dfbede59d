"""Measured without a screen: how the work grows with the plan and with the day, and what exact fractions cost."""

from __future__ import annotations

import contextlib
import gc
import io
import json
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from math import log
from pathlib import Path
from statistics import median

from gradecheck.cli import main
from gradecheck.files.exports import report_of
from gradecheck.journal.store import LogLine
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.load import load_plan
from gradecheck.plan.model import SUBGRADE, Plan
from gradecheck.plan.point_list import write_point_list
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import Target, targets
from gradecheck.report.daily_report import DailyReport
from gradecheck.report.day_export import area_csv, day_json
from gradecheck.report.grade_plan import listed
from gradecheck.report.log import log_row
from gradecheck.session.session import Session
from gradecheck.state.state import State
from tests.bench.made import FEWEST, LAYERED, Job, listed_border, paved_court, worked_border, write_journal
from tests.bench.measure import Measure, paired

LISTED = 20_000
"""Points in one list; more of them stand in several."""


def measure(folder: Path, points: tuple[int, int], sides: tuple[int, int], rounds: int) -> list[Measure]:
    """How everything grows from the few to the many, and exact targets beside the same with floats."""
    jobs = [listed_border(folder / f"{count} points", count, -(-count // LISTED), LAYERED) for count in points]
    plans = [load_plan(job.folder / "job.yaml").plan for job in jobs]
    ways: dict[str, Sequence[Callable[[], object]]] = {
        "a plan with lists loaded": [partial(_load, job) for job in jobs],
        "targets resolved": [partial(_exact, plan) for plan in plans],
        "targets listed": [partial(_list, job) for job in jobs],
        "plan --csv": [partial(_points_csv, plan) for plan in plans],
    }
    with contextlib.ExitStack() as stack:
        worked = [worked_border(folder / f"{count} lines", 100, count) for count in points]
        sessions = [stack.enter_context(contextlib.closing(Session(job.folder))) for job in worked]
        lines = [session.all_lines() for session in sessions]
        ways["log rows"] = [partial(_log, session.state, read) for session, read in zip(sessions, lines, strict=True)]
        grown = [_grown(what, points, pair, rounds) for what, pair in ways.items()]
    return [_against_floats(plans[1], points[1], rounds), *grown, *_days(folder, sides, rounds)]


def _days(folder: Path, sides: tuple[int, int], rounds: int) -> list[Measure]:
    """The daily report of so many readings in one area: worked out, and written."""
    readings = sides[0] ** 2, sides[1] ** 2
    with contextlib.ExitStack() as stack:
        sessions = [stack.enter_context(contextlib.closing(Session(_day(folder, side)))) for side in sides]
        reports: list[DailyReport] = []
        worked = _grown(
            "the daily report worked out", readings, [partial(_sheet, session, reports) for session in sessions], 1
        )
    few, many = reports[-2:]
    return [
        worked,
        _grown("daily report .csv", readings, [partial(_day_csv, few), partial(_day_csv, many)], rounds),
        _grown("daily report .json", readings, [partial(_day_json, few), partial(_day_json, many)], rounds),
    ]


def _day(folder: Path, side: int) -> Path:
    """A job with every point of a court read on one day."""
    job = paved_court(folder / f"{side} a side", side)
    entries = side * side + FEWEST
    write_journal(job, entries, per_day=100 * entries)
    return job.folder


def _grown(what: str, sizes: tuple[int, int], ways: Sequence[Callable[[], object]], rounds: int) -> Measure:
    """The exponent: 1 where ten times as much takes ten times as long."""
    few, many = ways
    few()  # what is imported or worked out once only
    pairs = [(seconds(few), seconds(many)) for _ in range(rounds)]
    exponents = [log(much / little) / log(sizes[1] / sizes[0]) for little, much in pairs]
    note = f"{median(much for _, much in pairs):.3g} s for the many"
    name = f"growth exponent, {sizes[0]:,} to {sizes[1]:,}: {what}"
    return Measure(11, name, median(exponents), None, 1.1, note)


def seconds(work: Callable[[], object]) -> float:
    """The processor's time for it, so that others on the machine do not count."""
    gc.collect()  # what was done before is not counted here
    gc.disable()  # as for every command
    began = time.process_time()
    work()
    took = time.process_time() - began
    gc.enable()
    return took


# -- what is done


def _load(job: Job) -> None:
    text = (job.folder / "job.yaml").read_text(encoding="utf-8")
    plan = read_plan(text, "job.yaml", lambda name: (job.folder / name).read_text(encoding="utf-8"))
    if len(plan.area_of) != len(job.points):
        raise AssertionError("a point is missing")


def _exact(plan: Plan) -> list[Target]:
    return [aim for area in plan.areas.values() for aim in targets(area, SUBGRADE)]


def _list(job: Job) -> None:
    with contextlib.redirect_stdout(io.StringIO()):
        main(["targets", str(job.folder), "--stage", "finish"])


def _points_csv(plan: Plan) -> str:
    return write_point_list(listed(plan, list(plan.areas.values())), plan.notation.units)


def _log(state: State, lines: Sequence[LogLine]) -> list[object]:
    return [log_row(state, line) for line in lines]


def _sheet(session: Session, reports: list[DailyReport]) -> None:
    reports.append(report_of(session))


def _day_csv(report: DailyReport) -> list[str]:
    return [area_csv(report, area) for area in report.areas]


def _day_json(report: DailyReport) -> str:
    return json.dumps(day_json(report), indent=1)


# -- the same with floats


@dataclass(frozen=True, slots=True)
class FloatTarget:
    """What a target is, with metres that may be wrong on the edge."""

    area: str
    point: str
    stage: str
    wanted: float
    tolerance: Tolerance


def _against_floats(plan: Plan, count: int, rounds: int) -> Measure:
    finishes = {area: [float(point.finish.metres) for point in given.points] for area, given in plan.areas.items()}
    pairs = [(seconds(lambda: _exact(plan)), seconds(lambda: _floats(plan, finishes))) for _ in range(rounds)]
    note = f"{1000 * median(one for one, _ in pairs):.0f} ms / {1000 * median(other for _, other in pairs):.0f} ms"
    ratio = paired([one for one, _ in pairs], [other for _, other in pairs])
    return Measure(12, f"{count:,} targets resolved, exact / with floats", ratio, None, 3, note)


def _floats(plan: Plan, finishes: dict[str, list[float]]) -> list[FloatTarget]:
    found = []
    for area in plan.areas.values():
        depth = float(area.build_up.depth(SUBGRADE).metres) if area.build_up else 0.0
        tolerance = area.tolerances[SUBGRADE]
        for point, finish in zip(area.points, finishes[area.name], strict=True):
            found.append(FloatTarget(area.name, point.name, SUBGRADE, finish - depth, tolerance))
    return found
