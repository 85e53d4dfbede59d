"""A spot on a string: straight between two points of an area, so far from the first of them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from gradecheck.catalogue import _, plural
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.journal.facts import Between
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Elevation, Length
from gradecheck.measure.typed import NotUnderstoodError, read_coordinate
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.names import as_known
from gradecheck.plan.problems import suggestion


class NoSpotError(ValueError):
    """A spot on a string that can't be told; the message is one sentence."""


@dataclass(frozen=True, slots=True)
class OnString:
    """A spot on a string of one area, `share` of the way from `start` straight to `end`, 0 to 1."""

    area: Area
    start: Point
    end: Point
    share: Fraction
    between: Between
    name: str
    """As it is written wherever a point's name would stand; it reads back as the same spot in any unit."""

    @property
    def place(self) -> Place | None:
        """Where it lies on the plan, None where the plan does not say where its ends do."""
        if self.start.at is None or self.end.at is None:
            return None
        (x, y), (far_x, far_y) = self.start.at, self.end.at
        return x + (far_x - x) * self.share, y + (far_y - y) * self.share

    def height(self, start: Elevation, end: Elevation) -> Elevation:
        """The height there of the straight line between those two heights, exact."""
        return start + end.above(start) * self.share


def on_string(plan: Plan, typed: str, units: Units) -> OnString | None:
    """The spot meant by ``P4 to P8 at 3 ft``, ``... half way`` or ``... at 3 ft of 10 ft``; None for another text.

    A bare number counts `units`. Raises `NoSpotError`.
    """
    plain = " ".join(typed.split())
    if as_known(plain, plan.area_of) is not None:
        return None
    start, rest = _start(plan, plain)
    if start is None:
        return None
    end, how = _end(plan, rest)
    if end is None:
        raise NoSpotError(
            _(
                "There is no point “{rest}” in this job.{meant}",
                rest=rest,
                meant=suggestion(rest, plan.area_of),
            )
        )
    area = plan.areas[plan.area_of[start]]
    if plan.area_of[end] != area.name:
        raise NoSpotError(
            _(
                "{start} is in {name}, {end} in {area_of}; a string runs in one area.",
                start=start,
                name=area.name,
                end=end,
                area_of=plan.area_of[end],
            )
        )
    if start == end:
        raise NoSpotError(_("A string runs from one point to another, like {start}.", start=_LIKE.format(start)))
    return _spot_on_string(area, area.point(start), area.point(end), how, units)


def spot_named(plan: Plan, area: str, name: str) -> OnString | None:
    """The spot of that name in that area, None where there is none or the plan lost one of its ends."""
    try:
        spot = on_string(plan, name, plan.notation.units) if " to " in name else None
    except NoSpotError:
        return None
    return spot if spot is not None and spot.area.name == area else None


_LIKE = "{} to P8 at 3 ft"
_HALF = re.compile(r"(?:at )?(?:half(?:[ -]?way)?|mid[ -]?way)", re.IGNORECASE)
_SHARE = re.compile(
    r"(?P<at>at )?(?P<over>[0-9]{1,4})/(?P<under>[0-9]{1,4})(?P<way> (?:of )?(?:the )?way)?", re.IGNORECASE
)
_ALONG = re.compile(r"at (?P<along>.+?)(?: of (?P<run>.+))?", re.IGNORECASE)


def _start(plan: Plan, plain: str) -> tuple[str | None, str]:
    """The point that the text begins with, and what stands behind the word between the two."""
    for text in (plain, plain[5:] if plain[:5].casefold() == "from " else ""):
        for found in re.finditer(" to ", text, re.IGNORECASE):
            if (start := as_known(text[: found.start()], plan.area_of)) is not None:
                return start, text[found.end() :]
    return None, ""


def _end(plan: Plan, rest: str) -> tuple[str | None, str]:
    """The longest point's name that the text begins with, and what stands behind it."""
    words = rest.split(" ")
    for many in range(len(words), 0, -1):
        if (end := as_known(" ".join(words[:many]).rstrip(","), plan.area_of)) is not None:
            return end, " ".join(words[many:])
    return None, rest


def _spot_on_string(area: Area, start: Point, end: Point, how: str, units: Units) -> OnString:
    names = f"{start.name} to {end.name}"
    if _HALF.fullmatch(how):
        return _at_share(area, start, end, Fraction(1, 2))
    if found := _SHARE.fullmatch(how):
        if found["at"] and not found["way"]:
            raise NoSpotError(
                _(
                    "{how} could be a length or a part of the way; write {names} {how} way, or a unit.",
                    how=how[3:],
                    names=names,
                )
            )
        under = int(found["under"])
        share = Fraction(int(found["over"]), under) if under else Fraction(2)
        if share > 1:
            raise NoSpotError(
                _(
                    "{found}/{under} is not a part of the way; write it like {names} 1/3 way.",
                    found=found["over"],
                    under=under,
                    names=names,
                )
            )
        return _at_share(area, start, end, share)
    if found := _ALONG.fullmatch(how):
        return _along(area, start, end, found["along"], found["run"], units)
    raise NoSpotError(_("Say where on the string: {names} at 3 ft, or {names} half way.", names=names))


def _at_share(area: Area, start: Point, end: Point, share: Fraction) -> OnString:
    way = "half way" if share == Fraction(1, 2) else f"{share} way"
    return OnString(
        area, start, end, share, Between(start.name, end.name, share=share), f"{start.name} to {end.name} {way}"
    )


def _along(area: Area, start: Point, end: Point, typed: str, typed_run: str | None, units: Units) -> OnString:
    names = f"{start.name} to {end.name}"
    try:
        along = read_coordinate(typed, units)
        run = read_coordinate(typed_run, units) if typed_run is not None else None
    except NotUnderstoodError as wrong:
        raise NoSpotError(str(wrong)) from wrong
    if (long := run if run is not None else _run(start, end)) is None:
        unplaced = [point.name for point in (start, end) if point.at is None]
        raise NoSpotError(
            plural(
                len(unplaced),
                "The plan has no place for {points}, so the string's length is not known; write {names} at {typed} "
                "of 10 ft, with its length, or {names} half way.",
                "The plan has no places for {points}, so the string's length is not known; write {names} at {typed} "
                "of 10 ft, with its length, or {names} half way.",
                points=_(" and ").join(unplaced),
                names=names,
                typed=typed,
            )
        )
    if long <= ZERO:
        raise NoSpotError(
            _(
                "{names} has no length; say how long the string is, like {names} at {typed} of 10 ft.",
                names=names,
                typed=typed,
            )
        )
    if not ZERO <= along <= long:
        said = show_exact(long, Units.FT if units.imperial else Units.M, unit=True)
        raise NoSpotError(
            _("{names} is {length} long; {typed} does not lie on it.", names=names, length=said, typed=typed)
        )
    of = f" of {_exactly(run, units)}" if run is not None else ""
    name = f"{names} at {_exactly(along, units)}{of}"
    return OnString(
        area, start, end, along.metres / long.metres, Between(start.name, end.name, along=along, run=run), name
    )


def _run(start: Point, end: Point) -> Length | None:
    """How far apart the two are on the plan."""
    return distance(start.at, end.at) if start.at is not None and end.at is not None else None


def _exactly(length: Length, units: Units) -> str:
    """The length as a text that reads back as the same whatever unit a bare number counts. Raises `NoSpotError`."""
    found = next((text for text in _texts(length, units) if _reads_back(text, length)), None)
    if found is None:
        raise NoSpotError(_("No tape shows that; write the way along the string like 3 ft, or 1.2 m."))
    return found


def _texts(length: Length, units: Units) -> Iterator[str]:
    feet = length.metres / Units.FT.one.metres
    if units.imperial and feet.denominator == 1:
        yield f"{feet} ft"
    imperial, metric = (Units.FT_IN, Units.IN, Units.FT), (Units.M, Units.MM)
    for each in (*imperial, *metric) if units.imperial else (*metric, *imperial):
        yield show_exact(length, each, unit=True)


def _reads_back(text: str, length: Length) -> bool:
    try:
        return all(read_coordinate(text, units) == length for units in (Units.MM, Units.IN))
    except NotUnderstoodError:
        return False
