"""What changed in a plan, in words: by the office since it was accepted, and on site since then."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from gradecheck.catalogue import _, count, plural, translated
from gradecheck.journal.facts import PointAdded, TargetChanged, ToleranceChanged
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show, show_exact, some
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.typed import read_coordinate
from gradecheck.plan.changes import Changes, Moved
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.point_list import decimal
from gradecheck.state.amended import Amendment
from gradecheck.state.state import State


def offer_words(number: int | None) -> str:
    """What is offered: a plan with the number that the office gave it, or the job file as somebody changed it."""
    return _("The job file has changed") if number is None else _("New plan {number} from the office", number=number)


def summary(changes: Changes, notation: Notation) -> str:
    """One sentence: how many targets move, the largest of them, what came and went."""
    parts = []
    largest = changes.largest
    if largest is not None:
        points = len({(moved.area, moved.point) for moved in changes.moved})
        by = show(abs(largest.by), notation, unit=True)
        way = "up" if largest.by > ZERO else "down"
        parts.append(
            _(
                "{points} moved, most {point} {stage} by {by} {way}",
                points=count(points, "point"),
                point=largest.point,
                stage=largest.stage,
                by=by,
                way=way,
            )
        )
    if changes.added:
        parts.append(
            _("{points} new ({names})", points=count(len(changes.added), "point"), names=some(changes.added))
        )
    if changes.gone:
        parts.append(_("{points} gone ({names})", points=count(len(changes.gone), "point"), names=some(changes.gone)))
    if changes.tolerances:
        parts.append(_("{tolerances} changed", tolerances=count(len(changes.tolerances), "tolerance")))
    if changes.stages:
        parts.append(_("{stages} new or gone", stages=count(len(changes.stages), "stage")))
    if changes.marks:
        parts.append(
            _(
                "{marks} read otherwise ({names})",
                marks=count(len(changes.marks), "mark or rod", "marks or rods"),
                names=some(changes.marks),
            )
        )
    if changes.lost:
        lost = _(
            "{marks} gone ({names})",
            marks=count(len(changes.lost), "mark or rod", "marks or rods"),
            names=some(changes.lost),
        )
        parts.append(
            plural(
                len(changes.lost),
                "{lost}; readings by it lose their elevation",
                "{lost}; readings by them lose their elevation",
                lost=lost,
            )
        )
    if changes.judged:
        parts.append(_("judged again: {judged}", judged=some(changes.judged)))
    if changes.unjudged:
        parts.append(_("EXAMPLE FIGURES, not judged any more: {unjudged}", unjudged=some(changes.unjudged)))
    parts = parts or [_("no target changes")]
    if settings := _settings(changes):
        parts.append(
            _(
                "{settings} changed ({names})",
                settings=count(len(settings), "setting"),
                names=some(settings),
            )
        )
    if changes.staying:
        parts.append(
            plural(
                len(changes.staying),
                "{n} point changed on site stays ({names})",
                "{n} points changed on site stay ({names})",
                names=some(changes.staying),
            )
        )
    return ", ".join(parts)


def _settings(changes: Changes) -> list[str]:
    """What else is written otherwise, but for the tolerances and marks that are counted already."""
    marks = (*changes.marks, *changes.lost)
    counted = tuple(f"{kind} {name} " for name in marks for kind in ("benchmark", "datum", "rod"))
    counted += tuple(_("{name} example figures ", name=name) for name in (*changes.judged, *changes.unjudged))
    tolerances = {_("{area} {stage} tolerance", area=area, stage=stage) for area, stage in changes.tolerances}
    others = (each.what for each in changes.others)
    return [what for what in others if what not in tolerances and not f"{what} ".startswith(counted)]


def change_lines(changes: Changes, notation: Notation) -> list[str]:
    """A line for each area whose targets or points change, then every other thing from what it was to what it is."""
    return [
        *_area_lines(changes, notation),
        *(_("new: {name}", name=name) for name in _points_by_area(changes.added, changes.homes)),
        *(_("gone: {name}", name=name) for name in _points_by_area(changes.gone, changes.homes)),
        *_stage_lines(changes.stages),
        *(_("{what}: from {was} to {now}", what=each.what, was=each.was, now=each.now) for each in changes.others),
        *(_("gone, with the height of what was read by it: {name}", name=name) for name in changes.lost),
        *(_("judged again, no example figures left: {name}", name=name) for name in changes.judged),
        *(_("EXAMPLE FIGURES, not judged any more: {name}", name=name) for name in changes.unjudged),
    ]


def _area_lines(changes: Changes, notation: Notation) -> Iterator[str]:
    """Areas with the largest move first: how many points move at which stages, and how far."""
    by_area: dict[str, list[Moved]] = defaultdict(list)
    for each in changes.moved:
        by_area[each.area].append(each)
    for area, moved in sorted(by_area.items(), key=lambda each: -max(abs(one.by) for one in each[1])):
        most = max(moved, key=lambda each: abs(each.by))
        by = show(most.by, notation, unit=True, plus=True)
        points = list(dict.fromkeys(each.point for each in moved))
        stages = ", ".join(dict.fromkeys(each.stage for each in moved))
        alike = len({each.by for each in moved}) == 1
        far = (
            f"{'all ' if len(moved) > 1 else ''}{by}"
            if alike
            else _("most {point} {stage} {by}", point=most.point, stage=most.stage, by=by)
        )
        yield _(
            "{area}: {points} moved ({names}) at {stages}, {far}",
            area=area,
            points=count(len(points), "point"),
            names=some(points),
            stages=stages,
            far=far,
        )


def _points_by_area(names: Sequence[str], homes: Mapping[str, str]) -> list[str]:
    """The points that came or went, a text for each area."""
    by_area: dict[str, list[str]] = defaultdict(list)
    for name in names:
        by_area[homes.get(name, "")].append(name)
    return [f"{area}, {count(len(each), 'point')} ({some(each)})" for area, each in by_area.items()]


def _stage_lines(stages: Sequence[tuple[str, str]]) -> Iterator[str]:
    by_area: dict[str, list[str]] = defaultdict(list)
    for area, stage in stages:
        by_area[area].append(stage)
    yield from (
        _("stages new or gone: {area}, {stages}", area=area, stages=", ".join(each)) for area, each in by_area.items()
    )


def amendment_line(fact: Amendment, notation: Notation, state: State | None = None) -> str:
    """One thing added or changed on site; a finish as the state shows it, without one from its area's own zero."""
    match fact:
        case PointAdded():
            return _("{point} added: {worked}", point=fact.point, worked=_worked(fact, state))
        case TargetChanged():
            height, zero = _as_shown(fact, state) if state else (fact.finish.height, "")
            return _(
                "{point} now {height}{zero}: {why}",
                point=fact.point,
                height=show(height, notation, unit=True),
                zero=zero,
                why=fact.why,
            )
        case ToleranceChanged():
            high, low = show(fact.high, notation, plus=True), show(-fact.low, notation)
            return _(
                "{area} {stage} tolerance now {high} {low}: {why}",
                area=fact.area,
                stage=fact.stage,
                high=high,
                low=low,
                why=fact.why,
            )


def _worked(fact: PointAdded, state: State | None) -> str:
    """How the point comes by its finish now: it may have moved with what it was made from."""
    area = state.plan.areas.get(fact.area) if state else None
    point = area.point(fact.point) if area is not None and fact.point in area.index else None
    moved = point is not None and point.on_site and point.working.startswith(f"{fact.working}; moved with ")
    return translated(point.working if point is not None and moved else fact.working)


def _as_shown(fact: TargetChanged, state: State) -> tuple[Length, str]:
    """The finish from the zero shown, or from its area's own while that is not tied; of several zeros it is named."""
    area = state.plan.areas.get(fact.area)
    own, height = area.datum if area else None, fact.finish.height
    if (zero := state.zero_of(own)) is not None:
        own, height = state.datum, state.shown(zero + height)
    return height, _(" from {own}", own=own or _("the job zero")) if state.plan.datums else ""


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
    return fact.point in area.index and area.point(fact.point).on_site


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
    return some(
        [
            _("{area} {stage} tolerance", area=fact.area, stage=fact.stage)
            if isinstance(fact, ToleranceChanged)
            else fact.point
            for fact in amendments
        ],
        8,
    )


def plan_text(amendments: Sequence[Amendment], plan: Plan) -> str:
    """What was added and changed on site as text for the job file, each area's lines to be pasted under its name.

    `plan` is the plan as it stands on site: what counts no more in it, since the office drew it anew, is left out.
    """
    lines: list[str] = []
    for name in dict.fromkeys(fact.area for fact in amendments):
        if (area := plan.areas.get(name)) is not None:
            facts = [fact for fact in amendments if fact.area == name]
            entries = [*_tolerances(area, facts, plan.notation), *_points(area, facts, plan.notation)]
            lines += [f"  {_quoted(name)}:", *entries] if entries else []
    if not lines:
        return _("# Nothing was added or changed on site.\n")
    head = _("# Added and changed on site; paste each area's lines under that area of the job file.")
    return "\n".join([head, "areas:", *lines]) + "\n"


def _points(area: Area, facts: Iterable[Amendment], notation: Notation) -> list[str]:
    """What was added, and what the plan's own points become instead; what is counted from those stays."""
    added: dict[str, str] = {}
    changed: dict[str, str] = {}
    for fact in facts:
        match fact:
            case PointAdded():
                # Where the office drew the point meanwhile it is one of the plan's own.
                if fact.point in area.index and area.point(fact.point).working.startswith(fact.working):
                    added[fact.point] = fact.working
            case TargetChanged():
                (added if fact.point in added else changed)[fact.point] = fact.why
            case ToleranceChanged():
                pass
    lines = []
    for key, reasons in (("added", added), ("instead", changed)):
        found = [area.point(name) for name in reasons if name in area.index and area.point(name).on_site]
        entries = (
            _entry(each, notation) if key == "added" else _length(each.finish.height, notation) for each in found
        )
        said = [
            f"      {_quoted(point.name)}: {entry}  # {reasons[point.name]}"
            for point, entry in zip(found, entries, strict=True)
        ]
        lines += [f"    {key}:", *said] if said else []
    return lines


def _entry(point: Point, notation: Notation) -> str:
    """All that the plan knows of the point."""
    at = f", at: [{_length(point.at[0], notation)}, {_length(point.at[1], notation)}]" if point.at else ""
    what = (f", what: {_quoted(point.what)}") if point.what else ""
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
    if read_coordinate(text, notation.units) != length:  # then six decimals, all that is read again
        units = Units.IN if notation.units is Units.FT_IN else notation.units
        text = f"{decimal(length, units)} {units}"
    return _quoted(text) if '"' in text or "'" in text else text


def _quoted(text: str) -> str:
    """A text as YAML reads it back: plain where it can be, else between single quotes."""
    plain = text.replace(" ", "").replace("-", "").replace(".", "").replace("/", "")
    return text if plain.isalnum() and text[0].isalpha() else "'" + text.replace("'", "''") + "'"
