"""What the checks of an area found, in words: one line for each thing, its limit and who sets it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from gradecheck.catalogue import _, check_word, count, translated
from gradecheck.checks.falls import Fall
from gradecheck.checks.flatness import Flatness, flatness_numbers
from gradecheck.checks.held import Held, Judgment
from gradecheck.checks.layout import CornerCheck, Squareness
from gradecheck.checks.line_falls import UnjudgedFall
from gradecheck.checks.not_checked import NotChecked
from gradecheck.checks.slope import JudgedFall, JudgedFalls
from gradecheck.checks.steps import Ahead, FlightCheck
from gradecheck.measure.judged import (
    JudgedTexts,
    judged_length,
    judged_reading,
    judged_slope,
    limit_text,
    reads_right,
    slope_text,
)
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import nearest, show, show_exact
from gradecheck.measure.quantities import Length, feet, millimetres
from gradecheck.plan.limits import Limit, LimitKind
from gradecheck.report.stone import area_text, over_dug_line, undercut_line
from gradecheck.state.as_built import AreaChecks, LineFall, OverDugArea
from gradecheck.state.not_made import PONDING, TAPE_IT

Outcome = Judgment | Literal["not checked"]
"""How what is told came out; a check that was not made neither passes nor fails."""
MARKS: dict[Outcome, str] = {
    "fault": _("OUT"),
    "advice": _("look"),
    "can't tell": _("CAN'T TELL"),
    "not checked": _("NOT CHECKED"),
    "reminder": _("note"),
    "passes": _("OK"),
}
"""What stands before each line; the word says what a color would."""
UNDER_WAY = _("drainage and step rules apply at finish; below it each point has its own tolerance")


@dataclass(frozen=True, slots=True)
class CheckResult:
    """One thing that was checked: under which heading, what was found and where, and how that came out.

    `limit` says what is allowed and `source` who says so; both are empty where there is no limit.
    """

    section: str
    says: str
    verdict: Outcome
    limit: str = ""
    source: str = ""


def area_results(checks: AreaChecks, notation: Notation) -> list[CheckResult]:
    """Everything that was checked of an area, what is out first within each heading; then what was not checked."""
    found = [
        *_falls("falls", checks.falls, notation),
        *_route(checks, notation),
        *_plane(checks, notation),
        *_ponds(checks, notation),
        *_flatness(checks, notation),
        *_flights(checks, notation),
        *_ramps("ramp", checks.ramps, notation),
        *_ramps("level change", checks.level_changes, notation),
        *(gauged_result(held, notation) for held in checks.gauged),
    ]
    if checks.read and not checks.finished:
        found.append(CheckResult("falls", UNDER_WAY, "reminder"))
    order = {outcome: place for place, outcome in enumerate(MARKS)}
    sections = list(dict.fromkeys(result.section for result in found))
    found = sorted(found, key=lambda result: (sections.index(result.section), order[result.verdict]))
    return [*found, *_not_checked(checks.not_checked)]


def _not_checked(found: Iterable[NotChecked]) -> list[CheckResult]:
    """What was not checked, behind all that was; what the same thing would make good stands in one line."""
    alike: dict[tuple[str, str], list[str]] = {}
    for each in found:
        alike.setdefault((each.check, each.how), []).append(each.why)
    return [not_checked_result(NotChecked(check, ", ".join(why), how)) for (check, how), why in alike.items()]


def gauged_result(held: Held, notation: Notation) -> CheckResult:
    """A step that was measured directly."""
    return _held("gauged", held, notation)


def not_checked_result(found: NotChecked) -> CheckResult:
    """A check that was not made: why, and how it could be."""
    return CheckResult(found.check, "; ".join(filter(None, (found.why, found.how))), "not checked")


def result_line(result: CheckResult) -> str:
    """One line of text."""
    limit = (
        _(" (allowed {limit}: {source})", limit=result.limit, source=translated(result.source))
        if result.limit and result.verdict != "passes"
        else ""
    )
    return f"{MARKS[result.verdict]:<5} {result.says}{limit}"


# -- drainage and flatness


def _falls(section: str, falls: JudgedFalls | None, notation: Notation) -> Iterator[CheckResult]:
    if falls is None:
        return
    yield from _worst_falls(section, [each for each in falls.judged if each.verdict not in ("passes", "can't tell")])
    yield from _uncertain_falls(section, falls.judged, notation)
    passing = [judged for judged in falls.judged if judged.verdict == "passes"]
    if passing:
        least = min(passing, key=lambda judged: judged.fall.slope)
        says, limit = _fall(least)
        says = _("{passing} within, the least {says}", passing=count(len(passing), "fall"), says=says)
        yield CheckResult(section, says, "passes", limit, least.limit.source)


def _worst_falls(section: str, judged: list[JudgedFall]) -> Iterator[CheckResult]:
    for each in sorted(judged, key=lambda found: -abs(found.fall.slope.ratio - found.limit.value)):
        toward = _(", toward the building") if each.backward and each.what.startswith("fall") else ""
        says, limit = _fall(each)
        yield CheckResult(section, f"{says}{toward}", each.verdict, limit, each.limit.source)


def _uncertain_falls(section: str, judged: Sequence[JudgedFall], notation: Notation) -> Iterator[CheckResult]:
    """One line for all falls that lie beyond a limit by less than the readings leave open: the worst of them."""
    for limit in dict.fromkeys(each.limit for each in judged if each.verdict == "can't tell"):
        alike = [each for each in judged if each.verdict == "can't tell" and each.limit == limit]
        worst = max(alike, key=lambda each: abs(abs(each.fall.slope.ratio) - limit.value))
        says, allowed = _fall(worst)
        more = _(", and {alike} more like it", alike=len(alike) - 1) if len(alike) > 1 else ""
        apart = (
            _("; points {feet} apart would tell", feet=_feet(worst.apart, notation))
            if worst.apart is not None
            else ""
        )
        says += _(
            ", give or take {percent:.2f}%{more}{apart}",
            percent=float(worst.fall.doubt.percent),
            more=more,
            apart=apart,
        )
        yield CheckResult(section, says, "can't tell", allowed, limit.source)


def _feet(length: Length, notation: Notation) -> str:
    """A length on the ground, rounded up to what one paces off: a foot, or a tenth of a meter."""
    step, unit = (feet(1), "ft") if notation.units.imperial else (millimetres(100), "m")
    steps = -(-length.metres // step.metres)
    return f"{steps} {unit}" if unit == "ft" else f"{steps // 10}.{steps % 10} {unit}"


def _fall(judged: JudgedFall) -> tuple[str, str]:
    """From where to where and how steep, and the limit as it is printed beside that."""
    fall = judged.fall
    where = fall.start if fall.start == fall.end else _("{start} to {end}", start=fall.start, end=fall.end)
    texts = judged_slope(fall.slope.ratio, judged.limit.value, passes=judged.verdict == "passes")
    return f"{where} {texts.found}", texts.limit


def _route(checks: AreaChecks, notation: Notation) -> Iterator[CheckResult]:
    if checks.route is None:
        return
    for section, falls in (("running fall", checks.route.running), ("cross fall", checks.route.cross)):
        out = [judged for judged in falls.judged if judged.verdict == "fault"]
        yield from _worst_falls(section, out)
        yield from _uncertain_falls(section, falls.judged, notation)
        if falls.judged and all(judged.verdict == "passes" for judged in falls.judged):
            most = max(falls.judged, key=lambda judged: abs(judged.fall.slope.ratio))
            says, limit = _fall(most)
            yield CheckResult(section, _("the most {says}", says=says), "passes", limit, most.limit.source)


def _plane(checks: AreaChecks, notation: Notation) -> Iterator[CheckResult]:
    plane = checks.plane
    if plane is None:
        return
    x, y = (f"{float(fall.percent):.2f}%" for fall in plane.plane.falls)
    worst = plane.worst
    off = show(worst.above, notation, unit=True, plus=True)
    texts = _beside(plane.limit, plane.fall.ratio, plane.verdict, notation)
    says = _(
        "best plane falls {found} (along x {x}, along y {y}); {name} is {off} off plane, the worst",
        found=texts.found,
        x=x,
        y=y,
        name=worst.name,
        off=off,
    )
    yield CheckResult("plane", says, plane.verdict, texts.limit, plane.limit.source)


def _ponds(checks: AreaChecks, notation: Notation) -> Iterator[CheckResult]:
    for pond in checks.ponds:
        wide = f", {area_text(pond.area, notation.units)}" if pond.area is not None else ""
        texts = _beside(pond.limit, pond.depth.metres, pond.verdict, notation, worked_out=True)
        says = _("water stands {found} deep at {deepest}{wide}", found=texts.found, deepest=pond.deepest, wide=wide)
        yield CheckResult(PONDING, says, pond.verdict, texts.limit, pond.limit.source)
    if checks.no_way_out:
        yield CheckResult(PONDING, _("walls on every side and no drain: water has no way out"), "advice")
        return
    unknown = any(each.check == PONDING for each in checks.not_checked)
    if checks.flooded and not checks.ponds and not unknown:
        yield CheckResult(PONDING, _("no low spot holds water"), "passes")


def _flatness(checks: AreaChecks, notation: Notation) -> Iterator[CheckResult]:
    for flat in checks.flatness:
        if flat.verdict != "passes":
            worst = flat.worst
            texts = _beside(flat.limit, worst.gap.metres, flat.verdict, notation, worked_out=True)
            where = worst.at.name or _("a place between spots")
            says = _(
                "gap {found} under the straightedge at {where} on the line from {line_ends}",
                found=texts.found,
                where=where,
                line_ends=_line_ends(flat),
            )
            yield CheckResult("flatness", says, flat.verdict, texts.limit, flat.limit.source)
    passing = [flat for flat in checks.flatness if flat.verdict == "passes"]
    if passing:
        most = max(passing, key=lambda flat: flat.worst.gap)
        texts = _beside(most.limit, most.worst.gap.metres, "passes", notation, worked_out=True)
        gap = _("the largest gap {found} on the line from {line_ends}", found=texts.found, line_ends=_line_ends(most))
        says = _("{passing} within, {gap}", passing=count(len(passing), "line"), gap=gap)
        yield CheckResult("flatness", says, "passes", texts.limit, most.limit.source)


def line_results(falls: Sequence[LineFall], flat: Flatness | None, notation: Notation) -> list[CheckResult]:
    """The falls along chosen points, and the straightedge laid along them."""
    found = []
    for each in falls:
        if isinstance(each, NotChecked):
            found.append(not_checked_result(each))
            continue
        fall = each if isinstance(each, Fall) else each.fall
        drop = show_exact(fall.drop, notation.units, unit=True)
        run = show_exact(fall.run, notation.units, unit=True)
        if not isinstance(each, JudgedFall):
            says = _(
                "{start} to {end} {slope_text}, {drop} over {run}",
                start=fall.start,
                end=fall.end,
                slope_text=slope_text(fall.slope.ratio),
                drop=drop,
                run=run,
            )
            if isinstance(each, UnjudgedFall):
                why = "; ".join(filter(None, (says, each.why, each.how)))
                found.append(CheckResult("fall", why, "not checked"))
            else:
                found.append(
                    CheckResult("fall", _("{says}; no rule of the area speaks of this line", says=says), "reminder")
                )
            continue
        says, limit = _fall(each)
        apart = (
            _("; points {feet} apart would tell", feet=_feet(each.apart, notation)) if each.apart is not None else ""
        )
        apart += _(", by the rule of {by}", by=each.by) if each.by else ""
        found.append(
            CheckResult(
                each.what,
                _("{says}, {drop} over {run}{apart}", says=says, drop=drop, run=run, apart=apart),
                each.verdict,
                limit,
                each.limit.source,
            )
        )
    if flat is not None:
        texts = _beside(flat.limit, flat.worst.gap.metres, flat.verdict, notation, worked_out=True)
        where = flat.worst.at.name or _("a place between spots")
        says = _("largest gap {found} under the straightedge, at {where}", found=texts.found, where=where)
        found.append(CheckResult("flatness", says, flat.verdict, texts.limit, flat.limit.source))
        if (numbers := flatness_numbers(flat.line)) is not None:
            flatness, levelness = (
                f"{each:.0f}" if each else "perfect" for each in (numbers.flatness, numbers.levelness)
            )
            says = _(
                "F-numbers against the plan: FF {flatness}, FL {levelness}; read every foot, no rule asks for one",
                flatness=flatness,
                levelness=levelness,
            )
            found.append(CheckResult("flatness", says, "reminder"))
    return found


def _line_ends(flat: Flatness) -> str:
    return _("{first} to {last}", first=flat.line[0].name, last=flat.line[-1].name)


# -- steps


def _flights(checks: AreaChecks, notation: Notation) -> Iterator[CheckResult]:
    for flight in checks.flights:
        if flight.risers:
            yield _risers(flight, notation)
        yield from (_held("steps", held, notation) for held in flight.held if held.verdict != "passes")
        for what in ("neighbor risers", "largest less smallest riser"):
            differ = [held for held in flight.held if held.what == what]
            if differ and all(held.verdict == "passes" for held in differ):
                yield _held("steps", max(differ, key=lambda held: held.value), notation)


def _ramps(section: str, all_held: Sequence[Held], notation: Notation) -> Iterator[CheckResult]:
    """What breaks a rule, and of each kind that keeps its rule the nearest to it."""
    for what in dict.fromkeys(held.what for held in all_held):
        held = [each for each in all_held if each.what == what]
        out = [each for each in held if each.verdict != "passes"]
        yield from (_held(section, each, notation) for each in out or [max(held, key=lambda each: each.value)])


def _risers(flight: FlightCheck, notation: Notation) -> CheckResult:
    """Every riser of a flight, and between what each may lie; OK only where all of them are."""
    held = [each for each in flight.held if each.what == "riser"]
    limits = sorted(dict.fromkeys(each.limit for each in held), key=lambda limit: limit.value)
    return CheckResult(
        "steps",
        _("risers {risers}", risers=", ".join(_riser(riser.height, held, notation) for riser in flight.risers)),
        "passes" if held and all(each.verdict == "passes" for each in held) else "reminder",
        _(" to ").join(number_text(limit.kind, limit.value, notation) for limit in limits),
        "; ".join(dict.fromkeys(limit.source for limit in limits)),
    )


def _riser(height: Length, held: Sequence[Held], notation: Notation) -> str:
    """A riser at the nearest mark, or exactly where the mark would contradict what it was held to."""
    of_it = [(each.limit.length, each.verdict == "passes") for each in held if each.value == height.metres]
    return show(height, notation) if reads_right(height, of_it, notation) else show_exact(height, notation.units)


def ahead_results(ahead: Ahead, notation: Notation) -> CheckResult:
    """What the risers still to build must be, and whether that stays within the rules."""
    risers = ", ".join(show(riser, notation) for riser in ahead.risers)
    faults = [held for held in ahead.breaks if held.verdict == "fault"]
    says = _("to finish on grade, build {risers} next", risers=risers)
    if faults:
        says += _("; that breaks: {says}", says=_held("steps", faults[0], notation).says)
    return CheckResult("steps", says, "fault" if faults else "reminder")


def _held(section: str, held: Held, notation: Notation) -> CheckResult:
    where = _("{first} to {last}", first=held.where[0], last=held.where[-1]) if len(held.where) > 1 else held.where[0]
    if len(held.where) == 4:  # two risers, which need not be neighbors
        where = _(" against ").join(_(" to ").join(held.where[at : at + 2]) for at in (0, 2))
    texts = _beside(held.limit, held.value, held.verdict, notation)
    return CheckResult(
        section, f"{check_word(held.what)} {texts.found}, {where}", held.verdict, texts.limit, held.limit.source
    )


# -- squareness


def layout_results(name: str, square: Squareness, notation: Notation) -> list[CheckResult]:
    """What the tapes of a layout check say."""
    found = []
    for corner in square.corners:
        says, limit = _corner(corner, notation)
        found.append(
            CheckResult(
                name,
                _("corner {name} is {says}", name=corner.name, says=says),
                corner.verdict,
                limit,
                corner.limit.source,
            )
        )
    if square.misread is not None:
        ends = _(" to ").join(sorted(square.misread.pair))
        should = show(square.misread.should, notation, unit=True)
        sure = "" if square.misread.sure else _(", or another; tape both again")
        found.append(
            CheckResult(
                name,
                _(
                    "the tape {ends} looks misread, it should show {should}{sure}",
                    ends=ends,
                    should=should,
                    sure=sure,
                ),
                "fault",
            )
        )
    elif square.closes is False:
        found.append(CheckResult(name, _("these measurements can't be right; tape them again"), "fault"))
    if not square.proved:
        found.append(
            CheckResult(
                name,
                _(
                    "{begun} taped; {tape_it}",
                    begun=_("not all is") if square.begun else _("nothing is"),
                    tape_it=TAPE_IT,
                ),
                "not checked",
            )
        )
    return found


def _corner(corner: CornerCheck, notation: Notation) -> tuple[str, str]:
    """How far a corner puts its sides out of square, each over its length, and what the longer one may be."""
    if not corner.lean.ratio:
        return _("square"), slope_text(corner.limit.value)
    sides = [(abs(by), Length(abs(by.metres / corner.lean.ratio)), end) for end, by in corner.over]
    sides_out = [
        (judged_reading(by, corner.limit.slope.over(side), notation, worked_out=True), _run(side, notation), end)
        for by, side, end in sorted(sides, key=lambda each: -each[1].metres)
    ]
    limit = _("{limit} over {length}", limit=sides_out[0][0].limit, length=sides_out[0][1])
    if all(texts.found.startswith("0 ") for texts, _, _ in sides_out):
        return _("square"), limit
    out = ", ".join(
        _("{found} over {far} to {end}", found=texts.found, far=far, end=end) for texts, far, end in sides_out
    )
    return _(
        "too {ratio}: out of square {out}", ratio=_("open") if corner.lean.ratio > 0 else _("closed"), out=out
    ), limit


def _run(side: Length, notation: Notation) -> str:
    """A side as people say it: in feet and whole inches, or in the job's unit."""
    if not notation.units.imperial:
        return show(side, notation, unit=True)
    rounded = nearest(side, Units.IN.one)
    if (rounded.metres / feet(1).metres).denominator == 1:
        return show_exact(rounded, Units.FT, unit=True)
    return show_exact(rounded, Units.FT_IN)


# -- over-dig


def over_dig_result(found: OverDugArea, notation: Notation) -> CheckResult:
    """What an area's dig was too deep by, in stone and money."""
    return CheckResult("over-dig", over_dug_line(found, notation), "advice" if found.dug.over else "passes")


def dig_results(found: OverDugArea, notation: Notation) -> list[CheckResult]:
    """The same, and apart from it what was ordered dug below the subgrade."""
    results = [over_dig_result(found, notation)]
    if found.undercut is not None:
        results.append(CheckResult("undercut", undercut_line(found.undercut, notation), "passes"))
    return results


# -- numbers in words


def number_text(kind: LimitKind, value: Fraction, notation: Notation) -> str:
    """A number in the unit of its kind."""
    if kind == "count":
        return f"{int(value)}"
    return limit_text(Length(value), notation.units) if kind == "length" else slope_text(value)


def _beside(
    limit: Limit, found: Fraction, verdict: Judgment, notation: Notation, *, worked_out: bool = False
) -> JudgedTexts:
    """What was found and its limit, each in the unit of its kind, printed so that they tell the verdict."""
    passes = verdict == "passes"
    if limit.kind == "slope":
        return judged_slope(found, limit.value, passes=passes)
    if limit.kind == "length":
        return judged_length(Length(found), limit.length, notation, passes=passes, worked_out=worked_out)
    return JudgedTexts(number_text("count", found, notation), number_text("count", limit.value, notation))
