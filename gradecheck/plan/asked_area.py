"""What is asked of an area of any kind, and where it begins."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from typing import Any

from gradecheck.catalogue import _
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.measure.units import read_slope
from gradecheck.plan.asked_build import HOUSE, OUT, XY, Build, Edge, Way, no_length, place_toward, right_of
from gradecheck.plan.questions import (
    NO_LAYERS,
    PAST_EDGE,
    Question,
    a_place,
    a_size,
    any_length,
    choice_of,
    drop_below,
    layers_of,
    said_layers,
    said_length,
    said_lengths,
    up_to,
)
from gradecheck.plan.spans import Plain
from gradecheck.plan.starter import BUILD_UPS, AreaKind, Ruler

Asking = Generator[tuple[str, Question], Any, None]


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


@dataclass
class AreaScript:
    """What is asked of an area of any kind: where it begins, what lies under it; at the end it stands in the plan."""

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
