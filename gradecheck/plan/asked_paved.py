"""What is asked of an area that is paved: how wide and long it is, how it falls and where its water goes."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from typing import Any

from gradecheck.catalogue import _
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.units import read_slope
from gradecheck.plan.asked_area import AreaScript, Asking, Begun
from gradecheck.plan.asked_build import (
    HOUSE,
    XY,
    Edge,
    Path,
    WalkLeg,
    Way,
    along_an_axis,
    fan,
    place_toward,
    right_of,
)
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.questions import (
    TAPED,
    Question,
    a_fall,
    a_place_across,
    a_slope,
    a_width,
    diagonals_of,
    legs_of,
    lengths_of,
    or_nothing,
    other_diagonal,
    place_within,
    said_legs,
    said_length,
    said_lengths,
    said_width,
)
from gradecheck.plan.read import read_plan
from gradecheck.plan.spans import Plain


@dataclass
class PavedScript(AreaScript):
    """The questions of a patio, walk, driveway, pool deck or plaza."""

    drain_below: Length | None = None

    def questions(self) -> Asking:
        build, letter = self.build, self.letter
        begun = yield from self.begin()
        start, out = begun.start, begun.out
        along = self.kind in ("walk", "driveway")
        square = along_an_axis(out)
        asked = _("How wide, across the way it goes? Or “taped”: its sides and diagonals.")
        if square:
            width = yield self.ask(_("width"), asked, "", a_width(build), said_width(build))
        else:
            width = yield self.long(_("width"), _("How wide, across the way it goes?"))
        legs: list[WalkLeg] = []
        if width == TAPED:
            corners = yield from self.taped(start, out)
            length = ZERO
        else:
            if along:
                like = (_("12 ft, left radius 15 ft for 60 deg, 8 ft") if build.units.imperial
                        else _("4 m, left radius 5 m for 60 deg, 3 m"))  # fmt: skip
                asked = _("How long, the way it goes? With bends, leg by leg along its middle: {like}.", like=like)
                legs = yield self.ask(_("length"), asked, "", legs_of(build, width), said_legs(build))
                length = Length(sum((leg.long.metres for leg in legs), Fraction(0)))
            else:
                length = yield self.long(_("length"), _("How long, the way it goes?"))
            right = right_of(out)
            corners = [start, place_toward(start, right, width)]
            corners += [
                place_toward(place_toward(start, right, width), out, length),
                place_toward(start, out, length),
            ]
        if any(leg.radius is not None for leg in legs):
            yield from self.bent(begun, width, legs)
            return
        shape, line = yield from self.shape(corners, width, length)
        first = yield from self.first_point(begun, line)
        points: dict[str, Plain] = {f"{letter}1": first}
        area: dict[str, Plain] = {"use": self.kind if self.kind != "plaza" else "patio", **self.counted(begun)}
        surface, drains, slots = yield from self.water(shape, line, begun, corners, width, length, points)
        if not drains and begun.edge is None:
            drains = self.away_from(begun, corners)
        asked = _("How far apart are the points that are checked?")
        every = yield self.long(_("points every"), asked, self.usual_spacing)
        yield from self.layers(area)
        yield from self.accessible(area)
        area["outline"], area["surface"] = [build.place(each) for each in corners], surface
        if drains:
            area["drains"] = drains
        area["points"] = points
        edges: dict[str, Plain] = {
            name: {"every": build.length(every), **entry}
            for name, entry in self.lines(shape, begun, line, corners, slots).items()
        }
        if along and width != TAPED:
            edges |= {
                f"{letter}{side}": {"every": build.length(every), "along": [build.place(each) for each in ends]}
                for side, ends in (("L", (corners[0], corners[3])), ("R", (corners[1], corners[2])))
                if f"{letter}{side}" not in edges
            }
        else:
            self.corners(points, corners, every)
            area["grid"] = {"every": build.length(every), "name": letter}
        if edges:
            area["edges"] = edges
        self.add(area)
        if self.drain_below is not None:
            self.lower(area, str(drains["into"]))
        if begun.edge is None and begun.mark == build.zero:
            ends = [corner[0] for corner in corners[:2]]
            before = build.wall or (ends[0], ends[0])
            build.wall = min(before[0], *ends), max(before[1], *ends)
        if width != TAPED:
            right = right_of(out)
            a, _unused, c, d = corners
            left = (-right[0], -right[1])
            build.edges += [Edge(self.name, "far", d, out, width), Edge(self.name, "right", c, right, length),
                            Edge(self.name, "left", a, left, length)]  # fmt: skip

    def away_from(self, begun: Begun, corners: Sequence[XY]) -> dict[str, Plain]:
        """What its water runs away from: the house, or the edge of the pool that a deck begins at."""
        if begun.mark == self.build.zero:
            return {"away from": HOUSE} if self.kind != "pool deck" else {}
        if self.kind != "pool deck":
            return {}
        name = next(each for n in range(1, 100) if (each := f"coping {n}") not in self.build.walls)
        self.build.walls[name] = list(corners[:2])
        return {"away from": name}

    def accessible(self, area: dict[str, Plain]) -> Asking:
        if "us-accessible" in self.build.codes and self.kind in ("walk", "plaza", "patio"):
            choices = (("yes", _("held to the limits of an accessible route")), ("no", _("not one")))
            asked = _("Is it an accessible route?")
            area["accessible"] = yield self.choose(_("accessible route"), asked, "yes", choices)

    def corners(self, points: dict[str, Plain], corners: Sequence[XY], every: Length) -> None:
        """The corners that the grid, which begins at the lowest of them, does not meet are points too."""
        least = [min(corner[axis].metres for corner in corners) for axis in (0, 1)]
        taken = [each.get("at") for each in points.values() if isinstance(each, dict)]
        for corner in corners:
            at = self.build.place(corner)
            on_grid = not any((each.metres - low) % every.metres for each, low in zip(corner, least, strict=True))
            if not on_grid and at not in taken:
                name = next(f"{self.letter}{n}" for n in range(1, 1000) if f"{self.letter}{n}" not in points)
                points[name] = {"at": at, "what": _("corner")}

    def taped(self, start: XY, out: Way) -> Generator[tuple[str, Question], Any, list[XY]]:
        """Its corners from sides and diagonals, the first side along the edge it begins at."""
        build = self.build
        asked = _("Its sides in turn, the first along where it begins, as 12 ft, 20 ft, 12 ft 3 in, 20 ft?")
        sides = yield self.ask(_("sides"), asked, "", lengths_of(build, 3), said_lengths(build))
        diagonals: list[Length] = []
        if len(sides) > 3:
            asked = _("From the first corner to the third, and to each one after it but the last?")
            wanted = len(sides) - 3
            read = diagonals_of(build, sides, wanted)
            diagonals = yield self.ask(_("diagonals"), asked, "", read, said_lengths(build))
        corners = fan(sides, diagonals)
        if len(sides) == 4:
            asked = _("The other diagonal, to check them? Enter: not taped.")
            read_other = or_nothing(other_diagonal(build, math.dist(corners[1], corners[3])))
            yield self.ask(_("other diagonal"), asked, "", read_other, said_length(build))
        right = right_of(out)
        found = []
        for along, away in corners:
            one, two = (Length(Fraction(round(each * 10**6), 10**6)) for each in (along, away))
            found.append(place_toward(place_toward(start, right, one), out, two))
        return found

    def shape(
        self, corners: Sequence[XY], width: Length | str, length: Length
    ) -> Generator[tuple[str, Question], Any, tuple[str, Length]]:
        """How its surface is shaped, and how far from its left side its ridge or valley runs."""
        build = self.build
        if self.kind not in ("plaza", "driveway", "pool deck"):
            return "plane", ZERO
        choices = [("plane", _("one way, or one way and across"))]
        if not isinstance(width, str):
            choices += [("crown", _("to both sides of a ridge")), ("valley", _("from both sides to a line in it"))]
        if self.kind == "plaza":
            choices.append(("drain", _("from all sides to a drain")))
        default = "drain" if self.kind == "plaza" else "plane"
        shape = yield self.choose(_("its surface"), _("How does its surface fall?"), default, choices)
        if isinstance(width, str) or shape not in ("crown", "valley"):
            return shape, ZERO
        asked = _("How far from its left side does the {line} run, the way it goes?",
                  line=_("ridge") if shape == "crown" else _("valley"))  # fmt: skip
        middle = build.length(Length(width.metres / 2))
        line = yield self.ask(_("its line"), asked, middle, a_place_across(build, width), said_length(build))
        return shape, line

    def water(
        self,
        shape: str,
        line: Length,
        begun: Begun,
        corners: list[XY],
        width: Length | str,
        length: Length,
        points: dict[str, Plain],
    ) -> Generator[tuple[str, Question], Any, tuple[dict[str, Plain], dict[str, Plain], dict[str, str]]]:
        """Its surface, where its water goes, and which lines are slots that lie so far below it."""
        build, letter, out = self.build, self.letter, begun.out
        if shape == "drain":
            drained = yield from self.to_a_drain(corners, out, points)
            yield from self.grate()
            return drained, {"into": f"{letter}D"}, {}
        if shape == "plane":
            surface: dict[str, Plain] = yield from self.falls(out, corners, width, length, points)
        else:
            name = _("ridge") if shape == "crown" else _("valley")
            asked = _("How much does the {line} itself fall the way it goes? A minus rises.", line=name)
            fall = yield self.ask(_("falls along"), asked, "1%", a_slope)
            asked = (_("How much does it fall from the ridge to the left?") if shape == "crown"
                     else _("How much does it fall to the valley from the left?"))  # fmt: skip
            left = yield self.ask(_("falls left"), asked, "2%", a_fall)
            right = yield self.ask(_("falls right"), _("And from the right?") if shape == "valley"
                                   else _("And to the right?"), left, a_fall)  # fmt: skip
            start = place_toward(corners[0], right_of(out), line)
            end = f"{letter}2"
            points[end] = {
                "from": f"{letter}1",
                **self.step(fall, length),
                "at": build.place(place_toward(start, out, length)),
            }
            surface = {shape: [f"{letter}1", end], "falls": [left, right]}
        if self.kind not in ("plaza", "driveway", "pool deck"):
            return surface, {}, {}
        return (surface, *(yield from self.taken_by(shape, points, isinstance(width, str))))

    def taken_by(
        self, shape: str, points: dict[str, Plain], taped: bool
    ) -> Generator[tuple[str, Question], Any, tuple[dict[str, Plain], dict[str, str]]]:
        """What takes the water: nothing but its edges, a drain in the valley, or slots, so far below the paving."""
        build, letter = self.build, self.letter
        choices = [("edge", _("it runs off over the edge"))]
        if shape == "valley":
            choices += [("drain", _("a drain where the valley ends")), ("slot", _("a slot drain along the valley"))]
        elif not taped:
            choices.append(("far", _("a slot drain along its far edge")))
            choices += [("left", _("a slot drain along its left side")), ("right", _("one along its right side"))]
            choices += [("both", _("slot drains along both sides"))] if shape == "crown" else []
        default = "drain" if shape == "valley" else "edge"
        word = yield self.choose(_("water"), _("What takes its water?"), default, choices)
        if word == "edge":
            return {}, {}
        if word == "drain":
            end = points[f"{letter}2"]
            assert isinstance(end, dict)
            end["what"] = _("drain")
            yield from self.grate()
            return {"into": f"{letter}2"}, {}
        asked = _("How far below the paving does the slot lie?")
        below = yield self.long(_("slot below"), asked, "3/16 in" if build.units.imperial else "5 mm")
        sides = {"slot": "M", "far": "F", "left": "L", "right": "R", "both": "LR"}[word]
        slots = {f"{letter}{side}": build.length(below) for side in sides}
        into: list[Plain] = [*slots]
        return {"into": into if len(into) > 1 else into[0]}, slots

    def grate(self) -> Asking:
        """How far below the paving around it the drain lies."""
        asked = _("How far below the paving around it does the drain lie?")
        default = "1/4 in" if self.build.units.imperial else "5 mm"
        self.drain_below = yield self.long(_("drain below"), asked, default)

    def lower(self, area: dict[str, Plain], drain: str) -> None:
        """The drain stands in the file at its own elevation, below the surface that leads to it."""
        assert self.drain_below is not None
        heights = replace(self.build, walls={}, wall=None, areas={
            name: {key: each for key, each in parts.items() if key not in _MADE}
            for name, parts in self.build.areas.items() if not _OF_HEIGHTS.isdisjoint(parts)
        })  # fmt: skip
        found = point_height(heights.text(), self.name, drain)
        if found is not None:
            area["instead"] = {drain: self.build.length(found - self.drain_below)}

    def lines(
        self, shape: str, begun: Begun, line: Length, corners: Sequence[XY], slots: Mapping[str, str]
    ) -> dict[str, dict[str, Plain]]:
        """The lines of it that have points of their own: its ridge or valley, and its slots."""
        build, letter = self.build, self.letter
        if len(corners) != 4:
            return {}
        a, b, c, d = corners
        right = right_of(begun.out)
        ends = {
            "M": (place_toward(a, right, line), place_toward(d, right, line)),
            "F": (d, c),
            "L": (a, d),
            "R": (b, c),
        }
        names = dict.fromkeys([*([f"{letter}M"] if shape in ("crown", "valley") else []), *slots])
        return {
            name: {
                "along": [build.place(each) for each in ends[name.removeprefix(letter)]],
                **({"below": slots[name]} if name in slots else {}),
            }
            for name in names
        }

    def falls(
        self, out: Way, corners: Sequence[XY], width: Length | str, length: Length, points: dict[str, Plain]
    ) -> Generator[tuple[str, Question], Any, dict[str, Plain]]:
        """One plane, by how much it falls the way it goes and across."""
        away, across = yield from self.two_falls()
        first, right = f"{self.letter}1", right_of(out)
        if not along_an_axis(out):
            assert isinstance(width, Length)
            ends = (("2", across, width, corners[1]), ("3", away, length, corners[3]))
            for number, slope, over, at in ends:
                place = self.build.place(at)
                points[f"{self.letter}{number}"] = {"from": first, **self.step(slope, over), "at": place}
            return {"through": [first, f"{self.letter}2", f"{self.letter}3"]}
        falls: dict[str, Plain] = {}
        for axis, key in enumerate(("x", "y")):
            text = turned_round(away, out[axis]) if out[axis] else turned_round(across, right[axis])
            if read_slope(text).ratio:
                falls[key] = text
        return {"at": first, "fall": falls or {"y": "0%"}}

    def two_falls(self) -> Generator[tuple[str, Question], Any, tuple[str, str]]:
        asked = _("How much does it fall the way it goes? A minus rises.")
        away = yield self.ask(_("falls"), asked, "2%", a_slope)
        asked = _("And across, from left to right? A minus falls to the left.")
        across = yield self.ask(_("falls across"), asked, "0%", a_slope)
        return away, across

    def to_a_drain(
        self, corners: list[XY], out: Way, points: dict[str, Plain]
    ) -> Generator[tuple[str, Question], Any, dict[str, Plain]]:
        """The rim level, the drain so low that every side falls at least as much as is asked."""
        build, letter = self.build, self.letter
        a, right = corners[0], right_of(out)
        places = [(_along(right, a, corner), _along(out, a, corner)) for corner in corners]
        (left, wide), (near, far) = ((min(each), max(each)) for each in zip(*places, strict=True))
        asked = _("Where is the drain: how far from its left side, and how far along?")
        middle = ", ".join(build.length(Length(each / 2)) for each in (wide, far))
        read = place_within(build, wide, far)
        across, along = yield self.ask(_("drain at"), asked, middle, read, said_lengths(build))
        asked = _("How much does it fall to the drain, at the least?")
        slope = yield self.ask(_("falls to it"), asked, "2%", a_fall)
        reach = max(across.metres - left, wide - across.metres, along.metres - near, far - along.metres)
        if len(corners) != 4 or any(each not in (left, wide) for each, _unused in places):  # it was taped
            most = max(
                math.dist((float(x), float(y)), (float(across.metres), float(along.metres))) for x, y in places
            )
            reach = Fraction(math.ceil(most * 1000), 1000)
        for place, corner in enumerate(corners[1:], 2):
            points[f"{letter}{place}"] = {"from": f"{letter}1", "at": build.place(corner)}
        drain = place_toward(place_toward(a, right, across), out, along)
        points[f"{letter}D"] = {"from": f"{letter}1", **self.step(slope, Length(reach)),
                                "at": build.place(drain), "what": _("drain")}  # fmt: skip
        names: list[Plain] = [f"{letter}{place}" for place in range(1, len(corners) + 1)]
        return {"spots": [*names, f"{letter}D"]}

    def bent(self, begun: Begun, width: Length, legs: Sequence[WalkLeg]) -> Asking:
        """A walk with bends: points along both edges, and the surface through them."""
        build, letter = self.build, self.letter
        first = yield from self.first_point(begun, ZERO)
        away, across = yield from self.two_falls()
        asked = _("How far apart are the points that are checked?")
        every = yield self.long(_("points every"), asked, self.usual_spacing)
        area: dict[str, Plain] = {"use": self.kind, **self.counted(begun)}
        yield from self.layers(area)
        yield from self.accessible(area)
        path = Path(begun.start, begun.out, width)
        path.lay(legs, every)
        left: dict[str, Plain] = {}
        right: dict[str, Plain] = {}
        for number, cross in enumerate(path.crosses, 1):
            name, before = f"{letter}L{number}", f"{letter}L{number - 1}"
            left[name] = first if number == 1 else {
                "from": before, **self.step(away, cross.over), "at": build.place(cross.left)
            }  # fmt: skip
            right[f"{letter}R{number}"] = {"from": name, **self.step(across, width), "at": build.place(cross.right)}
        last = len(path.crosses)
        area |= {"outline": path.outline(build), "surface": {"spots": [*left, *right]}}
        if begun.edge is None and begun.mark == build.zero:
            area["drains"] = {"away from": HOUSE}
            ends = [path.crosses[0].left[0], path.crosses[0].right[0]]
            before_it = build.wall or (ends[0], ends[0])
            build.wall = min(before_it[0], *ends), max(before_it[1], *ends)
        area["along"] = [*left]
        area["points"] = left | dict(reversed(list(right.items())))
        self.add(area)
        build.edges.append(
            Edge(self.name, "far", path.start, path.out, width, point=f"{letter}L{last}", across=across)
        )


_OF_HEIGHTS = frozenset(("points", "flight", "ramp"))
"""Keys of an area that heights come from."""
_MADE = frozenset(("grid", "edges", "drains"))
"""Keys of an area that are made of those heights, and take longest to read."""


@lru_cache(maxsize=16)
def point_height(text: str, area: str, point: str) -> Length | None:
    """How high a point of that job file lies; None where the file can't be read, which is told of the whole."""
    with contextlib.suppress(PlanProblemsError):
        return read_plan(text, "job.yaml").areas[area].point(point).finish.height
    return None


def _along(way: Way, start: XY, place: XY) -> Fraction:
    """How far that way a place lies from the start, in metres."""
    return sum(((there.metres - here.metres) * step for there, here, step in zip(place, start, way, strict=True)),
               Fraction(0))  # fmt: skip


def turned_round(slope: str, sign: Fraction | int) -> str:
    """The slope as it is typed, turned round where the plan's axis runs the other way."""
    if sign > 0:
        return slope
    if ":" in slope:  # which has no sign of its own
        return "-{} ft per {} ft".format(*(each.strip() for each in slope.split(":")))
    return slope[1:].strip() if slope.startswith("-") else f"-{slope}"
