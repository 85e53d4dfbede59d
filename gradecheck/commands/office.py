"""Commands on the plan: `examine` as the office has it, `targets` as it stands on site."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict

from gradecheck.commands.on_site import plan_on_site
from gradecheck.commands.shared import chosen, length_json, meant_stage, open_plan, print_json, printable, tell
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Finding, Severity
from gradecheck.measure.printed import count, show
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.targets import target, working
from gradecheck.report.findings import (
    finding_json,
    finding_line,
    listing_json,
    listing_line,
    not_checked,
    not_checked_lines,
)
from gradecheck.report.plan_changes import changed_surfaces
from gradecheck.report.rows import example_figures, shown


def examine(options: argparse.Namespace) -> int:
    """What is wrong with the plan, or doubtful about it; 1 when anything is, reminders aside."""
    try:
        plan = open_plan(options.job)
    except PlanProblemsError as wrong:
        _tell_problems(wrong, options)
        return 1
    found = findings(plan)
    if options.json:
        areas = {name: {"points": len(area.points), "stages": area.stages} for name, area in plan.areas.items()}
        told = [finding_json(plan, each) for each in found]
        missing = [{"area": area.name, **asdict(each)} for area, each in not_checked(plan)]
        print_json(
            options,
            {
                "job": plan.job,
                "problems": [],
                "findings": told,
                "not checked": missing,
                "areas": areas,
                "lists": [listing_json(plan, each) for each in plan.listings],
            },
        )
    else:
        points = sum(len(area.points) for area in plan.areas.values())
        size = f"{count(points, 'point')} in {count(len(plan.areas), 'area')}"
        print(f"{printable(plan.job)}: {size}, {_how_many(found)}.")
        for listing in plan.listings:
            print(printable(listing_line(plan, listing)))
        for each in found:
            print(printable(finding_line(plan, each)))
        for line in not_checked_lines(plan):
            print(printable(line))
    return 1 if any(each.severity is not Severity.REMINDER for each in found) else 0


def _how_many(found: Sequence[Finding]) -> str:
    """``15 faults, 8 advices``; a reminder is no problem."""
    counted: Counter[Severity] = Counter(each.severity for each in found if each.severity is not Severity.REMINDER)
    return ", ".join(count(counted[each], each) for each in Severity if counted[each]) or "no issues found"


def _tell_problems(wrong: PlanProblemsError, options: argparse.Namespace) -> None:
    if options.json:
        print_json(
            options,
            {
                "problems": [
                    {"file": each.file, "line": each.line, "column": each.column, "says": each.says}
                    for each in wrong.problems
                ]
            },
        )
        return
    for problem in wrong.problems:
        print(printable(str(problem)))


def targets(options: argparse.Namespace) -> int:
    """Every wanted elevation, or those of one area or stage; what was changed on site says so."""
    on_site = plan_on_site(options.job)
    plan, changed = on_site.plan, changed_surfaces(on_site.changes, on_site.plan)
    surfaces = list(_surfaces(plan, options.area, options.stage))
    if on_site.remark:
        tell(on_site.remark)
    for name in dict.fromkeys(area.name for area, _, _ in surfaces):
        if examples := example_figures(plan.areas[name].examples):
            tell(f"{name}: {examples}: not to be built by.")
    if options.json:
        rows = [_target_json(plan, *each, with_working=options.working) for each in surfaces]
        for row in rows:
            row["on site"] = changed.get((row["area"], row["point"], row["stage"]), "")
        print_json(options, rows)
        return 0
    for area, point, stage in surfaces:
        aim = target(area, point, stage)
        wanted = shown(aim.wanted.height, plan.notation)
        allowed = f"+{show(aim.tolerance.high, plan.notation)} -{show(aim.tolerance.low, plan.notation)}"
        how = changed.get((area.name, point.name, stage))
        what = f"{point.what} ({how} on site)".lstrip() if how else point.what
        line = f"{area.name:<16} {point.name:<8} {stage:<9} {wanted:>12}  {allowed:<12} {what}"
        print(printable(line).rstrip())
        if options.working:
            for line in working(area, point, stage, plan.notation):
                print(f"    {printable(line)}")
    return 0


def _surfaces(plan: Plan, area_name: str | None, stage: str | None) -> Iterator[tuple[Area, Point, str]]:
    areas = chosen(plan, area_name, stage)
    stage = stage if stage is None else meant_stage(areas, stage)
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
        "example": bool(area.examples),
    }
    if with_working:
        row["working"] = working(area, point, stage, plan.notation)
    return row
