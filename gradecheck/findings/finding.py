"""One thing to look at about a plan, and the height a plan gives a name there."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from gradecheck.catalogue import _, stored
from gradecheck.checks.held import Held
from gradecheck.measure.quantities import ZERO, Elevation
from gradecheck.plan.limits import Limit, LimitKind
from gradecheck.plan.model import Area, Plan


class Severity(StrEnum):
    """How much a finding matters: what breaks a limit, what is ill advised, what must not be forgotten."""

    FAULT = stored("fault")
    ADVICE = stored("advice")
    REMINDER = stored("reminder")


@dataclass(frozen=True, slots=True)
class Finding:
    """What is doubtful about a plan that can be read.

    `what` names the check, `where` the points (or a build-up, a stage) it is about. `value` is in the unit of the
    limit's kind: a ratio, metres or a count. `line` is where the job file speaks of it.
    """

    severity: Severity
    area: str
    what: str
    where: tuple[str, ...]
    value: Fraction
    limit: Limit
    line: int = 0
    more: int = 0
    """How many like it there are on that line, less bad than this one."""

    @property
    def beyond(self) -> Fraction:
        """How far the value lies from the limit, in its own unit."""
        return abs(self.value - self.limit.value)

    @property
    def sort_key(self) -> tuple[int, str, tuple[str, ...]]:
        """Findings are told in the order of the job file's lines."""
        return self.line, self.what, self.where


def of_held(area: Area, held: Held, line: int) -> Finding | None:
    """The finding in a number held to its limit, None where it passes."""
    if held.verdict == "passes":
        return None
    return Finding(Severity(held.verdict), area.name, held.what, held.where, held.value, held.limit, line)


def by_the_plan(name: str, kind: LimitKind, value: Fraction = Fraction(0)) -> Limit:
    """A limit that no rule sets: the plan is held against itself."""
    return Limit(name, kind, value, _("the plan itself"))


def height_in(plan: Plan, area: Area, name: str) -> Elevation | None:
    """The elevation of a point or mark from the area's zero; None where there is none or only the site can tell."""
    datum = plan.datums.get(area.datum or "")
    if datum is not None and datum.mark == name:
        return datum.reads
    if name in plan.area_of:
        home = plan.areas[plan.area_of[name]]
        own, z = home.datum, home.point(name).finish
    elif name in plan.benchmarks:
        own, z = None, plan.benchmarks[name].elevation
    else:
        return None
    if own == area.datum:
        return z
    there, here = _zero(plan, own), _zero(plan, area.datum)
    return z + there.above(here) if there is not None and here is not None else None


def _zero(plan: Plan, datum: str | None) -> Elevation | None:
    """Where a datum's zero lies from the job's own; None where its mark is no benchmark, but is shot on site."""
    if datum is None:
        return Elevation(ZERO.metres)
    given = plan.datums[datum]
    mark = plan.benchmarks.get(given.mark)
    return mark.elevation.minus(given.reads.height) if mark is not None else None
