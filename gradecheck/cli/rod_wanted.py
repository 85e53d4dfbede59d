"""What the rod should read: at points, spots on strings and marks, for the current setup or an HI that was given."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.actions.entered import length_in, zero_of
from gradecheck.actions.instrument import known_mark, mark_meant
from gradecheck.catalogue import _
from gradecheck.cli.options import Reply
from gradecheck.cli.shared import length_json, meant_stage, tell
from gradecheck.measure.printed import show
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.measure.typed import Tolerance
from gradecheck.report.instrument import set_up_line, zero_name
from gradecheck.report.rows import at_offset, example_figures, shown
from gradecheck.session.session import Session
from gradecheck.state.state import State, Surface
from gradecheck.survey.setup import Setup


@dataclass(frozen=True, slots=True)
class RodWanted:
    """What the rod should read at one surface, or on a mark; `why` says why that is not known.

    `area`, `stage` and `tolerance` are left empty for a mark.
    """

    area: str
    name: str
    stage: str
    wanted: Elevation | None
    rod: Length | None
    tolerance: Tolerance | None = None
    why: str = ""


def rods_wanted(session: Session, names: Sequence[str], stage: str | None, hi: str | None) -> Reply:
    """The answer of ``targets --rod``; `hi` is the height of instrument above the datum shown. Raises Refusal."""
    state = session.state
    instrument, setup, above = _instrument(session, hi)
    rows = [row for name in names for row in _rows(session, name, stage, instrument, setup, above)]
    units = state.plan.notation
    known = state.setup.fact.rod if hi is None and state.setup is not None else instrument.rod.name
    plane = length_json(state.shown(instrument.zero), units)
    table = [_row_json(state, instrument, row) for row in rows]
    answer = {
        "setup": setup or None,
        "on rod": known,
        "plane": plane,
        "offset": length_json(above, units) if above is not None else None,
        "rows": table,
    }
    return Reply(answer, list(_lines(session, instrument, hi, above, rows)), table=table)


def _row_json(state: State, instrument: Setup, row: RodWanted) -> dict[str, object]:
    notation, units = instrument.rod.notation, state.plan.notation
    return {
        "area": row.area or None,
        "point" if row.area else "mark": row.name,
        "stage": row.stage or None,
        "wanted": length_json(state.shown(row.wanted), units) if row.wanted is not None else None,
        "rod": length_json(row.rod, notation) if row.rod is not None else None,
        "high": length_json(row.tolerance.high, units) if row.tolerance else None,
        "low": length_json(row.tolerance.low, units) if row.tolerance else None,
        "why": row.why or (_out_of_reach(instrument, row.rod) if row.rod is not None else ""),
    }


def _instrument(session: Session, hi: str | None) -> tuple[Setup, str, Length | None]:
    """The laser as it stands, its setup and the working offset; only that plane where an HI is given."""
    state = session.state
    if hi is not None:
        given = length_in(hi.strip(), state.plan.notation.units)
        newest = state.newest_setup
        rod = state.plan.rods.get(newest.fact.rod, state.plan.rod) if newest is not None else state.plan.rod
        return Setup(rod, zero_of(state, state.datum) + given), "", None
    if state.setup is None or state.setup.instrument is None:
        raise Refusal(_("No setup; set up first, or say how high the laser is: --hi LENGTH."))
    if old := session.why_set_up_is_old:
        tell(old)
    return state.setup.instrument, state.setup.id, state.offset


def _rows(
    session: Session, name: str, stage: str | None, instrument: Setup, setup: str, above: Length | None
) -> Iterator[RodWanted]:
    state = session.state
    point = session.name_of(name)
    if point is not None and point in state.plan.area_of:
        area = state.plan.areas[state.plan.area_of[point]]
        stages = reversed(area.stages) if stage is None else [meant_stage([area], stage)]
        surfaces = [Surface(area.name, point, each) for each in stages]
    elif mark_meant(state, name) is not None:
        surfaces = []
    elif (spot := actions.spot_on_string(state, stage, name)) is not None:
        stages = reversed(state.plan.areas[spot.area].stages) if stage is None else [spot.stage]
        surfaces = [spot._replace(stage=each) for each in stages]
    else:
        raise _no_place(state, name)
    yield from (_at(state, surface, instrument, setup, above) for surface in surfaces)
    if mark_meant(state, name) is not None:
        mark, elevation = known_mark(state, name)
        rod = instrument.grade_rod(elevation, state.book.place(mark))
        yield RodWanted("", mark, "", elevation, rod, why="" if rod is not None else _NO_PLACE)


_NO_PLACE = _("the beam is sloped, and the plan does not say where this is")


def _no_place(state: State, name: str) -> Refusal:
    marks = _("Marks are {marks}.", marks=", ".join(state.book.marks()))
    return Refusal(f"{actions.no_point(state.plan, name)} {marks}")


def _at(state: State, surface: Surface, instrument: Setup, setup: str, above: Length | None) -> RodWanted:
    target = state.target(surface)
    if state.is_example(surface, setup):
        why = _("{examples}: don't build from it", examples=example_figures(state.examples(surface, setup)))
        return RodWanted(*surface, None, None, None, why)
    if target is None:
        return RodWanted(*surface, None, None, None, _("its zero is not tied"))
    rod = instrument.grade_rod(target.wanted if above is None else target.wanted + above, state.place(surface))
    return RodWanted(*surface, target.wanted, rod, target.tolerance, "" if rod is not None else _NO_PLACE)


def _lines(
    session: Session, instrument: Setup, hi: str | None, above: Length | None, rows: Sequence[RodWanted]
) -> Iterator[str]:
    state = session.state
    units, notation = state.plan.notation, instrument.rod.notation
    if hi is None and state.setup is not None:
        yield set_up_line(state, state.setup)
    else:
        plane = show(state.shown(instrument.zero), units, unit=True)
        yield f"{instrument.rod.name}, {zero_name(instrument.rod)} {plane}"
    if offset := at_offset(above, units.units):
        yield offset
    for row in rows:
        where = f"{row.name:<8} {row.stage:<9}"
        if row.rod is None:
            yield f"{where} {row.why}"
            continue
        says = _("{where} rod {rod:>10}", where=where, rod=shown(row.rod, notation))
        if row.wanted is not None:
            says += _("   at {wanted:>10}", wanted=shown(state.shown(row.wanted), units))
        if row.tolerance is not None:
            says += f"   +{show(row.tolerance.high, units)} -{show(row.tolerance.low, units)}"
        if out := _out_of_reach(instrument, row.rod):
            says += f"   {out}"
        yield says


def _out_of_reach(instrument: Setup, rod: Length) -> str:
    """Why the rod can't be read so, where it can't; a rod held upside down reads above the laser."""
    if instrument.rod.length is not None and abs(rod) > instrument.rod.length:
        return _("longer than the rod")
    return _("above the laser") if rod < ZERO and instrument.rod.kind != "direct" else ""
