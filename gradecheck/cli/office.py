"""Verbs on the plan: `examine` as the office has it, `targets` as it stands on site, `rules` that hold for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from gradecheck.actions import Refusal
from gradecheck.actions.entered import stage_named
from gradecheck.catalogue import _, count, plural
from gradecheck.checks.ties import Ties, crossing
from gradecheck.cli.on_site import plan_on_site
from gradecheck.cli.options import (
    Call,
    OnJob,
    Options,
    Reply,
    area_option,
    as_path,
    csv_option,
    flag,
    named,
    option,
    stage_option,
    verb,
)
from gradecheck.cli.rod_wanted import rods_wanted
from gradecheck.cli.shared import chosen, length_json, length_text, meant_stage, open_plan, open_session, tell
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Finding, Severity
from gradecheck.measure.printed import show
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.targets import target, working
from gradecheck.report.decides import DECIDES
from gradecheck.report.findings import (
    finding_json,
    finding_line,
    listing_json,
    listing_line,
    not_checked,
    not_checked_lines,
)
from gradecheck.report.layout import shown_with_unit
from gradecheck.report.plan_changes import changed_surfaces
from gradecheck.report.rows import example_figures, shown
from gradecheck.report.rules import all_rules, rule_lines, rules_of
from gradecheck.report.setting_out import tie_row, ties
from gradecheck.state.strings import NoSpotError, on_string


@dataclass(frozen=True, kw_only=True, slots=True)
class ExamineOptions(OnJob):
    csv: bool = csv_option()


@verb(ExamineOptions, by_code=True, apart=(("csv", "json"),))
def examine(options: ExamineOptions) -> Reply:
    """What is wrong with the plan, or doubtful about it; 1 when anything is, reminders aside."""
    try:
        plan = open_plan(options.job)
    except PlanProblemsError as wrong:
        problems = [
            {"file": each.file, "line": each.line, "column": each.column, "says": each.says}
            for each in wrong.problems
        ]
        return Reply({"problems": problems}, map(str, wrong.problems), code=1, table=problems)
    found = findings(plan)
    table = [finding_json(plan, each) for each in found]
    answer = {
        "job": plan.job,
        "problems": [],
        "findings": table,
        "not checked": [{"area": area.name, **asdict(each)} for area, each in not_checked(plan)],
        "areas": {name: {"points": len(area.points), "stages": area.stages} for name, area in plan.areas.items()},
        "lists": [listing_json(plan, each) for each in plan.listings],
    }
    code = 1 if any(each.severity is not Severity.REMINDER for each in found) else 0
    return Reply(answer, _examined(plan, found), code=code, table=table)


def _how_many(severity: Severity, number: int) -> str:
    if severity is Severity.FAULT:
        return plural(number, "{n} fault", "{n} faults")
    return plural(number, "{n} advice", "{n} advices")


def _examined(plan: Plan, found: Sequence[Finding]) -> list[str]:
    """``Job: 40 points in 2 areas, 15 faults, 8 advices.``, then each; a reminder is no problem."""
    counted: Counter[Severity] = Counter(each.severity for each in found if each.severity is not Severity.REMINDER)
    many = ", ".join(_how_many(each, counted[each]) for each in Severity if counted[each]) or _("no issues found")
    points = sum(len(area.points) for area in plan.areas.values())
    return [
        _(
            "{job}: {points} in {areas}, {many}.",
            job=plan.job,
            points=count(points, "point"),
            areas=count(len(plan.areas), "area"),
            many=many,
        ),
        *(listing_line(plan, each) for each in plan.listings),
        *(finding_line(plan, each) for each in found),
        *not_checked_lines(plan),
    ]


@dataclass(frozen=True, kw_only=True, slots=True)
class TargetsOptions(OnJob):
    area: str | None = area_option()
    stage: str | None = stage_option()
    working: bool = flag("--working", _("show each sum"))
    ties: bool = flag("--ties", _("the two tapes that find each point, in place of its elevations"))
    on_string: str | None = option(
        "--on-string", metavar="SPOT", help=_("a spot between two points, as “P4 to P8 at 3 ft” or half way")
    )
    rod: Sequence[str] = option(
        "--rod",
        default=(),
        metavar="NAME",
        action="extend",
        nargs="+",
        help=_("what the rod should read at these points, marks or spots on a string, from the current setup"),
    )
    csv: bool = csv_option()
    hi: str | None = option("--hi", metavar="LENGTH", help=_("of --rod, for a laser of this height instead"))


@verb(
    TargetsOptions,
    apart=(
        ("ties", "stage"),
        ("ties", "working"),
        ("on_string", "area"),
        ("on_string", "ties"),
        ("on_string", "working"),
        ("csv", "json"),
        *(("rod", other) for other in ("area", "ties", "working", "on_string")),
    ),
    belongs=(("hi", "rod"),),
)
def targets(options: TargetsOptions) -> Reply:
    """Every wanted elevation, or those of one area or stage; what was changed on site says so."""
    if options.rod:
        with open_session(Call("targets"), options) as session:
            return rods_wanted(session, options.rod, options.stage, options.hi)
    on_site = plan_on_site(options.job)
    if options.ties:
        if on_site.untaped:
            tell(on_site.untaped)
        return _ties(on_site.plan, chosen(on_site.plan, options.area))
    if options.on_string is not None:
        return _on_string(on_site.plan, options.on_string, options.stage)
    plan, changed = on_site.plan, changed_surfaces(on_site.changes, on_site.plan)
    surfaces = list(_surfaces(plan, options.area, options.stage))
    if on_site.remark:
        tell(on_site.remark)
    for name in dict.fromkeys(area.name for area, _point, _stage in surfaces):
        if examples := example_figures(plan.areas[name].examples):
            tell(_("{name}: {examples}: don't build from it.", name=name, examples=examples))

    def rows() -> list[dict[str, object]]:
        found = (_target_json(plan, *each, with_working=options.working) for each in surfaces)
        return [{**row, "on site": changed.get((row["area"], row["point"], row["stage"]), "")} for row in found]

    return Reply(rows, _target_lines(plan, surfaces, changed, with_working=options.working))


def _on_string(plan: Plan, typed: str, stage: str | None) -> Reply:
    """What the plan wants at a spot on a string, straight between the targets of its ends. Raises Refusal."""
    try:
        spot = on_string(plan, typed, plan.notation.units)
    except NoSpotError as wrong:
        raise Refusal(str(wrong)) from wrong
    if spot is None:
        raise Refusal(_("“{typed}” is no spot on a string; write it like P4 to P8 half way.", typed=typed))
    stages = reversed(spot.area.stages) if stage is None else (stage_named(spot.area, stage),)
    targets = []
    for each in stages:
        first, last = (target(spot.area, end, each) for end in (spot.start, spot.end))
        targets.append((each, spot.height(first.wanted, last.wanted), first.tolerance))
    lines = (
        f"{spot.area.name:<16} {spot.name:<8} {each:<9} {shown(wanted.height, plan.notation):>12}  "
        f"+{show(allowed.high, plan.notation)} -{show(allowed.low, plan.notation)}"
        for each, wanted, allowed in targets
    )
    return Reply(
        lambda: [
            {
                "area": spot.area.name,
                "point": spot.name,
                "stage": each,
                "wanted": length_json(wanted.height, plan.notation),
                "high": length_json(allowed.high, plan.notation),
                "low": length_json(allowed.low, plan.notation),
                "example": bool(spot.area.examples),
            }
            for each, wanted, allowed in targets
        ],
        lines,
    )


def _ties(plan: Plan, areas: Sequence[Area]) -> Reply:
    """The tapes that find each point, from benchmarks and corners."""
    tied = [(area, *each) for area in areas for each in ties(plan, area)]
    lines = (
        f"{area.name:<16} {point.name:<8} {tie_row(point, found, plan.notation).line}" for area, point, found in tied
    )
    return Reply(lambda: [_ties_json(plan, area, point, found) for area, point, found in tied], lines)


def _ties_json(plan: Plan, area: Area, point: Point, found: Ties | None) -> dict[str, object]:
    both = found.both if found is not None else ()
    tapes = [
        {"from": tie.mark, "length": length_text(tie.length, shown_with_unit(tie.length, plan.notation))}
        for tie in both
    ]
    degrees = round(crossing(found), 1) if found is not None else None
    why = tie_row(point, found, plan.notation).why
    return {"area": area.name, "point": point.name, "ties": tapes, "crossing": degrees, "why": why}


def _target_lines(
    plan: Plan,
    surfaces: Iterable[tuple[Area, Point, str]],
    changed: Mapping[tuple[object, ...], str],
    *,
    with_working: bool,
) -> Iterator[str]:
    for area, point, stage in surfaces:
        aim = target(area, point, stage)
        wanted = shown(aim.wanted.height, plan.notation)
        allowed = f"+{show(aim.tolerance.high, plan.notation)} -{show(aim.tolerance.low, plan.notation)}"
        how = changed.get((area.name, point.name, stage))
        what = _("{what} ({how} on site)", what=point.what, how=how).lstrip() if how else point.what
        yield f"{area.name:<16} {point.name:<8} {stage:<9} {wanted:>12}  {allowed:<12} {what}".rstrip()
        if with_working:
            yield from (f"    {line}" for line in working(area, point, stage, plan.notation))


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


@dataclass(frozen=True, kw_only=True, slots=True)
class RulesOptions(Options):
    job: Path | None = named("[JOB]", None, type=as_path)
    csv: bool = csv_option()


@verb(RulesOptions, apart=(("csv", "json"),))
def rules(options: RulesOptions) -> Reply:
    """What every source limits or, with a job, what that job and its areas are held to."""
    plan = plan_on_site(options.job).plan if options.job is not None else None
    rows = all_rules() if plan is None else rules_of(plan)
    codes = None if plan is None else plan.codes
    table = [asdict(row) for row in rows]
    return Reply({"codes": codes, "rules": table}, [*rule_lines(rows, codes), "", DECIDES], table=table)
