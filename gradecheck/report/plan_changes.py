"""What changed in a plan, in words: by the office since it was taken over, and on site since then."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show, show_exact
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.typed import read_length
from gradecheck.measure.words import count
from gradecheck.plan.changes import Changes
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.point_list import decimal
from gradecheck.state.amended import Amendment
from gradecheck.state.state import State


def summary(changes: Changes, notation: Notation) -> str:
    """One sentence: how many targets move, the largest of them, what came and went."""
    parts = []
    largest = changes.largest
    if largest is not None:
        points = len({(moved.area, moved.point) for moved in changes.moved})
        by = show(abs(largest.by), notation, unit=True)
        way = "up" if largest.by > ZERO else "down"
        parts.append(f"{count(points, 'point')} moved, most {largest.point} {largest.stage} by {by} {way}")
    if changes.added:
        parts.append(f"{count(len(changes.added), 'point')} new ({_some(changes.added)})")
    if changes.gone:
        parts.append(f"{count(len(changes.gone), 'point')} gone ({_some(changes.gone)})")
    if changes.tolerances:
        parts.append(f"{count(len(changes.tolerances), 'tolerance')} changed")
    if changes.stages:
        parts.append(f"{count(len(changes.stages), 'stage')} new or gone")
    if changes.marks:
        parts.append(
            f"{count(len(changes.marks), 'mark or rod', 'marks or rods')} read otherwise ({_some(changes.marks)})"
        )
    if changes.lost:
        lost = f"{count(len(changes.lost), 'mark or rod', 'marks or rods')} gone ({_some(changes.lost)})"
        parts.append(f"{lost}, what was read by {'it' if len(changes.lost) == 1 else 'them'} has no height then")
    parts = parts or ["no target changes"]
    if changes.staying:
        stay = "stays" if len(changes.staying) == 1 else "stay"
        parts.append(f"{count(len(changes.staying), 'point')} changed on site {stay} ({_some(changes.staying)})")
    return ", ".join(parts)


def change_lines(changes: Changes, notation: Notation) -> list[str]:
    """Every change, a line each, the largest first."""
    moved = sorted(changes.moved, key=lambda each: -abs(each.by))
    by = {each: show(each.by, notation, unit=True, plus=True) for each in moved}
    return [
        *(f"{each.area}  {each.point} {each.stage}: {by[each]}" for each in moved),
        *(f"new: {name}" for name in changes.added),
        *(f"gone: {name}" for name in changes.gone),
        *(f"tolerance: {area}, {stage}" for area, stage in changes.tolerances),
        *(f"stage: {area}, {stage}" for area, stage in changes.stages),
        *(f"read otherwise: {name}" for name in changes.marks),
        *(f"gone, with the height of what was read by it: {name}" for name in changes.lost),
    ]


def amendment_line(fact: Amendment, notation: Notation, state: State | None = None) -> str:
    """One thing added or changed on site; a finish as the state shows it, without one from its area's own zero."""
    match fact:
        case PointAdded():
            return f"{fact.point} added: {fact.working}"
        case TargetChanged():
            height, zero = _as_shown(fact, state) if state else (fact.finish.height, "")
            return f"{fact.point} now {show(height, notation, unit=True)}{zero}: {fact.why}"
        case ToleranceChanged():
            high, low = show(fact.high, notation, plus=True), show(-fact.low, notation)
            return f"{fact.area} {fact.stage} tolerance now {high} {low}: {fact.why}"


def _as_shown(fact: TargetChanged, state: State) -> tuple[Length, str]:
    """The finish from the zero shown, or from its area's own while that is not tied; of several zeros it is named."""
    area = state.plan.areas.get(fact.area)
    own, height = area.datum if area else None, fact.finish.height
    if (zero := state.zero_of(own)) is not None:
        own, height = state.datum, state.shown(zero + height)
    return height, f" from {own or 'the job zero'}" if state.plan.datums else ""


def counting(amendments: Iterable[Amendment], plan: Plan) -> list[Amendment]:
    """The last change of each thing, where it counts in `plan`, the plan as it stands on site."""
    return [fact for fact in {_about(fact): fact for fact in amendments}.values() if _counts(fact, plan)]


def _about(fact: Amendment) -> tuple[str, str, str]:
    """The area, and the point or the stage."""
    return (fact.area, "", fact.stage) if isinstance(fact, ToleranceChanged) else (fact.area, fact.point, "")


def _counts(fact: Amendment, plan: Plan) -> bool:
    area = plan.areas.get(fact.area)
    if area is None:
        return False
    if isinstance(fact, ToleranceChanged):
        return fact.stage in area.stages
    return fact.point in area.place and area.point(fact.point).on_site


def changed_surfaces(amendments: Iterable[Amendment], plan: Plan) -> dict[tuple[object, ...], str]:
    """``added`` or ``changed`` for area, point and stage of each surface that is not as the office has it."""
    found: dict[tuple[object, ...], str] = {}
    for fact in counting(amendments, plan):
        area = plan.areas[fact.area]
        if isinstance(fact, ToleranceChanged):
            found |= {(area.name, point.name, fact.stage): "changed" for point in area.points}
        else:
            how = "added" if isinstance(fact, PointAdded) else "changed"
            found |= {(area.name, fact.point, stage): how for stage in area.stages}
    return found


def changed_names(amendments: Sequence[Amendment]) -> str:
    """Which points and tolerances they are about."""
    return some_names(
        [
            f"{fact.area} {fact.stage} tolerance" if isinstance(fact, ToleranceChanged) else fact.point
            for fact in amendments
        ]
    )


def some_names(names: Sequence[str], most: int = 8) -> str:
    """The names, and how many more there are where they are too many to tell."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def plan_text(amendments: Sequence[Amendment], plan: Plan) -> str:
    """What was added and changed on site as text for the job file, to be merged in the office.

    `plan` is the plan as it stands on site: what counts no more in it, since the office drew it anew, is left out.
    """
    lines: list[str] = []
    for name in dict.fromkeys(fact.area for fact in amendments):
        if (area := plan.areas.get(name)) is not None:
            facts = [fact for fact in amendments if fact.area == name]
            entries = [*_tolerances(area, facts, plan.notation), *_points(area, facts, plan.notation)]
            lines += [f"  {_quoted(name)}:", *entries] if entries else []
    if not lines:
        return "# Nothing was added or changed on site.\n"
    head = "# Added and changed on site; each replaces or joins what the job file has under that name."
    return "\n".join([head, "areas:", *lines]) + "\n"


def _points(area: Area, facts: Iterable[Amendment], notation: Notation) -> list[str]:
    reasons: dict[str, str] = {}
    for fact in facts:
        match fact:
            case PointAdded():
                reasons[fact.point] = fact.working
            case TargetChanged():
                reasons[fact.point] = fact.why
            case ToleranceChanged():
                pass
    changed = [area.point(name) for name in reasons if name in area.place and area.point(name).on_site]
    entries = [f"      {_quoted(each.name)}: {_entry(each, notation)}  # {reasons[each.name]}" for each in changed]
    return ["    points:", *entries] if entries else []


def _entry(point: Point, notation: Notation) -> str:
    """All that the plan knows of the point, since it replaces what stands there."""
    at = f", at: [{_length(point.at[0], notation)}, {_length(point.at[1], notation)}]" if point.at else ""
    what = f", what: {_quoted(point.what)}" if point.what else ""
    return f"{{elevation: {_length(point.finish.height, notation)}{at}{what}}}"


def _tolerances(area: Area, facts: Iterable[Amendment], notation: Notation) -> list[str]:
    changed = {fact.stage: fact for fact in facts if isinstance(fact, ToleranceChanged) and fact.stage in area.stages}
    entries = [
        f"      {_quoted(stage)}: {{high: {_length(fact.high, notation)}, low: {_length(fact.low, notation)}}}"
        f"  # {fact.why}"
        for stage, fact in changed.items()
    ]
    return ["    tolerances:", *entries] if entries else []


def _length(length: Length, notation: Notation) -> str:
    text = show_exact(length, notation.units, unit=True)
    if read_length(text, notation.units) != length:  # then six decimals, all that is read again
        units = Units.IN if notation.units is Units.FT_IN else notation.units
        text = f"{decimal(length, units)} {units}"
    return _quoted(text) if '"' in text or "'" in text else text


def _quoted(text: str) -> str:
    """A text as YAML reads it back: plain where it can be, else between single quotes."""
    plain = text.replace(" ", "").replace("-", "").replace(".", "").replace("/", "")
    return text if plain.isalnum() and text[0].isalpha() else "'" + text.replace("'", "''") + "'"


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:3]) + (", …" if len(names) > 3 else "")
