"""Commands on the plan alone: `examine` and `targets`."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from gradecheck.commands.shared import length_json, open_plan, print_json, printable
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.intake import Refusal
from gradecheck.measure.printed import show
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.problems import PlanProblemsError, suggestion
from gradecheck.plan.targets import target, working
from gradecheck.report.findings import finding_json, finding_line
from gradecheck.report.rows import shown


def examine(options: argparse.Namespace) -> int:
    """What is wrong with the plan, or doubtful about it; 1 when anything is, reminders aside."""
    try:
        plan = open_plan(options.job)
    except PlanProblemsError as wrong:
        _tell_problems(wrong, as_json=options.json)
        return 1
    found = findings(plan)
    if options.json:
        areas = {name: {"points": len(area.points), "stages": area.stages} for name, area in plan.areas.items()}
        told = [finding_json(plan, each) for each in found]
        print_json({"job": plan.job, "problems": [], "findings": told, "areas": areas})
    else:
        points = sum(len(area.points) for area in plan.areas.values())
        areas_word = "area" if len(plan.areas) == 1 else "areas"
        print(f"{printable(plan.job)}: {points} points in {len(plan.areas)} {areas_word}, no problems found.")
        for each in found:
            print(printable(finding_line(plan, each)))
    return 1 if any(each.severity is not Severity.REMINDER for each in found) else 0


def _tell_problems(wrong: PlanProblemsError, *, as_json: bool) -> None:
    if as_json:
        print_json(
            {
                "problems": [
                    {"file": each.file, "line": each.line, "column": each.column, "says": each.says}
                    for each in wrong.problems
                ]
            }
        )
        return
    for problem in wrong.problems:
        print(printable(str(problem)))


def targets(options: argparse.Namespace) -> int:
    """Every wanted elevation of the plan, or of one area or stage."""
    plan = open_plan(options.job)
    chosen = list(_chosen(plan, options.area, options.stage))
    if options.json:
        print_json([_target_json(plan, *each, with_working=options.working) for each in chosen])
        return 0
    for area, point, stage in chosen:
        aim = target(area, point, stage)
        wanted = shown(aim.wanted.height, plan.notation)
        allowed = f"+{show(aim.tolerance.high, plan.notation)} -{show(aim.tolerance.low, plan.notation)}"
        print(f"{area.name:<16} {point.name:<8} {stage:<9} {wanted:>12}  {allowed:<12} {point.what}".rstrip())
        if options.working:
            for line in working(area, point, stage, plan.notation):
                print(f"    {printable(line)}")
    return 0


def _chosen(plan: Plan, area_name: str | None, stage: str | None) -> Iterator[tuple[Area, Point, str]]:
    if area_name is not None and area_name not in plan.areas:
        known = ", ".join(plan.areas)
        raise Refusal(f"There is no area “{area_name}”; known are {known}.{suggestion(area_name, plan.areas)}")
    areas = [plan.areas[area_name]] if area_name is not None else list(plan.areas.values())
    stages = {each for area in areas for each in area.stages}
    if stage is not None and stage not in stages:
        raise Refusal(f"There is no stage “{stage}” here; known are {', '.join(sorted(stages))}.")
    for area in areas:
        for point in area.points:
            for each in reversed(area.stages):
                if stage in (None, each):
                    yield area, point, each


def _target_json(plan: Plan, area: Area, point: Point, stage: str, *, with_working: bool) -> dict[str, object]:
    aim = target(area, point, stage)
    row: dict[str, object] = {
        "area": area.name,
        "point": point.name,
        "stage": stage,
        "wanted": length_json(aim.wanted.height, plan.notation),
        "high": length_json(aim.tolerance.high, plan.notation),
        "low": length_json(aim.tolerance.low, plan.notation),
    }
    if with_working:
        row["working"] = working(area, point, stage, plan.notation)
    return row
