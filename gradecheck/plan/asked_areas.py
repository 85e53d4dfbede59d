"""What is asked of each area of a new plan, by its kind; at the end it stands in the plan."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from typing import Any

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.units import read_slope
from gradecheck.plan.asked_build import (
    HOUSE,
    OUT,
    XY,
    Build,
    Edge,
    Path,
    WalkLeg,
    Way,
    along_an_axis,
    fan,
    no_length,
    place_toward,
    right_of,
)
from gradecheck.plan.names import point_name_fault
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.questions import (
    NO_LAYERS,
    PAST_EDGE,
    TAPED,
    Question,
    a_count,
    a_fall,
    a_place,
    a_place_across,
    a_size,
    a_slope,
    a_width,
    any_length,
    choice_of,
    diagonals_of,
    drop_below,
    layers_of,
    legs_of,
    lengths_of,
    or_nothing,
    other_diagonal,
    place_within,
    said_layers,
    said_legs,
    said_length,
    said_lengths,
    said_width,
    typed_length,
    up_to,
)
from gradecheck.plan.read import read_plan
from gradecheck.plan.spans import Plain
from gradecheck.plan.starter import BUILD_UPS, AreaKind, Ruler

KINDS: Mapping[str, str] = {
    "patio": _("falls one way or two, checked on a grid"),
    "walk": _("two edges, straight or with bends"),
    "steps": _("a flight of risers"),
    "ramp": _("runs with landings"),
    "driveway": _("two edges, straight or with bends"),
    "pool deck": _("falls away from the pool"),
    "plaza": _("falls to drains, a valley or from a crown"),
    "curb": _("stands along an edge of an area before"),
    "wall": _("stands along an edge of an area before"),
}
LETTER = {"patio": "P", "walk": "W", "steps": "S", "ramp": "R", "driveway": "D", "pool deck": "K", "plaza": "Z",
          "curb": "C", "wall": "V"}  # fmt: skip
STANDING = ("curb", "wall")
"""Kinds that stand along an edge of another area."""

Asking = Generator[tuple[str, Question], Any, None]
YES_NO = (("yes", _("yes")), ("no", _("no")))


def to_stand_along(build: Build) -> list[Edge]:
    """The edges that a curb or wall can stand along: not where people go on, at the end of steps or of a bend."""
    return [edge for edge in build.edges if edge.side != "foot" and not edge.point]


@dataclass(frozen=True, slots=True)
class Begun:
    """Where an area begins: its left corner, the way it goes, the edge it begins at, none at the house or a mark."""

    start: XY
    out: Way
    edge: Edge | None
    mark: str
    """What it counts from where no edge is."""
    offset: Length = ZERO
    """How far right of the edge's left end it begins."""

    def right(self, by: Length) -> XY:
        """The place so far right of its left corner, seen going out."""
        return place_toward(self.start, right_of(self.out), by)


@dataclass(frozen=True, slots=True)
class Climb:
    """A flight of steps or a ramp: where it begins, how wide it is, and the point it counts from, new in `points`."""

    begun: Begun
    width: Length
    origin: str
    points: dict[str, Plain]


@dataclass
class AreaScript:
    """The questions of one area."""

    build: Build
    name: str
    kind: str
    letter: str
    drain_below: Length | None = None

    def ask(
        self,
        about: str,
        asks: str,
        default: str,
        read: Callable[[str], Any],
        says: Callable[[Any], str] = str,
        choices: Sequence[tuple[str, str]] = (),
    ) -> tuple[str, Question]:
        """A question of this area."""
        return f"{self.name}: {about}", Question(about, asks, default, read, tuple(choices), says)

    def choose(self, about: str, asks: str, default: str, choices: Sequence[tuple[str, str]]) -> tuple[str, Question]:
        """A question that one of a few words answers."""
        return self.ask(about, asks, default, choice_of(choices), choices=choices)

    def long(self, about: str, asks: str, default: str = "") -> tuple[str, Question]:
        """A question that a length above nothing answers."""
        return self.ask(about, asks, default, a_size(self.build), said_length(self.build))

    @property
    def usual_spacing(self) -> str:
        """How far apart points usually are."""
        return "5 ft" if self.build.units.imperial else "1.5 m"

    def questions(self) -> Asking:
        """All that is asked of it; at the end it stands in the plan."""
        match self.kind:
            case "steps":
                yield from self.steps()
            case "ramp":
                yield from self.ramp()
            case "curb":
                yield from self.curb()
            case "wall":
                yield from self.wall()
            case _:
                yield from self.flat()

    # -- where it begins

    def begin(self) -> Generator[tuple[str, Question], Any, Begun]:
        """Its left corner, the way it goes and what it counts from."""
        build, second = self.build, self.build.second
        house = Edge(HOUSE, "far", (ZERO, ZERO), OUT)
        if not build.areas and second is None:
            return Begun(house.start, house.out, None, build.zero)
        edge = house
        if build.edges or second is not None:
            choices = [(HOUSE, _("at the house"))]
            if second is not None:
                choices.append((second.mark, _("by a place; it counts from that mark of {datum}", datum=second.name)))
            choices += [(edge.word, edge.says) for edge in build.edges]
            asked = _("Where does {name} begin?", name=self.name)
            word = yield self.choose(_("begins at"), asked, self._likely(), choices)
            if second is not None and word == second.mark:
                return (yield from self.by_place(second.mark))
            if word != HOUSE:
                edge = next(each for each in build.edges if each.word == word)
        if not build.areas:
            return Begun(house.start, house.out, None, build.zero)
        asked = _("How far from the left end of that edge, seen going out?")
        if edge.side == "foot":
            asked = _("How far right of its left side, seen going on, does {name} begin? A minus is left of it.",
                      name=self.name)  # fmt: skip
        read = any_length(build) if edge.long is None or edge.side == "foot" else up_to(build, edge.long)
        offset = yield self.ask(_("from its left end"), asked, no_length(build.units), read, said_length(build))
        start = place_toward(edge.start, right_of(edge.out), offset)
        return Begun(start, edge.out, None if edge is house else edge, build.zero, offset)

    def _likely(self) -> str:
        """Where it most likely begins: on the end of what was asked for last."""
        edges, second = self.build.edges, self.build.second
        counted = [area.get("datum") for area in self.build.areas.values()]
        if second is not None and self.kind == "pool deck" and second.name not in counted:
            return second.mark
        ends = [edge.word for edge in edges if edge.side in ("foot", "far")]
        return ends[-1] if ends else HOUSE

    def by_place(self, mark: str) -> Generator[tuple[str, Question], Any, Begun]:
        """Where it begins by a place on the plan, and which way it goes from there."""
        build = self.build
        like = "12 ft, 30 ft" if build.units.imperial else "4 m, 9 m"
        asked = _("Where is its left corner: how far along the house side, and how far out from it, as {like}?",
                  like=like)  # fmt: skip
        start = yield self.ask(_("its left corner"), asked, "", a_place(build), said_lengths(build))
        ways: dict[str, Way] = {
            "out": OUT,
            "back": (OUT[0], -OUT[1]),
            "right": right_of(OUT),
            "left": (-right_of(OUT)[0], OUT[0]),
        }
        choices = (
            ("out", _("away from the house")),
            ("back", _("toward the house")),
            ("right", _("to the right, seen from the house")),
            ("left", _("to the left, seen from the house")),
        )
        way = yield self.choose(_("it goes on"), _("Which way does it go from there?"), "out", choices)
        return Begun(start, ways[way], None, mark)

    def origin(self, begun: Begun, right: Length) -> str:
        """The point or mark that what begins so far right counts from; a point on an edge is added to its area."""
        edge, place = begun.edge, begun.right(right)
        if edge is None:
            return begun.mark
        over = begun.offset + right
        if edge.point and (not edge.across or over == ZERO):
            return edge.point
        points = self.build.areas[edge.area].setdefault("points", {})
        assert isinstance(points, dict)
        at = self.build.place(place)
        same = next((name for name, each in points.items() if isinstance(each, dict) and each.get("at") == at), None)
        if same is not None:
            return same
        letter = self.build.letters[edge.area]
        name = next(f"{letter}{n}" for n in range(1, 1000) if f"{letter}{n}" not in points)
        on_edge: dict[str, Plain] = {"from": edge.point, **self.step(edge.across, over)} if edge.point else {}
        points[name] = {**on_edge, "at": at, "what": _("start of {name}", name=self.name)[:60]}
        return name

    def first_point(self, begun: Begun, right: Length) -> Generator[tuple[str, Question], Any, dict[str, Plain]]:
        """Its first point: so far below the mark it counts from, else level with what it begins at."""
        start = self.origin(begun, right)
        entry: dict[str, Plain] = {"from": start}
        if begun.edge is None:
            asked = _("How far below {zero} is its finish there? 0 where it is level with it.", zero=start)
            about = _("drop at the house") if start == self.build.zero else _("drop at {mark}", mark=start)
            drop = yield self.ask(about, asked, "", drop_below(self.build), said_length(self.build))
            if drop > ZERO:
                entry |= {"down": "1", "riser": self.build.length(drop)}
        return entry | {"at": self.build.place(begun.right(right))}

    def datum_of(self, mark: str) -> str:
        """The name of the other zero where it counts from that one's mark, else nothing."""
        second = self.build.second
        return second.name if second is not None and mark == second.mark else ""

    def counted(self, begun: Begun) -> dict[str, Plain]:
        """The zero that an area begun there counts from, where it is not the job's."""
        datum = self.build.areas[begun.edge.area].get("datum", "") if begun.edge else self.datum_of(begun.mark)
        return {"datum": datum} if datum else {}

    def step(self, slope: str, over: Length) -> dict[str, Plain]:
        """So much down, or up with a minus, over that length; nothing where it is level."""
        ratio = read_slope(slope).ratio
        if not ratio:
            return {}
        return {"fall" if ratio > 0 else "rise": slope.lstrip("-\N{MINUS SIGN}+ "), "over": self.build.length(over)}

    # -- what is paved

    def flat(self) -> Asking:
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

    # -- how it falls

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

    # -- steps and ramps

    def climb(self, width_asked: str) -> Generator[tuple[str, Question], Any, Climb]:
        """Where a flight or ramp begins, and how wide it is."""
        first, begun = f"{self.letter}0", (yield from self.begin())
        width = yield self.long(_("width"), width_asked)
        half = Length(width.metres / 2)
        points: dict[str, Plain] = {}
        if begun.edge is None:
            points[first] = yield from self.first_point(begun, half)
            return Climb(begun, width, first, points)
        return Climb(begun, width, self.origin(begun, half), points)

    def add_climb(
        self, climb: Climb, area: dict[str, Plain], kind: str, entry: dict[str, Plain], run: Length
    ) -> None:
        """Adds the area with its flight or ramp, which goes straight on over that run."""
        build, begun = self.build, climb.begun
        middle = begun.right(Length(climb.width.metres / 2))
        entry |= {"toward": build.place(place_toward(middle, begun.out, run)), "width": build.length(climb.width)}
        entry["name"] = self.letter
        if climb.points:
            area["points"] = climb.points
        self.add(area | {kind: entry})

    def add_foot(self, climb: Climb, run: Length, point: str) -> None:
        """Adds the edge where it ends, so far out, along which another area may begin."""
        start = place_toward(climb.begun.start, climb.begun.out, run)
        self.build.edges.append(Edge(self.name, "foot", start, climb.begun.out, climb.width, point=point))

    def steps(self) -> Asking:
        build = self.build
        climb = yield from self.climb(_("How wide are the steps?"))
        choices = (("down", _("away from where they begin")), ("up", _("up from where they begin")))
        way = yield self.choose(_("they go"), _("Do they go down or up from there?"), "down", choices)
        count = yield self.ask(_("risers"), _("How many risers?"), "", a_count)
        riser = yield self.long(_("riser height"), _("How high is each riser?"))
        tread = yield self.long(_("tread depth"), _("How deep is each tread, nosing to nosing?"))
        default = "1/8 in/ft" if build.units in (Units.IN, Units.FT_IN) else "1%"
        fall = yield self.ask(_("treads fall"), _("How much do the treads fall forward?"), default, a_fall)
        area: dict[str, Plain] = {"use": "steps", **self.counted(climb.begun)}
        yield from self.layers(area)
        flight: dict[str, Plain] = {
            "from": climb.origin,
            way: str(count),
            "riser": build.length(riser),
            "tread": build.length(tread),
        }
        if read_slope(fall).ratio:
            flight["tread fall"] = fall
        self.add_climb(climb, area, "flight", flight, Length(tread.metres * count))
        # The foot lies below the last nosing.
        self.add_foot(climb, Length(tread.metres * (count - 1)), f"{self.letter}{count}")

    def ramp(self) -> Asking:
        build = self.build
        climb = yield from self.climb(_("How wide is the ramp?"))
        choices = (("down", _("falls the way it goes")), ("up", _("rises the way it goes")))
        way = yield self.choose(_("it goes"), _("Does it go down or up from there?"), "down", choices)
        slope = yield self.ask(_("its slope"), _("At what slope?"), "1:14", a_fall)
        asked = _("How long is each run, as 14 ft, 14 ft?")
        runs = yield self.ask(_("runs"), asked, "", lengths_of(build, 1), said_lengths(build))
        landing = yield self.long(_("landing length"), _("How long is the landing behind each run?"))
        fall = yield self.ask(_("landings fall"), _("How much do the landings fall?"), "1:50", a_fall)
        area: dict[str, Plain] = {"use": "ramp", **self.counted(climb.begun)}
        yield from self.layers(area)
        total = Length(sum((run.metres + landing.metres for run in runs), Fraction(0)))
        entry: dict[str, Plain] = {
            "from": climb.origin,
            "fall" if way == "down" else "rise": slope,
            "runs": [build.length(run) for run in runs],
            "landing": build.length(landing),
        }
        if read_slope(fall).ratio:
            entry["landing fall"] = fall
        self.add_climb(climb, area, "ramp", entry, total)
        self.add_foot(climb, total, f"{self.letter}{len(runs)}L")

    # -- what stands along an edge

    def along_edge(self) -> Generator[tuple[str, Question], Any, Edge]:
        edges = to_stand_along(self.build)
        choices = [(f"{edge.area} {edge.side}", edge.says) for edge in edges]
        asked = _("Along which edge does it stand?")
        word = yield self.choose(_("stands along"), asked, choices[0][0], choices)
        return edges[[each for each, _unused in choices].index(word)]

    def edge_points(self, edge: Edge, every: Length) -> str:
        """The name of the points along that edge, which are put there."""
        build = self.build
        area = build.areas[edge.area]
        outline = area["outline"]
        assert isinstance(outline, list)
        ends = {"far": (3, 2), "right": (1, 2), "left": (0, 3)}[edge.side]
        along: list[Plain] = [outline[place] for place in ends]
        there = area.setdefault("edges", {})
        assert isinstance(there, dict)
        name = next((key for key, each in there.items() if isinstance(each, dict) and each.get("along") == along
                     and "below" not in each), "")  # fmt: skip
        if not name:
            letter = build.letters[edge.area]
            name = next(each for each in (f"{letter}{edge.side[0].upper()}", f"{letter}E") if each not in there)
            there[name] = {"every": build.length(every), "along": along}
        return name

    def curb(self) -> Asking:
        build = self.build
        edge = yield from self.along_edge()
        upstand = yield self.long(_("upstand"), _("How far does its top stand above that edge?"))
        asked = _("How far apart are the points that are checked?")
        every = yield self.long(_("points every"), asked, self.usual_spacing)
        curb: dict[str, Plain] = {"edge": self.edge_points(edge, every), "upstand": build.length(upstand)}
        counted = self.counted(Begun(edge.start, edge.out, edge, build.zero))
        self.add({"use": "curb", **counted, "curbs": {self.letter: curb}})

    def wall(self) -> Asking:
        """A wall whose top is level, or stands as high above the edge all along."""
        build, letter = self.build, self.letter
        edge = yield from self.along_edge()
        assert edge.long is not None
        counted = self.counted(Begun(edge.start, edge.out, edge, build.zero))
        area: dict[str, Plain] = {"use": "wall", **counted}
        choices = (("level", _("level from end to end")), ("follows", _("as high above that edge all along")))
        top = yield self.choose(_("its top"), _("How does its top run?"), "level", choices)
        every_asked, default = _("How far apart are the points that are checked?"), self.usual_spacing
        if top == "follows":
            upstand = yield self.long(_("upstand"), _("How far does its top stand above that edge?"))
            every = yield self.long(_("points every"), every_asked, default)
            area["curbs"] = {letter: {"edge": self.edge_points(edge, every), "upstand": build.length(upstand)}}
        else:
            mark = build.second.mark if build.second is not None and counted else build.zero
            asked = _("How far is its top above {mark}? A minus is below.", mark=mark)
            about = _("top above {mark}", mark=mark)
            height = yield self.ask(about, asked, "", typed_length(build), said_length(build))
            every = yield self.long(_("points every"), every_asked, default)
            right, so_far, places = right_of(edge.out), ZERO, list[XY]()
            while so_far < edge.long:
                places.append(place_toward(edge.start, right, so_far))
                so_far = so_far + every
            places.append(place_toward(edge.start, right, edge.long))
            points: dict[str, Plain] = {}
            for number, place in enumerate(places, 1):
                up: dict[str, Plain] = {"from": f"{letter}1"} if number > 1 else self.level_with(mark, height)
                points[f"{letter}{number}"] = {**up, "at": build.place(place)}
            area["points"] = points
        asked = _("Must water run away from it, as from a building?")
        if (yield self.choose(_("water away"), asked, "no", YES_NO)) == "yes":
            name = self.name if point_name_fault(self.name) is None else letter
            build.walls[name] = [edge.start, place_toward(edge.start, right_of(edge.out), edge.long)]
        self.add(area)

    def level_with(self, mark: str, height: Length) -> dict[str, Plain]:
        """So far above the mark, or below it with a minus."""
        if height == ZERO:
            return {"from": mark}
        return {"from": mark, "up" if height > ZERO else "down": "1", "riser": self.build.length(abs(height))}

    # -- what lies under it, and the end

    def layers(self, area: dict[str, Plain]) -> Asking:
        build = self.build
        known: AreaKind = "patio" if self.kind == "plaza" else self.kind  # type: ignore[assignment]
        usual = BUILD_UPS[known]
        choices: list[tuple[str, str]] = []
        for each, starting in usual.items():
            words = starting.in_words(build.units)
            if starting.past_edge is not None:
                words += f", {PAST_EDGE} {Ruler(build.units).thick(*starting.past_edge)}"
            choices.append((each if starting.layers else NO_LAYERS, words))
        choices += [(f"as {name}", _("the same as there")) for name in build.layers]
        same = next((f"as {name}" for name in build.layers if build.kinds.get(name) != "steps"), "")
        default = same if same and self.kind != "steps" else choices[0][1]
        asked = _("What lies under {name}, from the finish down?", name=self.name)
        read = layers_of(build, dict(choices))
        said = yield self.ask(_("layers"), asked, default, read, said_layers(build), choices=choices)
        if isinstance(said, str):
            area["build-up"] = said
        elif said:
            area["build-up"] = self.name
            layers: list[Plain] = [{name: build.length(thick)} for name, thick in said if name != PAST_EDGE]
            past = [build.length(thick) for name, thick in said if name == PAST_EDGE]
            build.layers[self.name] = {"layers": layers} | ({"past edge": past[0]} if past else {})

    def add(self, area: dict[str, Plain]) -> None:
        """It stands in the plan."""
        self.build.areas[self.name] = area
        self.build.kinds[self.name] = self.kind
        self.build.letters[self.name] = self.letter


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
