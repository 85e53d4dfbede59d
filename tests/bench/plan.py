"""Measured without a screen: a plan of ten thousand points read, beside YAML and pydantic alone on the same text."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable

from gradecheck.measure.notation import Units
from gradecheck.plan.document import JobEntry
from gradecheck.plan.read import read_plan
from gradecheck.plan.yaml_tree import read_yaml
from tests.bench.measure import Measure, milliseconds, paired


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
    return [Measure(14, what, paired(ours, bare), 2, 2, note)]


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
