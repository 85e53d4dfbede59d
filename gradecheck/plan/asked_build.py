"""A plan as far as it is answered, and where its parts lie; nothing in it is made up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Length, inches
from gradecheck.measure.typed import read_length
from gradecheck.plan.edits import JobFileDraft, Put
from gradecheck.plan.spans import Plain
from gradecheck.plan.starter import NotPossibleError, Tolerances, length_in_file, quoted

HOUSE = "house"
FINEST = 1_000_000
"""Parts of a metre that a corner worked out from tapes, or a place along a bend, is rounded to, once."""
_EXACT = 10**9
"""A length that needs no larger denominator in metres was typed; anything finer was worked out."""

XY = tuple[Length, Length]
Way = tuple[Fraction, Fraction]
"""A direction on the plan, one long; along x or y its parts are whole."""
OUT: Way = (Fraction(0), Fraction(1))


@dataclass(frozen=True, slots=True)
class Edge:
    """Where another area may begin: the left end of an edge as it is seen going out, the way out, its length.

    `point` is the name of a point there already, such as the foot of a flight; else one is put on the surface. Where
    the edge falls from that point on, `across` says how much.
    """

    area: str
    side: str
    start: XY
    out: Way
    long: Length | None = None
    point: str = ""
    across: str = ""

    @property
    def word(self) -> str:
        """How it is chosen."""
        return self.area if self.side in ("far", "foot") else f"{self.area} {self.side}"

    @property
    def says(self) -> str:
        """Where it is."""
        match self.side:
            case "foot":
                return _("at the end of it")
            case "far":
                return _("at its far edge")
            case "right":
                return _("at its right side, seen from where it begins")
            case _:
                return _("at its left side, seen from where it begins")


@dataclass(frozen=True, slots=True)
class SecondZero:
    """Another zero: its name, its mark and what that reads from it; how the mark lies to the first, where known."""

    name: str
    mark: str
    reads: Length
    above: Length | None = None
    what: str = ""
    at: XY | None = None


@dataclass
class Build:
    """The plan as far as it is answered."""

    title: str = ""
    folder: str = ""
    units: Units = Units.IN
    zero: str = "DOOR"
    zero_is: str = ""
    zero_at: Length | None = None
    second: SecondZero | None = None
    codes: tuple[str, ...] = ()
    graduation: Length | None = None
    areas: dict[str, dict[str, Plain]] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)
    letters: dict[str, str] = field(default_factory=dict)
    edges: list[Edge] = field(default_factory=list)
    layers: dict[str, dict[str, Plain]] = field(default_factory=dict)
    tolerances: dict[str, Length] = field(default_factory=dict)
    wall: tuple[Length, Length] | None = None
    walls: dict[str, list[XY]] = field(default_factory=dict)

    # -- lengths as the file has them

    def length(self, length: Length) -> str:
        """A length exactly, in feet and inches or metres where that is shorter to read."""
        if length == ZERO:
            return no_length(self.units)
        if self.units.imperial and self.units is not Units.FT and length.metres >= 0:
            feet, rest = divmod(length.metres / Fraction("0.3048"), 1)
            over = show_exact(inches(rest * 12), Units.IN, unit=True) if rest else ""
            text = " ".join(filter(None, (f"{feet} ft" if feet else "", over)))
            if feet and (not rest or read_length(over, Units.IN) == inches(rest * 12)):
                return text
        if not self.units.imperial and abs(length.metres) >= 1 and length.metres * 100 % 1 == 0:
            return show_exact(length, Units.M, unit=True)
        try:
            return length_in_file(length, self.units)
        except NotPossibleError:  # worked out from tapes or along a bend
            return f"{float(length.metres * 1000):.3f} mm"

    def place(self, place: XY) -> list[Plain]:
        """A place as the file has it."""
        return [self.length(each) for each in place]

    # -- the file

    @property
    def stages(self) -> list[str]:
        """Every surface that is worked to, from the finish down."""
        found = ["finish"]
        for build_up in self.layers.values():
            layers = build_up["layers"]
            assert isinstance(layers, list)
            found += [name for layer in layers[1:] if isinstance(layer, dict) for name in layer]
        found += ["subgrade"] if self.layers else []
        known = ("finish", "mortar", "bedding", "concrete", "", "base", "subgrade")
        order = {stage: place for place, stage in enumerate(known)}
        return sorted(dict.fromkeys(found), key=lambda stage: order.get(stage, order[""]))

    def usual(self, stage: str) -> Length:
        """What is usual for that surface."""
        usual = Tolerances.usual(self.units)
        same = {"concrete": "bedding", "mortar": "bedding"}.get(stage, stage)
        return getattr(usual, same, usual.base)

    def text(self) -> str:
        """The job file; empty while no area is answered. Nothing in it was made up."""
        if not self.areas:
            return ""
        words = self.units.examples
        sections: list[tuple[str, dict[str, Plain]]] = []
        rod: dict[str, Plain] = {
            "kind": "standard",
            "graduation": self.length(self.graduation or self.units.graduation),
        }
        sections.append((_("The rod: its readings grow upward from the foot."), {"rods": {"site rod": rod}}))
        sections.append((_("The zero: every elevation counts from it, down is minus."),
                         {"benchmarks": self._benchmarks()}))  # fmt: skip
        if self.second is not None:
            datum: dict[str, Plain] = {"mark": self.second.mark, "reads": self.length(self.second.reads)}
            says = (_("Another zero; an area that names it counts from its mark, which was given above.")
                    if self.second.above is not None else
                    _("Another zero; it is tied to the first when its mark is shot from a setup."))  # fmt: skip
            sections.append((says, {"datums": {self.second.name: datum}}))
        if walls := self._walls():
            sections.append((_("Walls, as far as the plan reaches along them: water runs away from them."),
                             {"walls": walls}))  # fmt: skip
        if self.layers:
            build_ups: dict[str, Plain] = dict(self.layers)
            sections.append((_("What lies under each area, from the finish down; the sum is the dig."),
                             {"build-ups": build_ups}))  # fmt: skip
        allowed: dict[str, Plain] = {
            stage: self.length(self.tolerances.get(stage, self.usual(stage))) for stage in self.stages[::-1]
        }
        sections.append((_("How far off each surface may be, up or down."), {"tolerances": allowed}))
        areas: dict[str, Plain] = dict(self.areas)
        sections.append((_("x runs along the house, y away from it."), {"areas": areas}))
        head = [
            "# yaml-language-server: $schema=job.schema.json",
            _("# The grade plan of one job, as it was answered. Everything after a # is a remark."),
            _("# Lengths: {lengths}. Slopes: {slopes}.", lengths=words.lengths, slopes=words.slopes),
            _("# Local code, the drawings and licensed practice decide. Have buried services located before a dig."),
            "",
            f"job: {quoted(self.title)}",
            f"units: {self.units}",
            *([f"codes: [{', '.join(self.codes)}]"] if self.codes else []),
        ]
        text = "\n".join(head) + "\n"
        for remark, part in sections:
            body = JobFileDraft("k: v\n").edited(*(Put((key,), value) for key, value in part.items())).text
            text += f"\n# {remark}\n{body.removeprefix('k: v').lstrip()}"
        return text

    def _benchmarks(self) -> dict[str, Plain]:
        zero: dict[str, Plain] = {"elevation": "0"}
        if self.zero_is:
            zero["what"] = self.zero_is
        if self.zero_at is not None:
            zero["at"] = self.place((self.zero_at, ZERO))
        marks: dict[str, Plain] = {self.zero: zero}
        second = self.second
        if second is not None and second.above is not None:
            mark: dict[str, Plain] = {"elevation": self.length(second.above)}
            if second.what:
                mark["what"] = second.what
            if second.at is not None:
                mark["at"] = self.place(second.at)
            marks[second.mark] = mark
        return marks

    def _walls(self) -> dict[str, Plain]:
        walls: dict[str, Plain] = {}
        if self.wall is not None and self.wall[0] < self.wall[1]:
            walls[HOUSE] = [self.place((each, ZERO)) for each in self.wall]
        for name, ends in self.walls.items():
            walls[name] = [self.place(each) for each in ends]
        return walls


# -- places


def no_length(units: Units) -> str:
    """Nothing, with a unit."""
    return "0 ft" if units.imperial else "0 m"


def right_of(out: Way) -> Way:
    """What lies on the right going that way."""
    return out[1], -out[0]


def along_an_axis(out: Way) -> bool:
    """Whether it leads along x or y."""
    return not (out[0] and out[1])


def place_toward(place: XY, way: Way, by: Length) -> XY:
    """The place so far that way; exact along x or y, else rounded once to 0.001 mm."""
    x, y = (_settled(each.metres + step * by.metres) for each, step in zip(place, way, strict=True))
    return x, y


def _settled(metres: Fraction) -> Length:
    return Length(metres if metres.denominator <= _EXACT else Fraction(round(metres * FINEST), FINEST))


def fan(sides: Sequence[Length], diagonals: Sequence[Length]) -> list[tuple[float, float]]:
    """The corners of an outline in metres, from its sides in turn and the diagonals from the first corner.

    The first side lies along x, the outline on its left. Raises `NotPossibleError` where tapes make no triangle.
    """
    spokes = [sides[0], *diagonals, sides[-1]]
    corners = [(0.0, 0.0), (float(sides[0].metres), 0.0)]
    angle = 0.0
    for (near, far), side in zip(pairwise(spokes), sides[1:], strict=False):
        a, b, c = (float(each.metres) for each in (near, far, side))
        cosine = (a * a + b * b - c * c) / (2 * a * b)
        if abs(cosine) >= 1:
            raise NotPossibleError(_("These tapes make no triangle; tape that side and its diagonals again."))
        angle += math.acos(cosine)
        corners.append((b * math.cos(angle), b * math.sin(angle)))
    return corners


# -- a way with bends


@dataclass(frozen=True, slots=True)
class WalkLeg:
    """A part of the center line of a walk: straight, or a bend of that radius that turns by so many degrees."""

    long: Length
    radius: Length | None = None
    degrees: Fraction = Fraction(0)
    turns: str = ""

    @classmethod
    def by_angle(cls, turns: str, radius: Length, degrees: Fraction) -> WalkLeg:
        """A bend by what it turns; how long it is is rounded once to 0.001 mm."""
        long = Fraction(round(float(radius.metres * degrees) * math.pi / 180 * FINEST), FINEST)
        return cls(Length(long), radius, degrees, turns)

    @classmethod
    def by_length(cls, turns: str, radius: Length, long: Length) -> WalkLeg:
        """A bend by how long its center line is."""
        return cls(long, radius, Fraction(math.degrees(long.metres / radius.metres)), turns)


@dataclass(frozen=True, slots=True)
class Cross:
    """The two edges of a walk square across it, and how far along its center line from the ones before."""

    left: XY
    right: XY
    over: Length


@dataclass
class Path:
    """A walk of one width along straight legs and bends, from the left end of where it begins."""

    start: XY
    out: Way
    width: Length
    crosses: list[Cross] = field(default_factory=list)
    left_side: list[tuple[XY, WalkLeg | None]] = field(default_factory=list)
    """The ends of its parts along the left edge, each with the bend that leads there; the right edge alike."""
    right_side: list[tuple[XY, WalkLeg | None]] = field(default_factory=list)

    def lay(self, legs: Sequence[WalkLeg], every: Length) -> None:
        """Lays it out, with edges `every` so far along each leg, and at its end."""
        self._cross(self.start, self.out, ZERO)
        self._end(self.start, self.out, None)
        for leg in legs:
            so_far, here, out = ZERO, self.start, self.out
            while so_far < leg.long:
                step = min(every, Length(leg.long.metres - so_far.metres))
                so_far = Length(so_far.metres + step.metres)
                left, way = _on(leg, here, out, self.width, so_far)
                self._cross(left, way, step)
            for half in _halves(leg):
                self.start, self.out = _on(half, self.start, self.out, self.width, half.long)
                self._end(self.start, self.out, half if half.radius else None)

    def _cross(self, left: XY, way: Way, over: Length) -> None:
        self.crosses.append(Cross(left, place_toward(left, right_of(way), self.width), over))

    def _end(self, left: XY, way: Way, bend: WalkLeg | None) -> None:
        self.left_side.append((left, bend))
        self.right_side.append((place_toward(left, right_of(way), self.width), bend))

    def outline(self, build: Build) -> list[Plain]:
        """Its outline as the file has it, against the clock: out along the right edge, back along the left."""
        found: list[Plain] = [build.place(self.left_side[0][0]), build.place(self.right_side[0][0])]
        for end, bend in self.right_side[1:]:
            found.append(self._arc(build, end, bend, bend.turns, left=False) if bend else build.place(end))
        found.append(build.place(self.left_side[-1][0]))
        for (to, _unused), (_end, bend) in reversed(list(pairwise(self.left_side))):
            turn = {"left": "right", "right": "left"}[bend.turns] if bend else ""
            found.append(self._arc(build, to, bend, turn, left=True) if bend else build.place(to))
        return found if isinstance(found[-1], dict) else found[:-1]

    def _arc(self, build: Build, to: XY, bend: WalkLeg, turn: str, *, left: bool) -> Plain:
        assert bend.radius is not None
        half = self.width.metres / 2
        inner = (bend.turns == "left") == left
        radius = Length(bend.radius.metres + (-half if inner else half))
        return {"to": build.place(to), "radius": build.length(radius), "turn": turn}


def _halves(leg: WalkLeg) -> list[WalkLeg]:
    """A bend by more than a quarter in two, for an arc by its radius is the shorter of two."""
    if leg.radius is None or leg.degrees <= 90:
        return [leg]
    half = WalkLeg(Length(leg.long.metres / 2), leg.radius, leg.degrees / 2, leg.turns)
    return [half, half]


def _on(leg: WalkLeg, left: XY, out: Way, width: Length, so_far: Length) -> tuple[XY, Way]:
    """The left edge so far along a leg, whose left edge begins there, and the way it leads."""
    if leg.radius is None:
        return place_toward(left, out, so_far), out
    side = 1 if leg.turns == "left" else -1
    turned = leg.degrees if so_far == leg.long else leg.degrees * so_far.metres / leg.long.metres
    way = _turned(out, turned * side)
    radius = leg.radius.metres - side * width.metres / 2
    (x, y), (from_x, from_y), (to_x, to_y) = left, right_of(out), right_of(way)
    return (
        _settled(x.metres + side * radius * (to_x - from_x)),
        _settled(y.metres + side * radius * (to_y - from_y)),
    ), way


def _turned(way: Way, degrees: Fraction) -> Way:
    """The way turned to the left; exact by quarters."""
    if degrees % 90 == 0:
        for _unused in range(int(degrees // 90) % 4):
            way = (-way[1], way[0])
        return way
    angle = math.radians(degrees)
    cos, sin = Fraction(math.cos(angle)), Fraction(math.sin(angle))
    return way[0] * cos - way[1] * sin, way[0] * sin + way[1] * cos
