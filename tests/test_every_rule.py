# ruff: noqa: E501 - an area of a job file is kept on one line
"""Every rule that `gradecheck rules` lists is held by some check: made tight it is broken, made loose it is not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from textwrap import indent

import pytest

from gradecheck import actions
from gradecheck.checks.layout import drift
from gradecheck.findings.every import findings
from gradecheck.measure.quantities import inches
from gradecheck.plan.limits import CODES, RULES
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.report.checks import area_results, gauged_result, layout_results
from gradecheck.report.rules import all_rules
from gradecheck.session.session import Session
from gradecheck.state.as_built import check_area, check_gauged, check_layout
from gradecheck.state.state import Surface

HEAD = """\
job: Gorse Rule
units: in
codes: [{codes}]
benchmarks: {{DOOR: {{elevation: 0, at: [0, 0]}}}}
tolerances: {tolerances}
rules: {{{rule}: {value}}}
"""
Broken = set[tuple[str, ...]]


@dataclass(frozen=True)
class Rule:
    """Work or a plan, and the same rule set so that it is kept and so that it is broken."""

    yard: str
    kept: str
    broken: str
    top: str = ""
    tolerances: str = "{finish: 1/8 in}"
    built: dict[str, str] = field(default_factory=dict)
    """What was read at points, as elevations, where the rule is held by what was built."""
    look: Callable[[Session], Broken] | None = None


def at(*heights: str, every: str = "10 ft") -> str:
    """Points A, B, C ... in a row along x, at those elevations; the last beside the first."""
    step = int(every.split()[0])
    named = zip("ABCDEFGHIJKL", heights, strict=False)
    points = (f"{name}: {{elevation: {z}, at: [{step * n} ft, 0]}}" for n, (name, z) in enumerate(named))
    return f"points: {{{', '.join(points)}}}\n"


FALLS = (
    "surface: {at: DOOR, fall: {x: 3%}}\npoints: {A: {at: [12 ft, 0]}, B: {at: [22 ft, 0]}, C: {at: [12 ft, 9 ft]}}\n"
)
WALL = "walls: {house: [[0, -20 ft], [0, 20 ft]]}\n"
DECK = "use: pool deck\ndrains: {away from: house}\n" + FALLS
ROUTE = "accessible: yes\nalong: [A, B]\n" + FALLS
ACROSS = "accessible: yes\nalong: [A, C]\n" + FALLS
FLIGHT = "flight: {from: DOOR, down: 3, total: 20, round to: 1/8, tread: 14, tread fall: 1%, landings: {1: {length: 50, fall: 1%}}}\n"
RAMP = "ramp: {from: DOOR, fall: 1:14, runs: 140, landing: 60, landing fall: 1%}\n"
CHAIN = "use: steps\npoints: {A: {from: DOOR, down: 1, riser: 6}, B: {from: A, fall: 1%, over: 14, down: 1, riser: 6}, C: {from: B, fall: 1%, over: 15, down: 1, riser: 6}}\n"
PAVED = "build-ups: {paved: {layers: [{paver: 2}, {bedding: 1}, {base: 6}], past edge: 7}}\n"
STAGES = "{subgrade: 1, base: 3/8, bedding: 3/8, finish: 1/4}"
LAID = "build-up: paved\npoints: {P: 0}\n"
GUARD = "outline: [[0, 0], [9 ft, 0], [9 ft, 9 ft], [0, 9 ft]]\npoints: {A: {elevation: 0, at: [0, 0]}, B: {elevation: 0, at: [9 ft, 0]}, C: {elevation: 0, at: [9 ft, 9 ft]}}\n"


def gauged(kind: str, size: str) -> Callable[[Session], Broken]:
    """What is said of a step that was gauged."""

    def look(session: Session) -> Broken:
        fact = session.record(actions.gauge(session.state, kind, "yard", "by A", size)).fact  # type: ignore[arg-type]
        told = gauged_result(check_gauged(session.state, fact), session.plan.notation)  # type: ignore[arg-type]
        return set() if told.verdict == "passes" else {(told.section, told.says, told.limit)}

    return look


def taped(session: Session) -> Broken:
    """What is said of a rectangle whose diagonal is an inch too long."""
    for pair, size in (
        ("A-B", "120"),
        ("B-C", "120"),
        ("C-D", "120"),
        ("A-D", "120"),
        ("A-C", "170.7"),
        ("B-D", "168.7"),
    ):
        session.record(actions.tape(session.state, "corner", *pair.split("-"), size))
    layout = session.plan.layout["corner"]
    results = layout_results("corner", check_layout(session.state, layout), session.plan.notation)
    return {(each.says, each.limit) for each in results if each.verdict == "fault"}


def wandering(session: Session) -> Broken:
    """What is said of forty rows that lie a quarter of an inch off."""
    found = drift(inches(6), 40, inches(241), session.plan.limits())
    return set() if found.verdict == "passes" else {("bond", found.limit.name)}


ROWS = at("0", "-1.2", "-2.4", "-3.6", every="4 ft")
USED: dict[str, Rule] = {
    "fall at least": Rule(FALLS, "2.9%", "3.1%"),
    "fall wanted": Rule(FALLS, "2.9%", "3.1%"),
    "near building": Rule(FALLS.replace("x: 3%", "x: -3%"), "1 ft", "15 ft", WALL),
    "fall near building at least": Rule(FALLS.replace("12 ft", "3 ft"), "2.9%", "3.1%", WALL),
    "pool deck fall at least": Rule(DECK, "2.9%", "3.1%", WALL),
    "pool deck fall at most": Rule(DECK, "3.1%", "2.9%", WALL),
    "ponding at most": Rule(
        "points: {A: {elevation: 0, at: [0, 0]}, B: {elevation: 0, at: [9 ft, 0]}, C: {elevation: 0, at: [9 ft, 9 ft]}, "
        "D: {elevation: 0, at: [0, 9 ft]}, M: {elevation: -1, at: [4 ft, 5 ft]}}\n", "2 in", "1/2 in"),
    "accessible cross fall at most": Rule(ACROSS, "3.1%", "2.9%"),
    "accessible run at most": Rule(ROUTE, "3.1%", "2.9%"),
    "ramp at most": Rule(RAMP, "1:13", "1:15"),
    "ramp rise at most": Rule(RAMP, "11 in", "9 in"),
    "ramp landing fall at most": Rule(RAMP, "1.1%", "0.9%"),
    "ramp landing at least": Rule(RAMP, "59 in", "61 in"),
    "ramp width at least": Rule(RAMP.replace("landing: 60", "width: 48, landing: 60"), "47 in", "49 in"),
    "level change at most": Rule(
        "accessible: yes\npoints: {A: {elevation: -1, at: [0, 0]}, B: {from: A, down: 1, riser: 1/2, at: [3 ft, 0]}}\n",
        "5/8 in", "3/8 in"),
    "riser at most": Rule(FLIGHT, "7 in", "6 1/2 in"),
    "riser at least": Rule(FLIGHT, "6 in", "6 7/8 in"),
    "riser varies at most": Rule(FLIGHT, "1/8 in", "1/16 in"),
    "neighbor risers differ at most": Rule(FLIGHT, "1/8 in", "1/16 in"),
    "tread at least": Rule(FLIGHT, "13 in", "15 in"),
    "tread varies at most": Rule(CHAIN, "1 in", "1/2 in"),
    "tread fall at most": Rule(FLIGHT, "1.1%", "0.9%"),
    "landing fall at most": Rule(FLIGHT, "1.1%", "0.9%"),
    "landing at least": Rule(FLIGHT, "49 in", "51 in"),
    "steps width at least": Rule(FLIGHT.replace("tread: 14", "width: 48, tread: 14"), "47 in", "49 in"),
    "flight rise at most": Rule(FLIGHT, "21 in", "10 in"),
    "handrail from risers": Rule(FLIGHT, "5", "2"),
    "guard above drop": Rule("ground: -20\n" + GUARD, "21 in", "19 in"),
    "guard within": Rule(
        GUARD, "12 in", "40 in", tolerances="{finish: 1/8 in}",
        top="", look=None),
    "base at least on a walk": Rule("use: walk\n" + LAID, "5 in", "7 in", PAVED, STAGES),
    "base at least on a driveway": Rule("use: driveway\n" + LAID, "5 in", "7 in", PAVED, STAGES),
    "base at least on a street": Rule("use: street\n" + LAID, "5 in", "7 in", PAVED, STAGES),
    "bedding at least": Rule(LAID, "3/4 in", "1 1/4 in", PAVED, STAGES),
    "bedding at most": Rule(LAID, "1 1/4 in", "3/4 in", PAVED, STAGES),
    "dig past edge at least": Rule(LAID, "6 in", "8 in", PAVED, STAGES),
    "way out of dig deeper than": Rule("ground: 0\n" + LAID, "12 in", "8 in", PAVED, STAGES),
    "protect dig deeper than": Rule("ground: 0\n" + LAID, "12 in", "8 in", PAVED, STAGES),
    "straightedge": Rule(ROWS, "4 ft", "12 ft", built={"A": "0", "B": "-1.2", "C": "-3.1", "D": "-3.6"}),
    "gap at most": Rule(ROWS, "1 in", "1/4 in", built={"A": "0", "B": "-1.2", "C": "-3.1", "D": "-3.6"}),
    "lippage at most": Rule(LAID, "1/4 in", "1/16 in", PAVED, STAGES, look=gauged("lippage", "1/8")),
    "above drain at least": Rule(LAID, "1/16 in", "3/16 in", PAVED, STAGES, look=gauged("above drain", "1/8")),
    "above drain at most": Rule(LAID, "1/4 in", "1/8 in", PAVED, STAGES, look=gauged("above drain", "3/16")),
    "out of square at most": Rule(LAID, "1:20", "1:1200", PAVED + "layout: {corner: {sides: [120, 120]}}\n", STAGES, look=taped),
    "bond wander at most": Rule(LAID, "5 in", "1/2 in", PAVED, STAGES, look=wandering),
    "bond wander over": Rule(LAID, "5 ft", "50 ft", PAVED, STAGES, look=wandering),
    "finish tolerance at most": Rule(at("0"), "1/4 in", "1/16 in"),
    "tolerance at most": Rule(LAID, "2 in", "1/2 in", PAVED, STAGES),
    "top layer at least": Rule(LAID, "1 in", "3 in", PAVED, STAGES),
    "top layer at most": Rule(LAID, "3 in", "1 in", PAVED, STAGES),
    "area at least": Rule(GUARD, "8 ft", "10 ft"),
    "site at most": Rule(GUARD, "20 ft", "8 ft"),
    "from the benchmarks at most": Rule(at("-30"), "40 in", "20 in"),
    "alone in height at most": Rule("points: {A: -1, B: -30}\n", "40 in", "20 in"),
    "drop between points at most": Rule(at("-1", "-30", every="2 ft"), "30 in", "20 in"),
    "pitch at most": Rule("points: {A: {from: DOOR, fall: 10%, over: 3 ft}}\n", "11%", "9%"),
}  # fmt: skip
SECOND = {"guard within": "  bank:\n    points: {K: {elevation: -40, at: [9 ft, -30]}}\n"}
"""Another area beside the yard, thirty inches off its edge."""


def _text(name: str, value: str) -> str:
    rule = USED[name]
    head = HEAD.format(codes=", ".join(CODES), tolerances=rule.tolerances, rule=name, value=value)
    return f"{head}{rule.top}areas:\n  yard:\n{indent(rule.yard, '    ')}{SECOND.get(name, '')}"


def _found(plan: Plan) -> Broken:
    return {(each.what, *each.where, each.limit.source) for each in findings(plan)}


def _broken(name: str, value: str, folder: Path) -> Broken:
    """What is found in the plan and in what was built, with the rule at that value."""
    rule, text = USED[name], _text(name, value)
    plan = read_plan(text, "job.yaml")
    if not rule.built and rule.look is None:
        return _found(plan)
    folder.mkdir()
    (folder / "job.yaml").write_text(text, encoding="utf-8")
    session = Session(folder, by="RK")
    try:
        session.record(actions.set_up(session.state, "DOOR", "100"))
        for point, height in rule.built.items():
            typed = f"{100 - float(height):.4f}".rstrip("0").rstrip(".")
            session.record(actions.reading(session.state, Surface("yard", point, "finish"), typed))
        if rule.look is not None:
            return rule.look(session)
        results = area_results(check_area(session.state, "yard"), session.plan.notation)
        return {(each.section, each.says.partition(" ")[0]) for each in results if each.verdict == "fault"}
    finally:
        session.close()


def test_every_rule_that_is_listed_is_put_to_work_here() -> None:
    assert USED.keys() == RULES.keys() == {row.name for row in all_rules()}


@pytest.mark.parametrize("name", USED)
def test_a_rule_made_tight_is_broken_and_made_loose_is_kept(name: str, tmp_path: Path) -> None:
    kept = _broken(name, USED[name].kept, tmp_path / "kept")
    broken = _broken(name, USED[name].broken, tmp_path / "broken")
    assert broken - kept, "nothing holds anything to this rule"
    assert not kept - broken
