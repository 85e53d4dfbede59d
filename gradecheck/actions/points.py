"""What is added to the plan and changed in it on site: new points, other targets, other tolerances."""

from __future__ import annotations

import re

from gradecheck.actions.entered import (
    LONGEST_TEXT,
    Action,
    Refusal,
    area_named,
    coordinate_in,
    description,
    elevation_in,
    length_in,
    one_line,
    point_named,
    refuse_look_alike,
    stage_named,
)
from gradecheck.actions.instrument import mark_meant
from gradecheck.catalogue import _, stored
from gradecheck.ground.spots import Place
from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Elevation, Length, Slope
from gradecheck.measure.typed import NotUnderstoodError, Tolerance, read_tolerance
from gradecheck.plan.model import Area
from gradecheck.plan.names import folded, hidden_in, one_form, point_name_fault
from gradecheck.plan.problems import suggestion
from gradecheck.plan.targets import true_minus
from gradecheck.state.state import State


def ways_to_lie(units: Units) -> tuple[str, str, str, str]:
    """How a point is said to lie: by a fall from another, by risers, by its place, by its elevation."""
    words = units.examples
    return (
        _("from P4 fall 2% over {run}", run=words.run),
        _("from S3 down 1 x {riser}", riser=words.riser),
        _("at {place}", place=words.place),
        words.elevation,
    )


def _examples(units: Units) -> str:
    *ways, elevation = ways_to_lie(units)
    return _("{ways}, or {elevation}", ways=", ".join(ways), elevation=elevation)


def high_and_low(units: Units) -> str:
    """How a tolerance is typed apart on site."""
    return _("{high} high {low} low", high=units.examples.high, low=units.examples.low)


_ROUTE = re.compile(
    r"from (?P<start>.+?)(?: (?P<way>fall|rise) (?P<slope>.+?) over (?P<run>.+?))?"
    r"(?: (?P<steps>up|down) (?P<count>[0-9]{1,3}) ?[x×] ?(?P<riser>.+?))?",
    re.IGNORECASE,
)
_PLACE = re.compile(r"at (?P<x>[^,]+), ?(?P<y>[^,]+)", re.IGNORECASE)


def add_point(state: State, area_name: str, name: str, how: str, what: str = "") -> Action:
    """A point that is not on the plan: from a known point by run and fall or risers, by its place, by elevation."""
    typed, area, name = f"{name} {how}", area_named(state.plan, area_name), one_form(name)
    if fault := point_name_fault(name):
        raise Refusal(fault)
    if hidden_in(name) is not None:
        raise Refusal(_("A character in this name can't be seen; type it again."))
    what = description(what)
    # That of a datum's mark is kept for the mark, which may be shot later.
    marks = *state.book.marks(), *(datum.mark for datum in state.plan.datums.values())
    if folded(name) in {*state.plan.names, *(folded(mark) for mark in marks)}:
        raise Refusal(_("There is a point or mark “{name}” already; give this one a name of its own.", name=name))
    refuse_look_alike(state, name)
    plain, units = " ".join(how.split()), state.plan.notation.units
    at: Place | None = None
    start, above = "", None
    if len(plain) > LONGEST_TEXT:
        raise Refusal(
            _(
                "That is {number} characters; describe it in {most}, such as {examples}.",
                number=len(plain),
                most=LONGEST_TEXT,
                examples=_examples(units),
            )
        )
    if found := _PLACE.fullmatch(plain):
        finish, working, at = _by_place(state, area, found)
    elif found := _ROUTE.fullmatch(plain):
        finish, working, start, above = _by_route(state, area, found)
    else:
        finish, working = _by_elevation(state, area, plain)
    return Action(PointAdded(area.name, name, finish, working, what, at, start, above, at is not None), typed)


def change_target(state: State, point: str, typed: str, why: str) -> Action:
    """Another finish for a point, entered from the zero shown, for a reason."""
    area, name = point_named(state.plan, point)
    finish = elevation_in(state, typed, state.plan.areas[area].datum)
    reason = one_line(why, _("Changing a target needs a reason; say why."))
    return Action(TargetChanged(area, name, finish, reason), f"{point}={typed}")


def change_tolerance(state: State, area_name: str, stage: str, typed: str, why: str) -> Action:
    """Another tolerance for a stage of an area, for a reason: ``3/8``, ``+1/2 -1/4`` or ``1/2 high 1/4 low``."""
    area = area_named(state.plan, area_name)
    known = stage_named(area, stage)
    plain, units = " ".join(typed.split()), state.plan.notation.units
    words = _("{tolerance}, or {high_and_low}", tolerance=units.examples.tolerance, high_and_low=high_and_low(units))
    if len(plain) > LONGEST_TEXT:
        raise Refusal(
            _("That is {number} characters; a tolerance is short: {words}.", number=len(plain), words=words)
        )
    limits = _tolerance(plain, units)
    if min(limits.high, limits.low) < ZERO:
        raise Refusal(_("A tolerance is written without a minus: {words}.", words=words))
    reason = one_line(why, _("Changing a tolerance needs a reason; say why."))
    return Action(ToleranceChanged(area.name, known, limits.high, limits.low, reason), f"{stage}={typed}")


def _tolerance(plain: str, units: Units) -> Tolerance:
    if found := re.fullmatch(r"(?P<high>.+) high,? (?P<low>.+) low", plain):
        return Tolerance(length_in(found["high"], units), length_in(found["low"], units))
    try:
        return read_tolerance(plain, units, high_and_low(units))
    except NotUnderstoodError as wrong:
        raise Refusal(str(wrong)) from wrong


def _by_elevation(state: State, area: Area, typed: str) -> tuple[Elevation, str]:
    """The finish entered from the zero shown, counted from the area's own; where they are two, both are said."""
    finish = elevation_in(state, typed, area.datum)
    if state.datum == area.datum:
        return finish, stored("{elevation} as given on site", elevation=_shown(state, finish))
    entered = _said(length_in(typed, state.plan.notation.units), state)
    return finish, stored(
        "{typed} from {datum} as given on site = {elevation}",
        typed=entered,
        datum=state.datum or stored("the job zero"),
        elevation=_shown(state, finish),
    )


def _by_place(state: State, area: Area, found: re.Match[str]) -> tuple[Elevation, str, Place]:
    units = state.plan.notation.units
    place = coordinate_in(found["x"], units), coordinate_in(found["y"], units)
    if area.surface is None:
        raise Refusal(
            _(
                "Area “{name}” has no surface; say which point to start from: {ways_to_lie}.",
                name=area.name,
                ways_to_lie=ways_to_lie(units)[0],
            )
        )
    finish = area.surface.elevation(place)
    if finish is None:
        raise Refusal(_("That spot is outside the surface of “{name}”; give the point an elevation.", name=area.name))
    return finish, f"{area.surface.says} = {_shown(state, finish)}", place


def _by_route(state: State, area: Area, found: re.Match[str]) -> tuple[Elevation, str, str, Length | None]:
    """The finish and the sum, and what it moves with: a point, or a benchmark where the area has no datum."""
    units = state.plan.notation.units
    start, z = _start(state, area, found["start"])
    began = z
    if found["way"] is None and found["steps"] is None:
        raise Refusal(_("Say where it is from {start}: {examples}.", start=start, examples=_examples(units)))
    working = f"{start} {true_minus(show_exact(z.height, units))}"
    if found["way"] is not None:
        run, slope = _size(found["run"], units), _slope(found["slope"], units)
        down = found["way"].casefold() == "fall"
        z = z + slope.over(run) * (-1 if down else 1)
        working += f" {'−' if down else '+'} {_said(run, state)} × {found['slope']}"
    if found["steps"] is not None:
        riser, down = _size(found["riser"], units), found["steps"].casefold() == "down"
        z = z + riser * (int(found["count"]) * (-1 if down else 1))
        working += f" {'−' if down else '+'} {found['count']} × {_said(riser, state)}"
    in_plan = start in state.plan.area_of or (start in state.plan.benchmarks and area.datum is None)
    parent = (start, z.above(began)) if in_plan else ("", None)
    return z, f"{working} = {_shown(state, z)}", *parent


def _start(state: State, area: Area, typed: str) -> tuple[str, Elevation]:
    """The point or mark to count from, and its elevation from the area's zero."""
    name = state.plan.names.get(folded(typed), typed)
    home = state.plan.area_of.get(name)
    if home is not None:
        if state.plan.areas[home].datum != area.datum:
            raise Refusal(_("{name} has another datum; start from a mark, or enter a height.", name=name))
        return name, state.plan.areas[home].point(name).finish
    mark = mark_meant(state, typed)
    known, zero = (state.mark(mark) if mark else None), state.zero_of(area.datum)
    if mark is None or known is None or zero is None:
        raise Refusal(
            _(
                "There is no point or mark “{typed}” to start from.{meant}",
                typed=typed,
                meant=suggestion(typed, state.plan.area_of),
            )
        )
    return mark, known.minus(zero.height)


def _size(typed: str, units: Units) -> Length:
    length = length_in(typed, units)
    if length <= ZERO:
        raise Refusal(_("“{typed}” must be more than zero; the words give the direction.", typed=typed))
    return length


def _slope(typed: str, units: Units) -> Slope:
    # Few points are given by a slope on site, and the units take their time to load.
    from gradecheck.measure.units import UnitProblemError, read_slope

    try:
        slope = read_slope(typed, units.examples.slopes)
    except UnitProblemError as wrong:
        raise Refusal(str(wrong)) from wrong
    if slope < NO_SLOPE:
        raise Refusal(_("Write “{typed}” without a minus; the words fall and rise give the direction.", typed=typed))
    return slope


def _shown(state: State, elevation: Elevation) -> str:
    return _said(elevation.height, state)


def _said(length: Length, state: State) -> str:
    return true_minus(show_exact(length, state.plan.notation.units, unit=True))
