"""What was changed on site as edits of the job file, so that the office's plan says what was built to."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import Length
from gradecheck.measure.typed import read_coordinate
from gradecheck.plan.edits import JobFileDraft, Put
from gradecheck.plan.model import Plan, Point
from gradecheck.plan.names import folded
from gradecheck.plan.point_list import decimal
from gradecheck.plan.references import users_of
from gradecheck.plan.spans import Plain
from gradecheck.plan.yaml_tree import KeyPath
from gradecheck.report.plan_changes import counting
from gradecheck.state.amended import Amendment


def into_the_file(draft: JobFileDraft, amendments: Sequence[Amendment], plan: Plan) -> list[Put]:
    """One edit for each thing that was changed and counts in `plan`, the plan as it stands on site.

    A point that was added stands under ``added``. One that was given another finish gets it where the file writes its
    elevation and nothing is counted from it; else under ``instead``, so that nothing else moves.
    """
    found: dict[KeyPath, Plain] = {}
    for fact in counting(amendments, plan):
        home: KeyPath = ("areas", _spelt(draft, ("areas",), fact.area))
        match fact:
            case ToleranceChanged():
                stage = _spelt(draft, (*home, "tolerances"), fact.stage)
                value: Plain = {"high": length_text(fact.high, plan), "low": length_text(fact.low, plan)}
                found[(*home, "tolerances", stage)] = value
            case PointAdded():
                point = plan.areas[fact.area].point(fact.point)
                found[(*home, "added", _spelt(draft, (*home, "added"), fact.point))] = _entry(point, plan)
            case TargetChanged():
                point = plan.areas[fact.area].point(fact.point)
                found |= {_finish_of(draft, home, fact.point): length_text(point.finish.height, plan)}
    return _under_new_keys(draft, found)


def _finish_of(draft: JobFileDraft, home: KeyPath, name: str) -> KeyPath:
    """Where the file gives the point its finish."""
    for group in ("added", "points"):
        path = (*home, group, _spelt(draft, (*home, group), name))
        entry = draft.at(path)
        if isinstance(entry, str) and not users_of(draft.plain, path):
            return path
        if isinstance(entry, dict) and "elevation" in entry and not users_of(draft.plain, path):
            return (*path, "elevation")
    return (*home, "instead", _spelt(draft, (*home, "instead"), name))


def _under_new_keys(draft: JobFileDraft, found: dict[KeyPath, Plain]) -> list[Put]:
    """The edits; where the key above is not in the file yet, it comes with all that stands under it."""
    edits: list[Put] = []
    new: dict[KeyPath, dict[str, Plain]] = {}
    for path, value in found.items():
        if isinstance(draft.at(path[:-1]), dict):
            edits.append(Put(path, value))
        else:
            new.setdefault(path[:-1], {})[str(path[-1])] = value
    return [*edits, *(Put(path, value) for path, value in new.items())]


def _spelt(draft: JobFileDraft, path: KeyPath, name: str) -> str:
    """The name as the file spells it there."""
    there = draft.at(path)
    return next((each for each in there if folded(each) == folded(name)), name) if isinstance(there, dict) else name


def _entry(point: Point, plan: Plan) -> Plain:
    """All that the plan knows of a point that was added."""
    entry: dict[str, Plain] = {"elevation": length_text(point.finish.height, plan)}
    if point.at is not None:
        entry["at"] = [length_text(each, plan) for each in point.at]
    return entry | ({"what": point.what} if point.what else {})


def length_text(length: Length, plan: Plan) -> str:
    """The length as the job file takes it, exactly, or to six decimals where it is finer."""
    units = plan.notation.units
    text = show_exact(length, units, unit=True)
    if read_coordinate(text, units) == length:
        return text
    units = Units.IN if units is Units.FT_IN else units
    return f"{decimal(length, units)} {units}"
