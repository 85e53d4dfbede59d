"""The questions that a new job's plan is made of, area by area; every figure in the file was answered by a person.

Areas are laid out from each other: the first from the house, the next from an edge or the foot of one before. x runs
along the house and y away from it, from the left end of what is built first.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Length, inches, millimetres
from gradecheck.measure.typed import NotUnderstoodError, read_length
from gradecheck.measure.units import UnitProblemError, read_slope
from gradecheck.plan.edits import Draft, Put
from gradecheck.plan.folder_names import folder_for
from gradecheck.plan.interview import (
    Question,
    Refuses,
    above_zero,
    checked,
    codes_question,
    free_name,
    one_of,
    rod_mark,
    title_fault,
    units_question,
    writes,
)
from gradecheck.plan.names import folded, name_fault, one_form
from gradecheck.plan.spans import Plain
from gradecheck.plan.starter import (
    BUILD_UPS,
    LETTERS,
    MOST_AREAS,
    AreaKind,
    NotPossibleError,
    Ruler,
    Tolerances,
    areas_fault,
    quoted,
    text_fault,
    written,
    zero_fault,
)

KINDS: Mapping[str, str] = {
    "patio": _("falls one way or two, checked on a grid"),
    "walk": _("two edges, a fall along and one across"),
    "steps": _("a flight of risers"),
    "ramp": _("runs with landings"),
    "driveway": _("two edges, a fall along and one across"),
    "pool deck": _("falls away from the pool"),
    "plaza": _("falls to a drain from all sides"),
    "curb": _("stands along an edge of an area before"),
}
LETTER = {"patio": "P", "walk": "W", "steps": "S", "ramp": "R", "driveway": "D", "pool deck": "K", "plaza": "Z",
          "curb": "C"}  # fmt: skip
HOUSE = "house"
TAPED = "taped"
NO_LAYERS = "finish"
FINEST = 1_000_000
"""Parts of a metre that a corner worked out from tapes is rounded to, once."""
_CHECK = 0.006
"""Metres by which a second diagonal may differ from what the other tapes give: about 1/4 in, common practice."""

XY = tuple[Length, Length]
Way = tuple[int, int]
Asking = Generator[tuple[str, Question], Any, None]


@dataclass(frozen=True, slots=True)
class Edge:
    """Where another area may begin: the left end of an edge as it is seen going out, the way out, its length.

    `point` is the name of a point there already, such as the foot of a flight; else one is put on the surface.
    """

    area: str
    side: str
    start: XY
    out: Way
    long: Length | None = None
    point: str = ""

    @property
    def word(self) -> str:
        """How it is chosen."""
        return self.area if self.side in ("far", "foot") else f"{self.area} {self.side}"


@dataclass
class Build:
    """The plan as far as it is answered."""

    title: str = ""
    folder: str = ""
    units: Units = Units.IN
    zero: str = "DOOR"
    zero_is: str = ""
    zero_at: Length | None = None
    codes: tuple[str, ...] = ()
    graduation: Length | None = None
    areas: dict[str, dict[str, Plain]] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)
    letters: dict[str, str] = field(default_factory=dict)
    edges: list[Edge] = field(default_factory=list)
    layers: dict[str, dict[str, Plain]] = field(default_factory=dict)
    tolerances: dict[str, Length] = field(default_factory=dict)
    wall: tuple[Length, Length] | None = None

    # -- lengths as the file has them

    def length(self, length: Length) -> str:
        """A length exactly, in feet and inches or metres where that is shorter to read."""
        if length == ZERO:
            return _zero(self.units)
        if self.units.imperial and self.units is not Units.FT and length.metres >= 0:
            feet, rest = divmod(length.metres / Fraction("0.3048"), 1)
            over = show_exact(inches(rest * 12), Units.IN, unit=True) if rest else ""
            text = " ".join(filter(None, (f"{feet} ft" if feet else "", over)))
            if feet and (not rest or read_length(over, Units.IN) == inches(rest * 12)):
                return text
        if not self.units.imperial and abs(length.metres) >= 1 and length.metres * 100 % 1 == 0:
            return show_exact(length, Units.M, unit=True)
        try:
            return written(length, self.units)
        except NotPossibleError:  # a corner worked out from tapes
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
        zero: dict[str, Plain] = {"elevation": "0"}
        if self.zero_is:
            zero["what"] = self.zero_is
        if self.zero_at is not None:
            zero["at"] = self.place((self.zero_at, ZERO))
        sections.append((_("The zero: every elevation counts from it, down is minus."),
                         {"benchmarks": {self.zero: zero}}))  # fmt: skip
        if self.wall is not None and self.wall[0] < self.wall[1]:
            ends: list[Plain] = [self.place((each, ZERO)) for each in self.wall]
            sections.append((_("The house, as far as the plan reaches along it: water runs away from it."),
                             {"walls": {HOUSE: ends}}))  # fmt: skip
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
            body = Draft("k: v\n").edited(*(Put((key,), value) for key, value in part.items())).text
            text += f"\n# {remark}\n{body.removeprefix('k: v').lstrip()}"
        return text


class Asked:
    """The question that is asked now, what was answered, and the plan as far as that goes.

    Answers are kept by what they answer, so that going back to one leaves the others as they are. `refuses` says why
    a folder can't be had.
    """

    def __init__(self, refuses: Refuses, typed: Mapping[str, str] | None = None) -> None:
        self._refuses = refuses
        self.typed: dict[str, str] = dict(typed or {})
        self._asking = ""
        self.key = ""
        self.question: Question | None = None
        self.so_far: list[tuple[str, str, str]] = []
        """Key, what it is about, and the answer as it is shown, in the order they are asked."""
        self.build = Build()
        self._run()

    @property
    def is_whole(self) -> bool:
        """Whether nothing is left to be asked."""
        return self.question is None

    def answer(self, text: str) -> None:
        """Answers the question; nothing typed takes what is offered. Raises `NotPossibleError`."""
        assert self.question is not None
        said = one_form(text.strip()) or self.question.default
        self.question.read(said)
        self.typed[self.key], self._asking = said, ""
        self._run()

    def go_to(self, key: str) -> None:
        """Asks that question again; what was answered behind it is kept where it still fits."""
        self._asking = key
        self._run()

    def back(self) -> bool:
        """To the question before this one; whether there was one."""
        keys = [key for key, _unused, _said in self.so_far]
        at = keys.index(self.key) if self.key in keys else len(keys)
        if at == 0:
            return False
        self.go_to(keys[at - 1])
        return True

    def preview(self) -> Build:
        """The plan as it would be if all that is offered were taken; an area without its sizes is left out."""
        build = Build()
        asking = _questions(build, self._refuses)
        try:
            key, question = next(asking)
            while True:
                said = self.typed.get(key, question.default)
                if key not in self.typed and not said and question.about != ANOTHER:
                    break
                try:
                    key, question = asking.send(question.read(said))
                except NotPossibleError:
                    break
        except StopIteration:
            pass
        return build

    def _run(self) -> None:
        self.build, self.so_far = Build(), []
        asking = _questions(self.build, self._refuses)
        self.key, self.question = "", None
        asked: tuple[str, Question] | None = None
        try:
            key, question = next(asking)
            while True:
                said = self.typed.get(key)
                if said is None:
                    break
                try:
                    value = question.read(said)
                except NotPossibleError:
                    break
                if key == self._asking:
                    asked = key, replace(question, default=said)
                self.so_far.append((key, question.about, question.says(value) or _("none")))
                key, question = asking.send(value)
            asked = asked or (key, replace(question, default=self.typed.get(key, question.default)))
        except StopIteration:
            pass
        if asked is not None:
            self.key, self.question = asked


ANOTHER = _("another area")


# -- the questions, in their order


def _questions(build: Build, refuses: Refuses) -> Asking:
    build.title = yield "title", Question(_("job"), _("Job name, as printed on reports?"), "", checked(_title_fault))
    build.folder = yield (
        "folder",
        Question(
            _("folder"), _("Name of its folder?"), free_name(folder_for(build.title), refuses), checked(refuses)
        ),
    )
    build.units = yield "units", units_question()
    build.zero = yield (
        "zero",
        Question(_("zero"), _("Which benchmark is elevation zero?"), "DOOR", checked(zero_fault)),
    )
    default = _("threshold of the door") if build.zero == "DOOR" else ""
    asked = _("What is that mark, so that anyone finds it?")
    build.zero_is = yield (
        "zero-what",
        Question(_("the zero is"), asked, default, checked(lambda text: text_fault(text, "text"))),
    )
    asked = _("How far is {zero} from the left end of the house side? Enter: not taped.", zero=build.zero)
    build.zero_at = yield (
        "zero-place",
        Question(_("zero lies at"), asked, "", _or_nothing(_distance(build)), says=_said_length(build)),
    )
    build.codes = yield "codes", codes_question()
    build.graduation = yield "graduation", Question(
        _("rod's marks"), _("Smallest division on the rod?"), written(build.units.graduation, build.units),
        rod_mark(build.units), says=writes(build.units),
    )  # fmt: skip
    yield from _areas(build)
    above = ZERO
    for stage in build.stages:
        least = above
        asked = _("Tolerance for {stage}, plus or minus?", stage=stage)
        usual = max(build.usual(stage), least)
        above = yield f"{stage}: tolerance", Question(
            _("{stage} within", stage=stage), asked, written(usual, build.units), _at_least(build, least),
            says=writes(build.units),
        )  # fmt: skip
        build.tolerances[stage] = above


def _areas(build: Build) -> Asking:
    number = 0
    while number < MOST_AREAS:
        number += 1
        asked = _("Name another area, or Enter for no more.") if build.areas else _("What is the first area called?")
        about = ANOTHER if build.areas else _("area")
        name = yield (
            f"{number}: area",
            Question(
                about,
                asked,
                "" if build.areas else "patio",
                _area_name(build),
                says=lambda text: text or _("no more"),
            ),
        )
        if not name:
            return
        kinds = {kind: says for kind, says in KINDS.items() if _for_a_curb(build) or kind != "curb"}
        guess = next((kind for kind in sorted(kinds, key=len, reverse=True) if kind in name.casefold()), "patio")
        choices = tuple(kinds.items())
        kind = yield f"{name}: kind", Question(
            _("its kind"), _("What kind of area is “{name}”?", name=name), guess,
            _choice(choices), choices,
        )  # fmt: skip
        letter = next(each for each in (LETTER[kind], *LETTERS) if each not in _taken(build))
        script = _AreaScript(build, name, kind, letter)
        yield from script.questions()


def _for_a_curb(build: Build) -> list[Edge]:
    """The edges that a curb can stand along: not at the foot of steps or of a ramp, where people go through."""
    return [edge for edge in build.edges if edge.side != "foot"]


def _taken(build: Build) -> set[str]:
    zero = {build.zero[0].upper()} if re.search("[0-9]", build.zero) else set[str]()
    return {*build.letters.values(), *zero}


@dataclass
class _AreaScript:
    build: Build
    name: str
    kind: str
    letter: str

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

    def questions(self) -> Asking:
        """All that is asked of it; at the end it stands in the plan."""
        match self.kind:
            case "steps":
                yield from self.steps()
            case "ramp":
                yield from self.ramp()
            case "curb":
                yield from self.curb()
            case _:
                yield from self.flat()

    # -- where it begins

    def begin(self) -> Generator[tuple[str, Question], Any, tuple[XY, Way, str, str]]:
        """Its left corner, the way it goes, the point or mark it counts from, and that place's side."""
        build = self.build
        side = Edge(HOUSE, "far", (ZERO, ZERO), (0, 1))
        if build.edges:
            words = [HOUSE, *(edge.word for edge in build.edges)]
            choices = [(HOUSE, _("at the house")), *((edge.word, _said_of(edge)) for edge in build.edges)]
            asked = _("Where does {name} begin?", name=self.name)
            default = build.edges[0].word if self.kind == "steps" else build.edges[-1].word
            last = [edge for edge in build.edges if edge.side in ("foot", "far")]
            default = last[-1].word if last else default
            word = yield self.ask(_("begins at"), asked, default, _choice(choices), choices=choices)
            if word != HOUSE:
                side = build.edges[words.index(word) - 1]
        if not build.edges and not build.areas:
            return side.start, side.out, build.zero, HOUSE
        asked = _("How far from the left end of that edge, seen going out?")
        if side.side == "foot":
            asked = _("How far right of the foot's line does its left side lie? A minus is left of it.")
        read = _distance(build) if side.long is None else _up_to(build, side.long)
        offset = yield self.ask(_("from its left end"), asked, _zero(build.units), read, _said_length(build))
        across = _right(side.out)
        start = _moved(side.start, across, offset)
        if side.area == HOUSE:
            return start, side.out, build.zero, HOUSE
        if side.point:
            return start, side.out, side.point, side.area
        return start, side.out, self.point_on(side.area, start), side.area

    def point_on(self, area: str, place: XY) -> str:
        """The name of a point of that area's surface there, which is added to it."""
        points = self.build.areas[area].setdefault("points", {})
        assert isinstance(points, dict)
        at = self.build.place(place)
        same = next((name for name, each in points.items() if isinstance(each, dict) and each.get("at") == at), None)
        if same is not None:
            return same
        letter = self.build.letters[area]
        name = next(f"{letter}{n}" for n in range(1, 1000) if f"{letter}{n}" not in points)
        points[name] = {"at": at, "what": _("start of {name}", name=self.name)[:60]}
        return name

    def first_point(self, place: XY, start: str, side: str) -> Generator[tuple[str, Question], Any, dict[str, Plain]]:
        """Its first point: at the house so far below the zero, else level with what it begins at."""
        entry: dict[str, Plain] = {"from": start}
        if side == HOUSE:
            asked = _("How far below {zero} is its finish there? 0 where it is level with it.", zero=start)
            drop = yield self.ask(_("drop at the house"), asked, "", _from_zero(self.build), _said_length(self.build))
            if drop > ZERO:
                entry |= {"down": "1", "riser": self.build.length(drop)}
        return entry | {"at": self.build.place(place)}

    # -- kinds

    def flat(self) -> Asking:
        build = self.build
        start, out, origin, side = yield from self.begin()
        right = _right(out)
        asked = _("How wide, across the way it goes? Or “taped”: its sides and diagonals.")
        width = yield self.ask(_("width"), asked, "", _width(build), _said_width(build))
        if width == TAPED:
            corners = yield from self.taped(start, out)
        else:
            length = yield self.ask(
                _("length"), _("How long, the way it goes?"), "", _size(build), _said_length(build)
            )
            corners = [start, _moved(start, right, width)]
            corners += [_moved(_moved(start, right, width), out, length), _moved(start, out, length)]
        first = yield from self.first_point(start, origin, side)
        area: dict[str, Plain] = {"use": self.kind if self.kind != "plaza" else "patio"}
        letter = self.letter
        outline: list[Plain] = [build.place(each) for each in corners]
        points: dict[str, Plain] = {f"{letter}1": first}
        if self.kind == "plaza":
            surface: dict[str, Plain] = yield from self.to_a_drain(corners, out, points)
            drains: dict[str, Plain] = {"into": f"{letter}D"}
        else:
            surface = yield from self.falls(out)
            drains = {"away from": HOUSE} if side == HOUSE else {}
        long = self.kind in ("walk", "driveway")
        asked = _("How far apart are the points that are checked?")
        default = "5 ft" if build.units.imperial else "1.5 m"
        every = yield self.ask(_("points every"), asked, default, _size(build), _said_length(build))
        yield from self.layers(area)
        if "us-accessible" in build.codes and self.kind in ("walk", "plaza", "patio"):
            choices = (("yes", _("held to the limits of an accessible route")), ("no", _("not one")))
            area["accessible"] = yield self.ask(
                _("accessible route"), _("Is it an accessible route?"), "yes", _choice(choices),
                choices=choices,
            )  # fmt: skip
        area["outline"], area["surface"] = outline, surface
        if drains:
            area["drains"] = drains
        area["points"] = points
        if not long and self.kind != "plaza":
            self.corners(points, corners, every)
        if long and width != TAPED:
            area["edges"] = {
                f"{letter}L": {"every": build.length(every), "along": [outline[0], outline[3]]},
                f"{letter}R": {"every": build.length(every), "along": [outline[1], outline[2]]},
            }
        else:
            area["grid"] = {"every": build.length(every), "name": letter}
        self.add(area)
        if side == HOUSE:
            ends = [corner[0] for corner in corners[:2]]
            before = build.wall or (ends[0], ends[0])
            build.wall = min(before[0], *ends), max(before[1], *ends)
        if width != TAPED:
            a, _unused, c, d = corners
            left = (-right[0], -right[1])
            assert not isinstance(width, str)
            build.edges += [Edge(self.name, "far", d, out, width), Edge(self.name, "right", c, right, length),
                            Edge(self.name, "left", a, left, length)]  # fmt: skip

    def corners(self, points: dict[str, Plain], corners: Sequence[XY], every: Length) -> None:
        """The corners that the grid, which begins at the lowest of them, does not meet are points too."""
        least = [min(corner[axis].metres for corner in corners) for axis in (0, 1)]
        for corner in corners[1:]:
            if any((each.metres - low) % every.metres for each, low in zip(corner, least, strict=True)):
                points[f"{self.letter}{len(points) + 1}"] = {"at": self.build.place(corner), "what": _("corner")}

    def taped(self, start: XY, out: Way) -> Generator[tuple[str, Question], Any, list[XY]]:
        """Its corners from sides and diagonals, the first side along the edge it begins at."""
        build = self.build
        asked = _("Its sides in turn, the first along where it begins, as 12 ft, 20 ft, 12 ft 3 in, 20 ft?")
        sides = yield self.ask(_("sides"), asked, "", _lengths(build, 3), _said_lengths(build))
        diagonals: list[Length] = []
        if len(sides) > 3:
            asked = _("From the first corner to the third, and to each one after it but the last?")
            wanted = len(sides) - 3
            diagonals = yield self.ask(
                _("diagonals"), asked, "", _diagonals(build, sides, wanted), _said_lengths(build)
            )
        corners = fan(sides, diagonals)
        if len(sides) == 4:
            asked = _("The other diagonal, to check them? Enter: not taped.")
            other = math.dist(corners[1], corners[3])
            yield self.ask(_("other diagonal"), asked, "", _or_nothing(_checks(build, other)), _said_length(build))
        right = _right(out)
        found = []
        for along, away in corners:
            one, two = (Length(Fraction(round(each * FINEST), FINEST)) for each in (along, away))
            found.append(_moved(_moved(start, right, one), out, two))
        return found

    def falls(self, out: Way) -> Generator[tuple[str, Question], Any, dict[str, Plain]]:
        asked = _("How much does it fall the way it goes? A minus rises.")
        away = yield self.ask(_("falls"), asked, "2%", _slope)
        asked = _("And across, from left to right? A minus falls to the left.")
        across = yield self.ask(_("falls across"), asked, "0%", _slope)
        right = _right(out)
        falls: dict[str, Plain] = {}
        for axis, key in enumerate(("x", "y")):
            text = _signed(away, out[axis]) if out[axis] else _signed(across, right[axis])
            if read_slope(text).ratio:
                falls[key] = text
        return {"at": f"{self.letter}1", "fall": falls or {"y": "0%"}}

    def to_a_drain(
        self, corners: list[XY], out: Way, points: dict[str, Plain]
    ) -> Generator[tuple[str, Question], Any, dict[str, Plain]]:
        """The rim level, the drain so low that every side falls at least as much as is asked."""
        build, letter = self.build, self.letter
        a, c = corners[0], corners[2]
        right = _right(out)
        width = abs((corners[1][0] - a[0]).metres) + abs((corners[1][1] - a[1]).metres)
        length = abs((c[0] - corners[1][0]).metres) + abs((c[1] - corners[1][1]).metres)
        asked = _("Where is the drain: how far from its left side, and how far along?")
        middle = f"{build.length(Length(width / 2))}, {build.length(Length(length / 2))}"
        across, along = yield self.ask(
            _("drain at"), asked, middle, _within(build, width, length), _said_lengths(build)
        )
        slope = yield self.ask(
            _("falls to it"), _("How much does it fall to the drain, at the least?"), "2%", _fall_down
        )
        far = max(across.metres, width - across.metres, along.metres, length - along.metres)
        for place, corner in enumerate(corners[1:], 2):
            points[f"{letter}{place}"] = {"from": f"{letter}1", "at": build.place(corner)}
        drain = _moved(_moved(a, right, across), out, along)
        points[f"{letter}D"] = {"from": f"{letter}1", "fall": slope, "over": build.length(Length(far)),
                                "at": build.place(drain), "what": _("drain")}  # fmt: skip
        names: list[Plain] = [f"{letter}{place}" for place in range(1, len(corners) + 1)]
        return {"spots": [*names, f"{letter}D"]}

    def steps(self) -> Asking:
        build = self.build
        start, out, origin, side = yield from self.begin()
        area: dict[str, Plain] = {"use": "steps"}
        points: dict[str, Plain] = {}
        if side == HOUSE:
            points[f"{self.letter}0"] = yield from self.first_point(start, origin, side)
            origin = f"{self.letter}0"
        choices = (("down", _("away from where they begin")), ("up", _("up from where they begin")))
        way = yield self.ask(
            _("they go"), _("Do they go down or up from there?"), "down", _choice(choices),
            choices=choices,
        )  # fmt: skip
        count = yield self.ask(_("risers"), _("How many risers?"), "", _count)
        riser = yield self.ask(_("riser height"), _("How high is each riser?"), "", _size(build), _said_length(build))
        tread = yield self.ask(
            _("tread depth"), _("How deep is each tread, nosing to nosing?"), "", _size(build), _said_length(build)
        )
        default = "1/8 in/ft" if build.units in (Units.IN, Units.FT_IN) else "1%"
        fall = yield self.ask(_("treads fall"), _("How much do the treads fall forward?"), default, _fall_down)
        yield from self.layers(area)
        run = Length(tread.metres * count)
        flight: dict[str, Plain] = {
            "from": origin,
            way: str(count),
            "riser": build.length(riser),
            "tread": build.length(tread),
        }
        if read_slope(fall).ratio:
            flight["tread fall"] = fall
        flight |= {"toward": build.place(_moved(start, out, run)), "name": self.letter}
        if points:
            area["points"] = points
        self.add(area | {"flight": flight})
        foot = Length(tread.metres * (count - 1))  # the foot lies below the last nosing
        build.edges.append(Edge(self.name, "foot", _moved(start, out, foot), out, point=f"{self.letter}{count}"))

    def ramp(self) -> Asking:
        build = self.build
        start, out, origin, side = yield from self.begin()
        area: dict[str, Plain] = {"use": "ramp"}
        points: dict[str, Plain] = {}
        if side == HOUSE:
            points[f"{self.letter}0"] = yield from self.first_point(start, origin, side)
            origin = f"{self.letter}0"
        choices = (("down", _("falls the way it goes")), ("up", _("rises the way it goes")))
        way = yield self.ask(
            _("it goes"), _("Does it go down or up from there?"), "down", _choice(choices),
            choices=choices,
        )  # fmt: skip
        slope = yield self.ask(_("its slope"), _("At what slope?"), "1:14", _fall_down)
        asked = _("How long is each run, as 14 ft, 14 ft?")
        runs = yield self.ask(_("runs"), asked, "", _lengths(build, 1), _said_lengths(build))
        asked = _("How long is the landing behind each run?")
        landing = yield self.ask(_("landing length"), asked, "", _size(build), _said_length(build))
        fall = yield self.ask(_("landings fall"), _("How much do the landings fall?"), "1:50", _fall_down)
        yield from self.layers(area)
        total = Length(sum((run.metres + landing.metres for run in runs), Fraction(0)))
        entry: dict[str, Plain] = {
            "from": origin,
            "fall" if way == "down" else "rise": slope,
            "runs": [build.length(run) for run in runs],
            "landing": build.length(landing),
        }
        if read_slope(fall).ratio:
            entry["landing fall"] = fall
        entry |= {"toward": build.place(_moved(start, out, total)), "name": self.letter}
        if points:
            area["points"] = points
        self.add(area | {"ramp": entry})
        end = f"{self.letter}{len(runs)}L"
        build.edges.append(Edge(self.name, "foot", _moved(start, out, total), out, point=end))

    def curb(self) -> Asking:
        build = self.build
        edges = _for_a_curb(build)
        choices = [(f"{edge.area} {edge.side}", _said_of(edge)) for edge in edges]
        word = yield self.ask(
            _("stands along"), _("Along which edge does it stand?"), choices[0][0], _choice(choices),
            choices=choices,
        )  # fmt: skip
        edge = edges[[each for each, _unused in choices].index(word)]
        asked = _("How far does its top stand above that edge?")
        upstand = yield self.ask(_("upstand"), asked, "", _size(build), _said_length(build))
        default = "5 ft" if build.units.imperial else "1.5 m"
        asked = _("How far apart are the points that are checked?")
        every = yield self.ask(_("points every"), asked, default, _size(build), _said_length(build))
        area = build.areas[edge.area]
        outline = area["outline"]
        assert isinstance(outline, list)
        ends = {"far": (3, 2), "right": (1, 2), "left": (0, 3)}[edge.side]
        along: list[Plain] = [outline[place] for place in ends]
        there = area.setdefault("edges", {})
        assert isinstance(there, dict)
        name = next((key for key, each in there.items() if isinstance(each, dict) and each.get("along") == along), "")
        if not name:
            name = f"{build.letters[edge.area]}{edge.side[0].upper()}"
            there[name] = {"every": build.length(every), "along": along}
        self.add({"curbs": {self.letter: {"edge": name, "upstand": build.length(upstand)}}})

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
        choices += [(_("as {name}", name=name), _("the same as there")) for name in build.layers]
        same = next((_("as {name}", name=name) for name in build.layers if build.kinds.get(name) != "steps"), "")
        default = same if same and self.kind != "steps" else choices[0][1]
        asked = _("What lies under {name}, from the finish down?", name=self.name)
        said = yield self.ask(
            _("layers"), asked, default, _layers(build, dict(choices)), _said_layers(build), choices=choices
        )
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


# -- places


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


def _right(out: Way) -> Way:
    """What lies on the right going that way."""
    return out[1], -out[0]


def _moved(place: XY, way: Way, by: Length) -> XY:
    x, y = (Length(each.metres + step * by.metres) for each, step in zip(place, way, strict=True))
    return x, y


def _said_of(edge: Edge) -> str:
    match edge.side:
        case "foot":
            return _("at the end of it")
        case "far":
            return _("at its far edge")
        case "right":
            return _("at its right side, seen from where it begins")
        case _:
            return _("at its left side, seen from where it begins")


def _signed(slope: str, sign: int) -> str:
    """The slope as it is typed, turned round where the plan's axis runs the other way."""
    if sign > 0:
        return slope
    if ":" in slope:  # which has no sign of its own
        return "-{} ft per {} ft".format(*(each.strip() for each in slope.split(":")))
    return slope[1:].strip() if slope.startswith("-") else f"-{slope}"


# -- reading answers


def _title_fault(text: str) -> str | None:
    return title_fault(text) if text.strip() else _("A job needs a title; give one.")


def _area_name(build: Build) -> Callable[[str], str]:
    def fault_in(text: str) -> str | None:
        if not text and build.areas:
            return None
        taken = [(name, "patio") for name in build.areas]
        return name_fault(text) or areas_fault([*taken, (text, "patio")])

    return checked(fault_in)


def _choice(choices: Sequence[tuple[str, str]]) -> Callable[[str], str]:
    return lambda text: one_of(text, choices)


def _or_nothing(read: Callable[[str], Any]) -> Callable[[str], Any]:
    return lambda text: read(text) if text else None


def _distance(build: Build) -> Callable[[str], Length]:
    """A length of either sign."""

    def read(text: str) -> Length:
        try:
            length = read_length(text, build.units)
        except NotUnderstoodError as wrong:
            raise NotPossibleError(str(wrong)) from wrong
        written(length, build.units)
        return length

    return read


def _up_to(build: Build, most: Length) -> Callable[[str], Length]:
    def read(text: str) -> Length:
        length = _distance(build)(text)
        if not ZERO <= length <= most:
            raise NotPossibleError(_("That edge is {most} long; begin on it.", most=build.length(most)))
        return length

    return read


def _from_zero(build: Build) -> Callable[[str], Length]:
    def read(text: str) -> Length:
        if not text:
            raise NotPossibleError(_("Type how far below it is; 0 where it is level."))
        length = _distance(build)(text)
        if length < ZERO:
            raise NotPossibleError(_("Type it without a minus; it lies below."))
        return length

    return read


def _size(build: Build) -> Callable[[str], Length]:
    def read(text: str) -> Length:
        if not text:
            raise NotPossibleError(_("This has to be typed; nothing is offered that nobody measured."))
        return above_zero(text, build.units)

    return read


def _at_least(build: Build, least: Length) -> Callable[[str], Length]:
    def read(text: str) -> Length:
        length = above_zero(text, build.units)
        if length < least:
            raise NotPossibleError(
                _(
                    "Above it {written} is allowed; tighter below is work that the next layer hides.",
                    written=written(least, build.units),
                )
            )
        return length

    return read


def _width(build: Build) -> Callable[[str], Length | str]:
    return lambda text: TAPED if text and TAPED.startswith(text.casefold()) else _size(build)(text)


def _lengths(build: Build, least: int) -> Callable[[str], list[Length]]:
    def read(text: str) -> list[Length]:
        parts = [part for part in text.split(",") if part.strip()]
        if len(parts) < least:
            raise NotPossibleError(_("Type at least {least}, with commas between.", least=least))
        return [above_zero(part, build.units) for part in parts]

    return read


def _diagonals(build: Build, sides: Sequence[Length], wanted: int) -> Callable[[str], list[Length]]:
    def read(text: str) -> list[Length]:
        found = _lengths(build, wanted)(text)
        if len(found) != wanted:
            raise NotPossibleError(_("Type {wanted}, with commas between.", wanted=wanted))
        fan(sides, found)
        return found

    return read


def _checks(build: Build, other: float) -> Callable[[str], Length]:
    def read(text: str) -> Length:
        length = above_zero(text, build.units)
        if abs(float(length.metres) - other) > _CHECK:
            shown = show_exact(millimetres(round(other * 1000)), Units.MM, unit=True)
            if build.units.imperial:
                shown = written(inches(Fraction(round(other / 0.0254 * 16), 16)), Units.IN)
            raise NotPossibleError(_("The other tapes make it {shown}; one of them is off, tape again.", shown=shown))
        return length

    return read


def _within(build: Build, width: Fraction, length: Fraction) -> Callable[[str], list[Length]]:
    def read(text: str) -> list[Length]:
        found = _lengths(build, 2)(text)
        if len(found) != 2 or found[0].metres >= width or found[1].metres >= length:
            raise NotPossibleError(_("Type two lengths that lie within it, with a comma between."))
        return found

    return read


def _slope(text: str) -> str:
    try:
        read_slope(text)
    except UnitProblemError as wrong:
        raise NotPossibleError(str(wrong)) from wrong
    return text


def _fall_down(text: str) -> str:
    if read_slope(_slope(text)).ratio < 0:
        raise NotPossibleError(_("Type it without a minus."))
    return text


def _count(text: str) -> int:
    if not re.fullmatch("[1-9][0-9]?", text):
        raise NotPossibleError(_("Type a whole number, as 3."))
    return int(text)


PAST_EDGE = "past edge"


def _layers(build: Build, choices: Mapping[str, str]) -> Callable[[str], list[tuple[str, Length]] | str]:
    """Layers with their thicknesses, none for the finish alone, or the name of an area that has the same."""

    def read(text: str) -> list[tuple[str, Length]] | str:
        words = " ".join(text.split())
        if words.casefold().startswith("as "):
            name = next((each for each in build.layers if folded(each) == folded(words[3:])), None)
            if name is None:
                raise NotPossibleError(_("No area called so has layers: {name}.", name=words[3:][:40]))
            return name
        if words == choices.get(NO_LAYERS) or words.casefold() == NO_LAYERS:
            return []
        found = []
        for part in choices.get(words.casefold(), words).split(","):
            split = re.fullmatch(r"\s*([^\d]+?)\s+(\d.*)", part)
            if split is None:
                raise NotPossibleError(
                    _("“{part}” is not a layer; write its name and thickness, as base 6 in.", part=part.strip()[:40])
                )
            name = split[1].strip()
            if fault := name_fault(name) or (name.casefold() in ("finish", "subgrade") and _("That is a surface.")):
                raise NotPossibleError(str(fault))
            found.append((name, above_zero(split[2], build.units)))
        return found

    return read


# -- showing answers


def _zero(units: Units) -> str:
    return "0 ft" if units.imperial else "0 m"


def _said_length(build: Build) -> Callable[[Length | None], str]:
    return lambda length: build.length(length) if length is not None else _("not taped")


def _said_width(build: Build) -> Callable[[Length | str], str]:
    return lambda width: width if isinstance(width, str) else build.length(width)


def _said_lengths(build: Build) -> Callable[[Sequence[Length]], str]:
    return lambda lengths: ", ".join(map(build.length, lengths))


def _said_layers(build: Build) -> Callable[[list[tuple[str, Length]] | str], str]:
    def says(said: list[tuple[str, Length]] | str) -> str:
        if isinstance(said, str):
            return _("as {name}", name=said)
        return ", ".join(f"{name} {build.length(thick)}" for name, thick in said) or _("the finish alone")

    return says
