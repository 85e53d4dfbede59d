"""Small jobs with surfaces, flights and lists, and what the plan makes of them."""

from __future__ import annotations

from fractions import Fraction
from textwrap import indent

from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.measure.typed import read_length
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.read import no_lists, read_plan

HEAD = """\
job: Wren Meadow
units: {units}
benchmarks:
  DOOR: {{elevation: 0, at: [0, 0]}}
  PIN: {{elevation: -100}}
tolerances: {{finish: 3}}
"""


def job_with(area: str, *, units: str = "mm", top: str = "", after: str = "") -> str:
    """An invented job with an area `yard` of those entries, more at its top, and areas after it."""
    yard = "areas:\n  yard:\n" + indent(area.strip("\n") + "\n", "    ")
    return HEAD.format(units=units) + top + yard + indent(after, "  ") + "\n"


def plan_with(
    area: str, *, units: str = "mm", top: str = "", after: str = "", lists: dict[str, str] | None = None
) -> Plan:
    """The plan of such a job; `lists` are the files beside it."""
    fetch = lists.__getitem__ if lists is not None else no_lists
    return read_plan(job_with(area, units=units, top=top, after=after), "job.yaml", fetch)


def yard(plan: Plan) -> Area:
    """The one area of such a job."""
    return plan.areas["yard"]


def point(plan: Plan, name: str) -> Point:
    """A point of the yard."""
    return yard(plan).point(name)


def height(plan: Plan, name: str) -> Length:
    """The finish of a point of the yard above the job's zero."""
    return point(plan, name).finish.height


def names(plan: Plan) -> list[str]:
    """The points of the yard, as they are walked."""
    return [each.name for each in yard(plan).points]


def mm(number: Fraction | int | str) -> Length:
    """A length of so many millimetres."""
    return Length(Fraction(number) / 1000)


def at_mm(number: Fraction | int | str) -> Elevation:
    """An elevation of so many millimetres."""
    return Elevation(Fraction(number) / 1000)


def place(x: Fraction | int, y: Fraction | int) -> tuple[Length, Length]:
    """A place so many millimetres along x and y."""
    return mm(x), mm(y)


def inch(text: str) -> Length:
    """A length as it is written on a site in inches."""
    return read_length(text, Units.IN)
