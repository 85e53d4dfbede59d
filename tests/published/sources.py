"""How well a published number is known, and small helpers to hold our own against it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from gradecheck.measure.quantities import Length
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target

VERIFIED = "VERIFIED"
"""The numbers were read in the named source itself."""
VERIFIED_2 = "VERIFIED-2"
"""Read in a secondary page: a question-and-answer page, a course slide, a quotation."""
DERIVED = "DERIVED"
"""Worked out from first principles or from the stated inputs; no source needed."""
COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Source:
    """Where a row's numbers come from, and how well they are known."""

    name: str
    status: str

    def __str__(self) -> str:
        return f"{self.name} [{self.status}]"


def of(row: str, source: Source) -> str:
    """The test's id: the row and its source."""
    return f"{row}: {source}"


def agrees(exact: Fraction, printed: str) -> bool:
    """Whether the exact number rounds to the one that the source prints."""
    places = len(printed.partition(".")[2])
    return abs(exact - Fraction(printed)) <= Fraction(1, 2 * 10**places)


def in_feet(length: Length) -> Fraction:
    """The number of feet, a foot being 0.3048 m."""
    return length.metres / Fraction("0.3048")


def in_inches(length: Length) -> Fraction:
    """The number of inches, an inch being 25.4 mm."""
    return length.metres / Fraction("0.0254")


def plan_with(points: str, *, build_up: str = "", tolerances: str = "{finish: 0}", units: str = "in") -> Plan:
    """A job of one area with those points and a benchmark `ZERO` at zero, written as a job file is."""
    layers = f"build-ups: {{paving: {build_up}}}\n" if build_up else ""
    built = "    build-up: paving\n" if build_up else ""
    lines = "".join(f"      {line.strip()}\n" for line in points.strip().splitlines())
    return read_plan(
        f"job: Check values\nunits: {units}\nbenchmarks: {{ZERO: 0}}\n{layers}tolerances: {tolerances}\n"
        f"areas:\n  site:\n{built}    points:\n{lines}",
        "job.yaml",
    )


def site(plan: Plan) -> Area:
    """The one area of such a job."""
    return plan.areas["site"]


def wanted(plan: Plan, point: str, stage: str = "finish") -> Length:
    """What the plan wants of that surface, as a height above its zero."""
    area = site(plan)
    return target(area, area.point(point), stage).wanted.height
