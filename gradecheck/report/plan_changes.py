"""What changed in a plan, in words: by the office since it was taken over, and on site since then."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show, show_exact
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.typed import read_length
from gradecheck.plan.changes import Changes
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.point_list import decimal
from gradecheck.state.amended import Amendment


def summary(changes: Changes, notation: Notation) -> str:
    """One sentence: how many targets move, the largest of them, what came and went."""
    parts = []
    largest = changes.largest
    if largest is not None:
        points = len({(moved.area, moved.point) for moved in changes.moved})
        by = show(abs(largest.by), notation, unit=True)
        way = "up" if largest.by > ZERO else "down"
        parts.append(f"{_count(points, 'point')} moved, most {largest.point} {largest.stage} by {by} {way}")
    if changes.added:
        parts.append(f"{_count(len(changes.added), 'point')} new ({_some(changes.added)})")
    if changes.gone:
        parts.append(f"{_count(len(changes.gone), 'point')} gone ({_some(changes.gone)})")
    if changes.tolerances:
        parts.append(f"{_count(len(changes.tolerances), 'tolerance')} changed")
    if changes.stages:
        parts.append(f"{_count(len(changes.stages), 'stage')} new or gone")
    if changes.marks:
        parts.append(f"{_count(len(changes.marks), 'mark')} read otherwise ({_some(changes.marks)})")
    return ", ".join(parts) or "no target changes"


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
        *(f"mark: {name}" for name in changes.marks),
    ]


def amendment_line(fact: Amendment, notation: Notation) -> str:
    """One thing added or changed on site."""
    match fact:
        case PointAdded():
            return f"{fact.point} added: {fact.working}"
        case TargetChanged():
            return f"{fact.point} now {show(fact.finish.height, notation, unit=True)}: {fact.why}"
        case ToleranceChanged():
            high, low = show(fact.high, notation, plus=True), show(-fact.low, notation)
            return f"{fact.area} {fact.stage} tolerance now {high} {low}: {fact.why}"


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


def _count(number: int, word: str) -> str:
    return f"{number} {word if number == 1 else word + 's'}"


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:3]) + (", …" if len(names) > 3 else "")
