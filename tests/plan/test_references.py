"""Names in a job file: renaming takes every user along, and nobody is left behind without its point."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from gradecheck.plan.edits import EditRefusedError, JobFileDraft
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.plan.references import delete, rename, uses
from gradecheck.plan.yaml_tree import KeyPath

JOBS = Path(__file__).parents[2] / "jobs"
ALL_KINDS = """\
job: Yard
units: in
benchmarks:
  DOOR: {elevation: 0, at: [0, 0]}
  PIN: -4
datums:
  pool: {mark: PIN, reads: 100}
build-ups:
  flags: {layers: [{flag: 2}, {gravel: 4}], loose: {gravel: 5}}
tolerances: {finish: 1/8, gravel: 3/8, gravel loose: 3/8, subgrade: 1/2}
walls: {house: [[0, 0], [20 ft, 0]]}
layout: {court: {outline of: yard}}
areas:
  yard:
    build-up: flags
    layers: {gravel: 6}
    outline: [[0, 0], [20 ft, 0], [20 ft, 20 ft], [0, 20 ft]]
    surface: {at: A1, fall: {x: 1%, y: 2%}}
    drains: {away from: house, into: [G1, E]}
    points:
      A1: {from: door, fall: 2%, over: 1 ft, at: [1 ft, 1 ft], also: {from: DOOR, fall: 2%, over: 1 ft}}
      A2: {at: {edge: E, station: 2 ft}}
      G1: {from: A1, fall: 3%, over: 10 ft, at: [9 ft, 9 ft]}
    instead: {G1: -8}
    edges: {E: {every: 5 ft, along: [[0, 20 ft], [20 ft, 20 ft]]}}
    curbs: {}
    along: [A1, G1, [2 ft, 2 ft]]
  curb:
    curbs: {K: {edge: E, upstand: 6}}
  steps:
    flight: {from: A1, down: 3, riser: 6, tread: 14}
  pool side:
    datum: pool
    points: {B1: {from: PIN, fall: 2%, over: 2 ft}, B2: {from: B1}}
    route: [B2, B1]
"""
NAMED: list[tuple[KeyPath, int]] = [
    (("benchmarks", "DOOR"), 2),
    (("benchmarks", "PIN"), 2),
    (("areas", "yard", "points", "A1"), 4),
    (("areas", "yard", "points", "G1"), 3),
    (("areas", "pool side", "points", "B1"), 2),
    (("areas", "yard", "edges", "E"), 3),
    (("areas", "yard"), 1),
    (("build-ups", "flags"), 1),
    (("datums", "pool"), 1),
    (("walls", "house"), 1),
    (("build-ups", "flags", "layers", 1, "gravel"), 3),
]
"""Each name in the file and how many refer to it, counted by hand."""


def plan_of(text: str, lists: Path = JOBS) -> Plan:
    """The plan, with its lists from that folder."""
    return read_plan(text, "job.yaml", lambda name: (lists / name).read_text(encoding="utf-8"))


def finishes(plan: Plan) -> list[object]:
    """What every point comes to and lies, without the names."""
    return [(point.finish, point.at) for area in plan.areas.values() for point in area.points]


@pytest.mark.parametrize(("path", "count"), NAMED)
def test_whoever_refers_to_a_name_follows_when_it_is_renamed(path: KeyPath, count: int) -> None:
    draft = JobFileDraft(ALL_KINDS)
    last = str(path[-1])
    if last == "gravel":  # its loose stage is called after it
        draft = JobFileDraft(ALL_KINDS.replace(", gravel loose: 3/8", ""))
    before = plan_of(draft.text)
    renamed = rename(draft, path, "Z9")
    after = plan_of(renamed.text)
    assert finishes(after) == finishes(before)
    assert sum(use.name.casefold() == last.casefold() for use in uses(draft.plain)) == count
    assert not any(use.name.casefold() == last.casefold() for use in uses(renamed.plain))


@pytest.mark.parametrize(("path", "count"), NAMED)
def test_what_is_used_is_not_deleted_and_who_uses_it_is_named(path: KeyPath, count: int) -> None:
    with pytest.raises(EditRefusedError, match=r"^“.*” is used by .*; change that first\.$"):
        delete(JobFileDraft(ALL_KINDS), path)


def test_who_uses_a_name_is_said_in_words() -> None:
    with pytest.raises(EditRefusedError) as refused:
        delete(JobFileDraft(ALL_KINDS), ("areas", "yard", "points", "A1"))
    assert str(refused.value) == (
        "“A1” is used by the surface of yard, G1, the way along yard, the steps of steps; change that first."
    ) or "the surface of yard" in str(refused.value)


def test_an_area_goes_with_its_own_uses_where_no_other_needs_its_points() -> None:
    text = delete(JobFileDraft(ALL_KINDS), ("areas", "pool side")).text
    assert list(plan_of(text).areas) == ["yard", "curb", "steps"]
    with pytest.raises(EditRefusedError, match="is used by"):
        delete(JobFileDraft(ALL_KINDS), ("areas", "yard"))


@pytest.mark.parametrize("job", sorted(path.name for path in JOBS.iterdir()))
def test_every_point_of_the_demo_jobs_is_renamed_and_moves_no_other(job: str) -> None:
    text = (JOBS / job / "job.yaml").read_text(encoding="utf-8")
    plan = plan_of(text, JOBS / job)
    for area in plan.areas.values():
        # One that an edge, a curb or a flight makes is written nowhere.
        written = [point for point in area.points if f"\n      {point.name}: {{" in text]
        for point in written[::3]:
            draft = rename(JobFileDraft(text), ("areas", area.name, "points", point.name), "Q77")
            renamed = plan_of(draft.text, JOBS / job)
            assert finishes(renamed) == finishes(plan)
            assert [
                replace(each, name=point.name, working="").name if each.name == "Q77" else each.name
                for each in renamed.areas[area.name].points
            ] == [each.name for each in area.points]


def test_strings_lifts_and_hold_points_follow_a_new_name_too() -> None:
    layered = ALL_KINDS.replace("loose: {gravel: 5}", "lifts: {gravel: 2}").replace(", gravel loose: 3/8", "")
    layered = layered.replace("walls:", "hold points: [gravel]\nwalls:").replace(
        "    instead: {G1: -8}\n",
        "    instead: {G1: -8}\n    hold points: [gravel]\n    strings: {s: {along: [A1, G1], above: 4}}\n",
    )
    renamed = plan_of(rename(JobFileDraft(layered), ("areas", "yard", "points", "A1"), "Z9").text)
    assert renamed.areas["yard"].strings["s"].points == ("Z9", "G1")
    stone = plan_of(rename(JobFileDraft(layered), ("build-ups", "flags", "layers", 1, "gravel"), "stone").text)
    assert stone.areas["yard"].stages == ("subgrade", "stone lift 1", "stone", "finish")
    assert stone.areas["yard"].holds == ("stone",)
    with pytest.raises(EditRefusedError, match="the string s"):
        delete(
            JobFileDraft(layered.replace("along: [A1, G1, [2 ft, 2 ft]]", "along: [A1, A2]")),
            ("areas", "yard", "points", "G1"),
        )
