"""What is asked of a curb or wall, which stands along an edge of another area."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from typing import Any

from gradecheck.catalogue import _
from gradecheck.measure.quantities import ZERO, Length
from gradecheck.plan.asked_area import AreaScript, Asking, Begun
from gradecheck.plan.asked_build import XY, Build, Edge, place_toward, right_of
from gradecheck.plan.names import point_name_fault
from gradecheck.plan.questions import Question, said_length, typed_length
from gradecheck.plan.spans import Plain

YES_NO = (("yes", _("yes")), ("no", _("no")))


def to_stand_along(build: Build) -> list[Edge]:
    """The edges that a curb or wall can stand along: not where people go on, at the end of steps or of a bend."""
    return [edge for edge in build.edges if edge.side != "foot" and not edge.point]


@dataclass
class EdgeScript(AreaScript):
    """The questions of a curb or wall."""

    def questions(self) -> Asking:
        """All that is asked of it; at the end it stands in the plan."""
        yield from self.curb() if self.kind == "curb" else self.wall()

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
