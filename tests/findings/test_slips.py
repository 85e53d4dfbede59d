"""Gross slips of a plan are asked about: a lost point, another unit; and what sites have is not."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradecheck.findings.slips import slip_findings
from gradecheck.plan.read import read_plan
from gradecheck.report.findings import before_work, finding_line
from tests.findings.sample import plan_of

SLIPS = [
    # The job's unit, what is written in the yard, at the top, and what is asked about.
    ("m", "tolerances: {finish: 5}\npoints: {A: 0}", "", {"tolerance"}),
    ("ft", "tolerances: {finish: 18 ft}\npoints: {A: 0}", "", {"tolerance"}),
    ("mm", "tolerances: {finish: 0.1 m}\npoints: {A: 0}", "", {"tolerance"}),
    ("in", "tolerances: {finish: {high: 0, low: 3/8 ft}}\npoints: {A: 0}", "", {"tolerance"}),
    ("in", "outline: [[0, 0], [16, 0], [16, 20], [0, 20]]\npoints: {A: {elevation: 0, at: [1, 1]}}",
     "", {"small area"}),
    ("m", "outline: [[0, 0], [16 in, 0], [16 in, 20 in]]\npoints: {A: {elevation: 0, at: [0.1, 0]}}",
     "", {"small area"}),
    ("m", "points: {A: {elevation: -62.5}}", "", {"far in height"}),
    ("m", "points: {A: {elevation: -62.5 m, at: [1, 1]}, B: {elevation: -0.0625, at: [3, 1]}}", "",
     {"far in height", "drop between points"}),
    ("mm", "points: {A: {elevation: -62.5 m}}", "", {"far in height"}),
    ("in", "points: {A: {elevation: -3 1/4}, B: {elevation: -62.5}}", "", {"alone in height"}),
    ("in", "points: {A: {elevation: -3, at: [0, 0]},"
     " B: {elevation: -32.5, at: [60, 0]}, C: {elevation: -4, at: [99, 9]}}",
     "", {"drop between points"}),
    ("in", "points: {A: {from: DOOR, fall: 30%, over: 9 ft}}", "", {"steep pitch"}),
    ("ft", "points: {A: {elevation: 0, at: [2000000, 500000]}}", "", {"large site"}),
    ("in", "build-up: b\ntolerances: {subgrade: 1/2, base: 1/2, bedding: 1 1/4, finish: 1/8}\npoints: {A: 0}",
     "build-ups: {b: [{paver: 2 3/8}, {bedding: 1}, {base: 6}]}\n", {"tolerance against the layer"}),
    ("mm", "build-up: b\ntolerances: {subgrade: 10, base: 10, finish: 4}\npoints: {A: 0}",
     "build-ups: {b: [{paver: 2.5}, {base: 150}]}\n", {"top layer", "tolerance against the layer"}),
    ("ft", "build-up: b\ntolerances: {subgrade: 0.04, base: 0.03, finish: 0.01}\npoints: {A: 0}",
     "build-ups: {b: [{paver: 2.375}, {base: 0.5}]}\n", {"top layer"}),
]  # fmt: skip


@pytest.mark.parametrize(("units", "yard", "top", "what"), SLIPS)
def test_a_gross_slip_of_the_plan_is_asked_about_and_nothing_else_is(
    units: str, yard: str, top: str, what: set[str]
) -> None:
    plan = plan_of(yard, top=top, units=units)
    found = list(slip_findings(plan))
    assert {each.what for each in found} == what
    assert all("; intended? (" in f"{finding_line(plan, each)} (" for each in found)


def test_a_benchmark_far_from_the_others_is_asked_about() -> None:
    text = "job: Gorse Hill\nunits: m\nbenchmarks: {DOOR: 0, PIN: -0.412, CURB: -62.5}\ntolerances: {finish: 3 mm}\n"
    plan = read_plan(f"{text}areas:\n  yard: {{points: {{A: 0}}}}\n", "job.yaml")
    (finding,) = slip_findings(plan)
    assert finding_line(plan, finding) == (
        "advice: benchmarks, CURB: 62.088 m above or below the nearest benchmark, more than 10 m; intended?"
        " (common practice, no source)"
    )


def test_a_tolerance_that_would_pass_anything_is_told_before_work_begins() -> None:
    (line,) = before_work(plan_of("tolerances: {finish: 5}\npoints: {A: 0}", units="m"))
    assert "finish: the tolerance is 5 m, more than 0.025 m; intended?" in line


def test_the_plan_may_set_what_is_asked_about() -> None:
    yard = "rules: {finish tolerance at most: 6}\ntolerances: {finish: 5}\npoints: {A: 0}"
    assert list(slip_findings(plan_of(yard, units="m"))) == []


UNITS = {"in": 1.0, "ft": 1 / 12, "mm": 25.4, "cm": 2.54, "m": 0.0254}


@settings(max_examples=40)
@given(
    st.sampled_from(sorted(UNITS)),
    st.integers(40, 2000),
    st.integers(40, 2000),
    st.floats(-2, 2),
    st.floats(-2, 2),
    st.sampled_from((0.125, 0.25, 0.5)),
)
def test_no_site_of_the_usual_size_is_asked_about(
    units: str, width: int, length: int, along: float, across: float, tolerance: float
) -> None:
    def of(inches: float) -> str:
        return f"{inches * UNITS[units]:.6f}"

    ring = ", ".join(f"[{of(x)}, {of(y)}]" for x, y in ((0, 0), (width, 0), (width, length), (0, length)))
    yard = f"outline: [{ring}]\nsurface: {{at: DOOR, fall: {{x: {along:.3f}%, y: {across:.3f}%}}}}\n"
    yard += f"grid: {{every: {of(max(width, length) / 4)}}}\ntolerances: {{finish: {of(tolerance)}}}"
    assert list(slip_findings(plan_of(yard, units=units))) == []
