"""What was recorded, with its names as the current plan writes them: it may have other capitals for them by now."""

from __future__ import annotations

from dataclasses import replace

from gradecheck.journal.facts import (
    Backsight,
    BacksightTaken,
    Entry,
    Fact,
    Note,
    PointAdded,
    Reading,
    SetupMade,
    Taped,
)
from gradecheck.plan.model import Plan
from gradecheck.plan.spelling import PlanNames
from gradecheck.state.fold import Surface

_KINDS = {
    "area": "areas", "point": "points", "stage": "stages", "mark": "points", "rod": "rods", "datum": "datums",
    "layout": "layouts", "accepted": "points", "unread": "points",
}  # fmt: skip
"""What the fields of facts name; a `rod` that is a length is none."""


class Spelt:
    """Spells facts as one plan does. A name that the plan does not have stays as it was recorded."""

    def __init__(self, plan: Plan) -> None:
        self._names = PlanNames(plan)
        marks = (datum.mark for datum in plan.datums.values() if datum.mark not in plan.benchmarks)
        self._of_datums = {f"{mark} of ".casefold(): mark for mark in marks}
        """The marks that the plan names and leaves to be shot: one spot for all laptops, whoever shot it."""

    def entry(self, entry: Entry) -> Entry:
        """The entry with its fact spelt so; its hash and what was typed stay."""
        fact = self.fact(entry.fact)
        return entry if fact is entry.fact else replace(entry, fact=fact)

    def fact(self, fact: Fact) -> Fact:
        """The fact with its names spelt so; the very same where they are."""
        if isinstance(fact, Reading) and self._names.has(fact.area, fact.point, fact.stage):
            return fact
        changed: dict[str, object] = {}
        for field, kind in _KINDS.items():
            name = getattr(fact, field, None)
            if isinstance(name, str | tuple) and (spelt := getattr(self._names, kind).some(name)) != name:
                changed[field] = spelt
        if isinstance(mark := getattr(fact, "mark", None), str) and (planned := self._planned(mark)) != mark:
            changed["mark"] = planned
        points = self._names.points
        match fact:
            case PointAdded(start=start) if points.one(start) != start:
                changed["start"] = points.one(start)
            case BacksightTaken(sight=sight) if self._sight(sight) is not sight:
                changed["sight"] = self._sight(sight)
            case Taped(start=start, end=end):
                ends = {"start": self._names.corners.one(start), "end": self._names.corners.one(end)}
                changed |= {field: name for field, name in ends.items() if name != getattr(fact, field)}
            case SetupMade(backsights=sights) if any(self._sight(each) is not each for each in sights):
                changed["backsights"] = tuple(map(self._sight, sights))
            case Note(on_layers=True):
                changed |= self._on_layers(fact)
            case _:
                pass
        return replace(fact, **changed) if changed else fact  # type: ignore[arg-type]

    def _on_layers(self, fact: Note) -> dict[str, object]:
        """What a note says of layers, where it is spelt otherwise."""
        stages, changed = self._names.stages, dict[str, object]()
        if fact.compacted and (stage := stages.one(fact.compacted.stage)) != fact.compacted.stage:
            changed["compacted"] = replace(fact.compacted, stage=stage)
        if fact.undercut and (point := self._names.points.one(fact.undercut.point)) != fact.undercut.point:
            changed["undercut"] = replace(fact.undercut, point=point)
        if (hold := stages.one(fact.past_hold)) != fact.past_hold:
            changed["past_hold"] = hold
        return changed

    def surface(self, surface: Surface) -> Surface:
        """The surface with its names spelt so."""
        area, point, stage = surface
        names = self._names
        return Surface(names.areas.one(area), names.points.one(point), names.stages.one(stage))

    def _planned(self, mark: str) -> str:
        """A mark of a datum without the laptop that shot it; any other as the plan spells it."""
        whole = mark.casefold() if self._of_datums else ""
        found = (name for beginning, name in self._of_datums.items() if whole.startswith(beginning))
        return next(found, None) or self._names.points.one(mark)

    def _sight(self, sight: Backsight) -> Backsight:
        mark = self._planned(sight.mark)
        return sight if mark == sight.mark else replace(sight, mark=mark)
