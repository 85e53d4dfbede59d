"""What the checks of an area found, in words: one line for each thing, its limit and who sets it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.checks.flatness import Flatness
from gradecheck.checks.held import Held, Verdict
from gradecheck.checks.risers import Ahead
from gradecheck.checks.slope import Fall, Falls, JudgedFall
from gradecheck.checks.squareness import Squareness, in_degrees
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import nearest, show, show_exact
from gradecheck.measure.quantities import FOOT, Length
from gradecheck.plan.limits import Kind, Limit
from gradecheck.plan.stone import POUND, TON, YARD_3
from gradecheck.state.as_built import AreaChecks, OverDugArea

MARKS: dict[Verdict, str] = {"fault": "OUT", "advice": "look", "reminder": "note", "passes": "good"}
"""What stands before each line; the word says what a colour would."""


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that was checked: under which heading, what was found and where, and how that came out.

    `limit` says what is allowed and `source` who says so; both are empty where there is no limit.
    """

    section: str
    says: str
    verdict: Verdict
    limit: str = ""
    source: str = ""


def told_area(checks: AreaChecks, notation: Notation) -> list[Told]:
    """Everything that was checked of an area, what is out first within each heading."""
    found = [
        *_falls("falls", checks.falls, notation),
        *_route(checks, notation),
        *_plane(checks, notation),
        *_ponds(checks, notation),
        *_flatness(checks, notation),
        *_flights(checks, notation),
        *(_held("gauged", held, notation) for held in checks.gauged),
    ]
    order = {"fault": 0, "advice": 1, "reminder": 2, "passes": 3}
    sections = list(dict.fromkeys(told.section for told in found))
    return sorted(found, key=lambda told: (sections.index(told.section), order[told.verdict]))


def line(told: Told) -> str:
    """One line of text."""
    limit = f" (allowed {told.limit}: {told.source})" if told.limit and told.verdict != "passes" else ""
    return f"{MARKS[told.verdict]:<5} {told.says}{limit}"


# -- drainage and flatness


def _falls(section: str, falls: Falls | None, notation: Notation) -> Iterator[Told]:
    if falls is None:
        return
    yield from _worst_falls(section, [judged for judged in falls.judged if judged.verdict != "passes"], notation)
    passing = [judged for judged in falls.judged if judged.verdict == "passes"]
    if passing:
        least = min(passing, key=lambda judged: judged.fall.slope)
        says = f"{_count(len(passing), 'fall')} within, the least {_fall(least)}"
        yield Told(section, says, "passes", *_limit(least.limit, notation))


def _worst_falls(section: str, judged: list[JudgedFall], notation: Notation) -> Iterator[Told]:
    for each in sorted(judged, key=lambda found: found.fall.slope):
        toward = ", toward the building" if each.backward and each.what.startswith("fall") else ""
        yield Told(section, f"{_fall(each)}{toward}", each.verdict, *_limit(each.limit, notation))


def _fall(judged: JudgedFall) -> str:
    return f"{judged.fall.start} to {judged.fall.end} {slope_text(judged.fall.slope.ratio)}"


def _route(checks: AreaChecks, notation: Notation) -> Iterator[Told]:
    if checks.route is None:
        return
    for section, falls in (("running fall", checks.route.running), ("cross fall", checks.route.cross)):
        out = [judged for judged in falls.judged if judged.verdict != "passes"]
        yield from _worst_falls(section, out, notation)
        if falls.judged and not out:
            most = max(falls.judged, key=lambda judged: abs(judged.fall.slope.ratio))
            yield Told(section, f"the most {_fall(most)}", "passes", *_limit(most.limit, notation))


def _plane(checks: AreaChecks, notation: Notation) -> Iterator[Told]:
    plane = checks.plane
    if plane is None:
        return
    x, y = (f"{float(fall.percent):.2f} %" for fall in plane.plane.falls)
    worst = plane.worst
    off = show(worst.above, notation, unit=True, plus=True)
    says = (
        f"best plane falls {slope_text(plane.fall.ratio)} (along x {x}, along y {y}); "
        f"{worst.name} lies {off} off it, the most"
    )
    yield Told("plane", says, plane.verdict, *_limit(plane.limit, notation))


def _ponds(checks: AreaChecks, notation: Notation) -> Iterator[Told]:
    for pond in checks.ponds:
        wide = f", {area_text(pond.area, notation.units)}" if pond.area is not None else ""
        says = f"water stands {show_exact(pond.depth, notation.units, unit=True)} deep at {pond.deepest}{wide}"
        yield Told("puddles", says, pond.verdict, *_limit(pond.limit, notation))
    if checks.plane is not None and not checks.ponds:
        yield Told("puddles", "no low spot holds water", "passes")


def _flatness(checks: AreaChecks, notation: Notation) -> Iterator[Told]:
    for flat in checks.flatness:
        if flat.verdict != "passes":
            worst = flat.worst
            gap = show_exact(worst.gap, notation.units, unit=True)
            says = f"gap {gap} under the straightedge at {worst.at.name or 'a place between spots'} on the line from "
            yield Told("flatness", f"{says}{_line_ends(flat)}", flat.verdict, *_limit(flat.limit, notation))
    passing = [flat for flat in checks.flatness if flat.verdict == "passes"]
    if passing:
        most = max(passing, key=lambda flat: flat.worst.gap)
        gap = show_exact(most.worst.gap, notation.units, unit=True)
        says = f"{_count(len(passing), 'line')} within, the largest gap {gap} on the line from {_line_ends(most)}"
        yield Told("flatness", says, "passes", *_limit(most.limit, notation))


def told_line(falls: Sequence[Fall], flat: Flatness | None, notation: Notation) -> list[Told]:
    """The falls along chosen points, and the straightedge laid along them."""
    found = []
    for fall in falls:
        drop = show_exact(fall.drop, notation.units, unit=True)
        run = show_exact(fall.run, notation.units, unit=True)
        says = f"{fall.start} to {fall.end} {slope_text(fall.slope.ratio)}, {drop} over {run}"
        found.append(Told("fall", says, "passes"))
    if flat is not None:
        gap = show_exact(flat.worst.gap, notation.units, unit=True)
        where = flat.worst.at.name or "a place between spots"
        says = f"largest gap {gap} under the straightedge, at {where}"
        found.append(Told("flatness", says, flat.verdict, *_limit(flat.limit, notation)))
    return found


def _line_ends(flat: Flatness) -> str:
    return f"{flat.line[0].name} to {flat.line[-1].name}"


# -- steps


def _flights(checks: AreaChecks, notation: Notation) -> Iterator[Told]:
    for flight in checks.flights:
        if flight.risers:
            risers = ", ".join(show(riser.height, notation) for riser in flight.risers)
            yield Told("steps", f"risers {risers}", "passes")
        yield from (_held("steps", held, notation) for held in flight.held if held.verdict != "passes")


def told_ahead(ahead: Ahead, notation: Notation) -> Told:
    """What the risers still to build must be, and whether that stays within the rules."""
    risers = ", ".join(show(riser, notation) for riser in ahead.risers)
    faults = [held for held in ahead.breaks if held.verdict == "fault"]
    says = f"to end right build {risers} next"
    if faults:
        says += f"; that breaks: {_held('steps', faults[0], notation).says}"
    return Told("steps", says, "fault" if faults else "reminder")


def _held(section: str, held: Held, notation: Notation) -> Told:
    where = f"{held.where[0]} to {held.where[-1]}" if len(held.where) > 1 else held.where[0]
    says = f"{held.what} {number_text(held.limit.kind, held.value, notation)}, {where}"
    return Told(section, says, held.verdict, *_limit(held.limit, notation))


# -- squareness


def told_layout(name: str, square: Squareness, notation: Notation) -> list[Told]:
    """What the tapes of a layout check say."""
    found = []
    for corner in square.corners:
        over = ", ".join(f"{show(by, notation, unit=True, plus=True)} to {end}" for end, by in corner.over)
        says = f"corner {corner.name} is {_degrees(in_degrees(corner.lean))}: out of square {over}"
        found.append(Told(name, says, corner.verdict, *_limit(corner.limit, notation)))
    if square.misread is not None:
        ends = " to ".join(sorted(square.misread.pair))
        should = show(square.misread.should, notation, unit=True)
        sure = "" if square.misread.sure else ", or another; tape both again"
        found.append(Told(name, f"the tape {ends} looks misread, it should show {should}{sure}", "fault"))
    elif square.closes is False:
        found.append(Told(name, "these tapes make no figure; tape them again", "fault"))
    if not square.proved:
        found.append(Told(name, "not all is taped that shows the shape: all sides and both diagonals", "advice"))
    return found


def _degrees(lean: float) -> str:
    return f"{abs(lean):.2f}° too {'open' if lean > 0 else 'closed'}" if abs(lean) >= 0.005 else "square"


# -- stone


def told_over_dig(found: OverDugArea, notation: Notation) -> Told:
    """What an area's dig was too deep by, in stone and money."""
    dug = found.dug
    if not dug.over:
        return Told("over-dig", f"none at {_count(dug.read, 'point')} read", "passes")
    worst, mean = show(dug.worst, notation, unit=True), show_exact_to(dug.mean, notation)
    says = f"{dug.over} of {dug.read} too deep, mean {mean}, worst {worst} at {dug.where}"
    if found.stone is not None:
        says += f"; to fill: {stone_text(found.stone.volume, found.stone.mass, found.stone.money, notation.units)}"
    return Told("over-dig", says, "advice")


def stone_text(volume: Fraction, mass: Fraction, money: Fraction | None, units: Units) -> str:
    """``0.63 yd³, 1.19 ton, 45.39``: a volume of stone, its weight, and its price where it is known."""
    priced = f", {float(money):,.2f} $" if money is not None else ""
    return f"{volume_text(volume, units)}, {mass_text(mass, units)}{priced}"


# -- numbers in words


def number_text(kind: Kind, value: Fraction, notation: Notation) -> str:
    """A number in the unit of its kind."""
    if kind == "count":
        return f"{int(value)}"
    return show_exact(Length(value), notation.units, unit=True) if kind == "length" else slope_text(value)


def slope_text(ratio: Fraction) -> str:
    """``1.56 % (1:64)``."""
    percent = f"{float(ratio * 100):.2f} %"
    if not ratio:
        return percent
    run = abs(1 / float(ratio))
    return f"{percent} (1:{run:.0f})" if run >= 100 else f"{percent} (1:{run:.3g})"


def show_exact_to(length: Length, notation: Notation) -> str:
    """A length that nobody reads off a rod, such as a mean: in decimals of the job's unit."""
    if notation.units in (Units.IN, Units.FT_IN):
        hundredths = nearest(length, Units.IN.one * Fraction(1, 100))
        return f"{float(hundredths.metres / Units.IN.one.metres):.2f} in"
    return f"{float(length.metres / notation.units.one.metres):.4g} {notation.units.value}"


def area_text(area: Fraction, units: Units) -> str:
    """Square feet or square metres."""
    return f"{float(area / FOOT**2):.1f} ft²" if _imperial(units) else f"{float(area):.2f} m²"


def volume_text(volume: Fraction, units: Units) -> str:
    """Cubic yards, cubic feet below half a yard, or cubic metres."""
    if not _imperial(units):
        return f"{float(volume):.3f} m³"
    yards = volume / YARD_3
    return f"{float(yards):.2f} yd³" if yards >= Fraction(1, 2) else f"{float(yards * 27):.1f} ft³"


def mass_text(mass: Fraction, units: Units) -> str:
    """Short tons, pounds below a tenth of one, or tonnes."""
    if not _imperial(units):
        return f"{float(mass / 1000):.2f} t"
    return f"{float(mass / TON):.2f} ton" if mass >= TON / 10 else f"{float(mass / POUND):.0f} lb"


def _imperial(units: Units) -> bool:
    return units in (Units.IN, Units.FT_IN, Units.FT)


def _limit(limit: Limit, notation: Notation) -> tuple[str, str]:
    return number_text(limit.kind, limit.value, notation), limit.source


def _count(number: int, word: str) -> str:
    return f"{number} {word if number == 1 else word + 's'}"
