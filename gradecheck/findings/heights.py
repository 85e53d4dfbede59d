"""How high points and marks lie as an area counts, as far as the plan alone can tell."""

from __future__ import annotations

from gradecheck.measure.quantities import ZERO, Elevation
from gradecheck.plan.model import Area, Plan


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
