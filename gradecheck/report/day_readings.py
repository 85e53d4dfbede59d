"""The readings of a day for the daily report: a table per area and stage, and what was checked of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from gradecheck.catalogue import _, stage_word
from gradecheck.journal.facts import Gauged, Reading
from gradecheck.journal.stamps import day_of
from gradecheck.journal.store import LogLine
from gradecheck.measure.printed import is_exact, show
from gradecheck.measure.quantities import Elevation
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Area
from gradecheck.plan.targets import Target
from gradecheck.report.checks import CheckResult, area_results, over_dig_result
from gradecheck.report.day_book import DayBook, Noted, PrintedLength
from gradecheck.report.log import CLOCK_UNKNOWN, IN_DOUBT, log_row, reading_notes
from gradecheck.report.review import signed_text
from gradecheck.report.rows import shown
from gradecheck.report.scene import Scene, as_built_scene
from gradecheck.state.as_built import OverDugArea, check_area, topmost_stage
from gradecheck.state.state import Shot, State, Surface, shot_of

OUT = (Word.CUT.shown, Word.FILL.shown)


@dataclass(frozen=True, slots=True)
class DayReading:
    """One reading that counts: `seq` is the entry it can be traced to, `setup` that of its setup (0: struck).

    `then` is how it was judged when it was taken, `now` how it is today; `latest` is false for one read again.
    """

    seq: int
    day: str
    time: str
    by: str
    point: str
    what: str
    setup: int
    target: PrintedLength
    rod: PrintedLength
    found: PrintedLength
    off: PrintedLength
    then: str
    now: str
    doubt: bool
    latest: bool
    remark: str


@dataclass(frozen=True, slots=True)
class StageOfDay:
    """One stage of an area: what is allowed, its readings along the route, what was checked, who signed.

    `unread` are points nobody read yet; `earlier` those last read on another day, each with its entry, which the
    checks lean on as well.
    """

    stage: str
    allowed: str
    points: int
    readings: tuple[DayReading, ...]
    unread: tuple[str, ...]
    earlier: tuple[str, ...]
    checks: tuple[CheckResult, ...]
    signed: str

    @property
    def out(self) -> list[str]:
        """The points whose last reading is CUT or FILL, each with how far."""
        bad = [each for each in self.readings if each.latest and each.now.startswith(OUT)]
        return [f"{each.point} {each.now}" for each in bad]


@dataclass(frozen=True, slots=True)
class AreaMap:
    """What was found at a stage, or at one of each area, to be drawn with a scale in feet or in meters."""

    stage: str
    scene: Scene
    feet: bool


@dataclass(frozen=True, slots=True)
class AreaOfDay:
    """One area in which something was measured that day; `map` shows its topmost stage read then."""

    name: str
    what: str
    stages: tuple[StageOfDay, ...]
    gauged: tuple[Noted, ...]
    over_dig: CheckResult | None
    map: AreaMap | None = None


def areas_of_day(book: DayBook, dug: Mapping[str, OverDugArea]) -> tuple[AreaOfDay, ...]:
    """Every area in which something was measured that day, in the plan's order; those it lost since come last.

    `dug` tells of the areas whose subgrade was read what they were over-dug by.
    """
    read: dict[str, dict[str, list[tuple[Reading, LogLine]]]] = {}
    for line in book.counting(Reading):
        if isinstance(line.entry.fact, Reading):
            fact = line.entry.fact
            read.setdefault(fact.area, {}).setdefault(fact.stage, []).append((fact, line))
    gauged: dict[str, list[Noted]] = {}
    for line in book.counting(Gauged):
        if isinstance(line.entry.fact, Gauged):
            gauged.setdefault(line.entry.fact.area, []).append(book.as_noted(line))
    names = dict.fromkeys((*book.state.plan.areas, *read, *gauged))
    return tuple(
        _area(book, name, read.get(name, {}), gauged.get(name, []), dug.get(name))
        for name in names
        if name in read or name in gauged
    )


def _area(
    book: DayBook,
    name: str,
    read: dict[str, list[tuple[Reading, LogLine]]],
    gauged: list[Noted],
    dug: OverDugArea | None,
) -> AreaOfDay:
    state = book.state
    area = state.plan.areas.get(name)
    if area is None:
        stages = tuple(_lost_stage(book, stage, rows) for stage, rows in read.items())
        return AreaOfDay(name, _("not in the plan now"), stages, tuple(gauged), None)
    order = [stage for stage in area.stages if stage in read] or [topmost_stage(state, area)] * bool(gauged)
    stages = tuple(_stage(book, area, stage, read.get(stage, []), top=stage == order[-1]) for stage in order)
    lost = tuple(_lost_stage(book, stage, rows) for stage, rows in read.items() if stage not in area.stages)
    over_dig = over_dig_result(dug, state.plan.notation) if dug else None
    drawn = _map(state, [(area, order[-1])], order[-1]) if order else None
    return AreaOfDay(name, area.what, (*stages, *lost), tuple(gauged), over_dig, drawn)


def site_map(state: State) -> AreaMap | None:
    """All areas where anything was read, each at its topmost stage read; None where no two points have a place."""
    read = [
        (area, max((stage for stage in area.stages if state.checked(area.name, stage)), key=area.stages.index))
        for area in state.plan.areas.values()
        if any(state.checked(area.name, stage) for stage in area.stages)
    ]
    return _map(state, read, ", ".join(f"{area.name} {stage_word(stage)}" for area, stage in read))


def _map(state: State, stages: Sequence[tuple[Area, str]], stage: str) -> AreaMap | None:
    """None where the plan does not say where two of the points lie."""
    scene = as_built_scene(state, stages, falls=())
    places = {point.at for point in scene.points}
    if len(scene.points) < 2 or len({*places, *scene.extent}) < 2:
        return None
    return AreaMap(stage, scene, state.plan.notation.units.imperial)


def _stage(book: DayBook, area: Area, stage: str, read: list[tuple[Reading, LogLine]], *, top: bool) -> StageOfDay:
    state = book.state
    checks = area_results(check_area(state, area.name, stage), state.plan.notation)
    # Steps measured with a gauge belong to no stage; they are told once, at the topmost.
    checks = [result for result in checks if top or result.section != "gauged"]
    unread, earlier = _unread_or_earlier(book, area, stage)
    last = len(area.points)
    along = sorted(read, key=lambda each: (area.index.get(each[0].point, last), each[1].entry.seq))
    return StageOfDay(
        stage=stage,
        allowed=_allowed(book, area, stage),
        points=len(area.points),
        readings=tuple(_reading(book, fact, line) for fact, line in along),
        unread=unread,
        earlier=earlier,
        checks=tuple(checks),
        signed=signed_text(state, area.name, stage),
    )


def _lost_stage(book: DayBook, stage: str, read: list[tuple[Reading, LogLine]]) -> StageOfDay:
    readings = tuple(_reading(book, fact, line) for fact, line in read)
    return StageOfDay(stage, _("not in the plan now"), 0, readings, (), (), (), "")


def _unread_or_earlier(book: DayBook, area: Area, stage: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The points nobody read at that stage, and those last read on another day with their entries."""
    unread, earlier = [], []
    for point in area.points:
        shot = book.state.latest(Surface(area.name, point.name, stage))
        if shot is None:
            unread.append(point.name)
        elif (first := book.entry(shot.id)) is not None and not book.is_of(first):
            earlier.append(
                _(
                    "{name} no. {seq} ({day})",
                    name=point.name,
                    seq=book.current_number(shot.id),
                    day=day_of(first.at, first.offset),
                )
            )
    return tuple(unread), tuple(earlier)


def _allowed(book: DayBook, area: Area, stage: str) -> str:
    """What the stage may be off, both ways, and who says so."""
    notation, tolerance = book.state.plan.notation, area.tolerances.get(stage)
    if tolerance is None:
        return ""
    changed = book.tolerance_changed(area.name, stage)
    source = _("changed on site, no. {changed}", changed=changed) if changed else _("the plan")
    return _(
        "{high} high, {low} low ({source})",
        high=shown(tolerance.high, notation),
        low=shown(tolerance.low, notation),
        source=source,
    )


def _reading(book: DayBook, fact: Reading, line: LogLine) -> DayReading:
    """One reading in the place where it counts, judged then and now with the strings of the log."""
    state, first = book.state, line.first or line.entry
    notation, row = state.plan.notation, log_row(state, line)
    surface = Surface(fact.area, fact.point, fact.stage)
    shot = shot_of(first, fact, line.entry.by)
    target, found, verdict = state.target(surface), state.found(shot, surface), state.judge(shot, surface)
    area, latest = state.plan.areas.get(fact.area), state.latest(surface)
    setup = state.setups.get(fact.setup)
    rod = state.book.rod(setup.fact.rod).notation if setup else notation
    mark = "" if is_exact(fact.rod, rod) else "~"
    return DayReading(
        seq=line.entry.seq,
        day=row.day,
        time=row.time,
        by=state.who(line.entry.seq, shot.by),
        point=fact.point,
        what=area.point(fact.point).what if area is not None and fact.point in area.index else "",
        setup=book.current_number(setup.id) if setup else 0,
        target=_elevation(state, target.wanted)
        if target
        else PrintedLength(_("not tied") if state.is_planned(surface) else _("not in the plan")),
        rod=PrintedLength(mark + show(fact.rod, rod, unit=rod.units is not notation.units), fact.rod),
        found=PrintedLength(show(state.shown(found), notation), state.shown(found))
        if found
        else PrintedLength(_("no setup")),
        off=PrintedLength(show(verdict.rounded(notation.graduation), notation, plus=True), verdict.difference)
        if verdict and verdict.word is not Word.EXAMPLE
        else PrintedLength(),
        then=row.then,
        now=row.now.removeprefix(IN_DOUBT),
        doubt=state.in_doubt(shot),
        latest=latest is None or latest.id == shot.id,
        remark=_remark(book, fact, line, shot, target, found),
    )


def _elevation(state: State, elevation: Elevation) -> PrintedLength:
    height = state.shown(elevation)
    return PrintedLength(shown(height, state.plan.notation), height)


def _remark(
    book: DayBook, fact: Reading, line: LogLine, shot: Shot, target: Target | None, found: Elevation | None
) -> str:
    """What else must be known of a reading: doubt, what stands in its place, what has moved since."""
    state, parts = book.state, []
    surface = Surface(fact.area, fact.point, fact.stage)
    if state.in_doubt(shot):
        parts.append(_("IN DOUBT"))
    elif state.answered[shot.id]:
        parts.append(_("doubted, trusted"))
    if line.first is not None:
        parts.append(_("corrects no. {seq}", seq=line.first.seq))
    latest = state.latest(surface)
    if latest is not None and latest.id != shot.id:
        parts.append(_("read again, no. {seq}", seq=book.current_number(latest.id)))
    if fact.question:
        parts.append(_("questioned, kept"))
    parts += reading_notes(fact, state.plan.notation)
    if line.entry.clock:
        parts.append(CLOCK_UNKNOWN)
    if behind := log_row(state, line).behind:
        parts.append(behind)
    notation = state.plan.notation
    if target is not None and target.wanted != fact.judged.wanted:
        parts.append(_("then target {wanted}", wanted=shown(state.shown(fact.judged.wanted), notation)))
    if found is not None and found != fact.judged.found:
        parts.append(_("then found {found}", found=show(state.shown(fact.judged.found), notation)))
    return "; ".join(parts)
