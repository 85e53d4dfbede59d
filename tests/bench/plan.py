"""Measured without a screen: a plan of ten thousand points read, beside YAML and pydantic alone on the same text."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable

from gradecheck.measure.notation import Units
from gradecheck.plan.document import JobEntry
from gradecheck.plan.edits import JobFileDraft, Put
from gradecheck.plan.read import read_plan
from gradecheck.plan.yaml_tree import read_yaml
from gradecheck.report.plan_form import form_rows
from tests.bench.measure import Measure, milliseconds, paired, percentile


def measure(rounds: int, side: int = 100) -> list[Measure]:
    """Reading a job of so many points each way on a plane, both ways in every round."""
    text = job(side)
    ours: list[float] = []
    bare: list[float] = []
    for turn in range(rounds + 1):
        one, other = _seconds(lambda: _read(text, side)), _seconds(lambda: _bare(text))
        if turn:  # the first time, YAML, pydantic and pint are imported
            ours.append(one)
            bare.append(other)
    what = f"a plan of {side * side:,} points read / YAML and pydantic"
    note = f"{milliseconds(ours)} / {milliseconds(bare)}"
    edited = max(side * 9 // 20, 2)
    return [Measure(14, what, paired(ours, bare), 2, 2, note), edits(rounds, edited), redrawn(rounds, edited)]


def edits(rounds: int, side: int) -> Measure:
    """A point of such a job edited, until the form can be drawn, beside YAML alone on the same text."""
    text = job(side)
    draft, plan = JobFileDraft(text), read_plan(text, "job.yaml")
    assert draft.root
    ours: list[float] = []
    bare: list[float] = []
    for turn in range(rounds + 1):

        def edit(number: int = turn) -> None:
            new = draft.edited(Put(("areas", "acre", "points", "P1-1", "what"), f"low {number}"))
            form_rows(new, plan, ("areas", "acre", "points"))

        one, other = _seconds(edit), _seconds(lambda: read_yaml(text, "job.yaml"))
        if turn:
            ours.append(one)
            bare.append(other)
    what = f"a point of {side * side:,} edited until the form is drawn / YAML"
    return Measure(14, what, paired(ours, bare), 2, 2, f"{milliseconds(ours)} / {milliseconds(bare)}")


REDRAWN = 0.1
"""Seconds of the processor that a redraw may take while a plan is edited."""
SHOWN = 40
"""Rows of a form on a tall window."""


def redrawn(rounds: int, side: int) -> Measure:
    """The same with the rows that are seen, in time of the processor, so that other work beside it does not count."""
    draft, plan = JobFileDraft(job(side)), read_plan(job(side), "job.yaml")
    place = ("areas", "acre", "points")
    assert draft.root
    taken: list[float] = []
    for turn in range(rounds + 1):
        gc.collect()
        began = time.process_time()
        new = draft.edited(Put((*place, "P1-1", "what"), f"low {turn}"))
        rows = form_rows(new, plan, place)
        if not all(row.figure for row in rows[:SHOWN]):
            raise AssertionError("a row is missing")
        if turn:
            taken.append(time.process_time() - began)
    what = f"a redraw while {side * side:,} points are edited, of the processor / {REDRAWN * 1000:.0f} ms"
    return Measure(14, what, percentile(taken, 0.5) / REDRAWN, 1, 1, milliseconds(taken))


def job(side: int) -> str:
    """An invented job with a square of points half a foot apart, all written out, on a plane that falls two ways."""
    points = (
        f"      P{row}-{place}: {{at: [{place * 6} in, {row * 6} in]}}\n"
        for row in range(side)
        for place in range(side)
    )
    return (
        "job: Long Acre\nunits: in\nbenchmarks: {DOOR: {elevation: 0, at: [0, 0]}}\ntolerances: {finish: 1/8}\n"
        "areas:\n  acre:\n    surface: {at: DOOR, fall: {x: 2%, y: 0.5%}}\n    points:\n" + "".join(points)
    )


def _read(text: str, side: int) -> None:
    if len(read_plan(text, "job.yaml").area_of) != side * side:
        raise AssertionError("a point is missing")


def _bare(text: str) -> None:
    tree, _ = read_yaml(text, "job.yaml")
    JobEntry.model_validate(tree, context={"units": Units.IN})


def _seconds(work: Callable[[], None]) -> float:
    gc.collect()  # what the other way left behind is not counted here
    began = time.perf_counter()
    work()
    return time.perf_counter() - began
