"""What changed in a plan, in words: by the office since it was taken over, and on site since then."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gradecheck.amended import Amendment
from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show, show_exact
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.plan.changes import Changes


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


def plan_text(amendments: Sequence[Amendment], notation: Notation) -> str:
    """What was added and changed on site as text for the job file, to be merged in the office."""
    areas: dict[str, list[Amendment]] = {}
    for fact in amendments:
        areas.setdefault(fact.area, []).append(fact)
    lines = ["# Added and changed on site; each replaces or joins what the job file has under that name.", "areas:"]
    for area, facts in areas.items():
        lines.append(f"  {_quoted(area)}:")
        lines += _tolerances(facts, notation)
        lines += _points(facts, notation)
    return "\n".join(lines) + "\n" if areas else "# Nothing was added or changed on site.\n"


def _points(facts: Iterable[Amendment], notation: Notation) -> list[str]:
    points: dict[str, str] = {}
    for fact in facts:
        match fact:
            case PointAdded():
                at = f", at: [{_length(fact.at[0], notation)}, {_length(fact.at[1], notation)}]" if fact.at else ""
                what = f", what: {_quoted(fact.what)}" if fact.what else ""
                points[fact.point] = f"{{elevation: {_elevation(fact.finish, notation)}{at}{what}}}  # {fact.working}"
            case TargetChanged():
                points[fact.point] = f"{{elevation: {_elevation(fact.finish, notation)}}}  # {fact.why}"
            case ToleranceChanged():
                pass
    return ["    points:", *(f"      {_quoted(name)}: {entry}" for name, entry in points.items())] if points else []


def _tolerances(facts: Iterable[Amendment], notation: Notation) -> list[str]:
    changed = {fact.stage: fact for fact in facts if isinstance(fact, ToleranceChanged)}
    entries = [
        f"      {_quoted(stage)}: {{high: {_length(fact.high, notation)}, low: {_length(fact.low, notation)}}}"
        f"  # {fact.why}"
        for stage, fact in changed.items()
    ]
    return ["    tolerances:", *entries] if entries else []


def _length(length: Length, notation: Notation) -> str:
    text = show_exact(length, notation.units, unit=True)
    return _quoted(text) if '"' in text or "'" in text else text


def _elevation(elevation: Elevation, notation: Notation) -> str:
    return _length(elevation.height, notation)


def _quoted(text: str) -> str:
    """A text as YAML reads it back: plain where it can be, else between single quotes."""
    plain = text.replace(" ", "").replace("-", "").replace(".", "").replace("/", "")
    return text if plain.isalnum() and text[0].isalpha() else "'" + text.replace("'", "''") + "'"


def _count(number: int, word: str) -> str:
    return f"{number} {word if number == 1 else word + 's'}"


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:3]) + (", …" if len(names) > 3 else "")
