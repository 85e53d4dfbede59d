"""What is asked of a flight of steps or a ramp."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import Length
from gradecheck.measure.units import read_slope
from gradecheck.plan.asked_area import AreaScript, Asking, Begun
from gradecheck.plan.asked_build import Edge, place_toward
from gradecheck.plan.questions import Question, a_count, a_fall, lengths_of, said_lengths
from gradecheck.plan.spans import Plain


@dataclass(frozen=True, slots=True)
class Climb:
    """A flight of steps or a ramp: where it begins, how wide it is, and the point it counts from, new in `points`."""

    begun: Begun
    width: Length
    origin: str
    points: dict[str, Plain]


@dataclass
class ClimbScript(AreaScript):
    """The questions of a flight of steps or a ramp."""

    def questions(self) -> Asking:
        """All that is asked of it; at the end it stands in the plan."""
        yield from self.steps() if self.kind == "steps" else self.ramp()

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
