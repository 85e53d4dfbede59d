"""The finished elevation of every point: chains of falls and risers followed back, each sum kept in words."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field

from gradecheck.measure.notation import Units
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import Elevation
from gradecheck.plan.document import AreaEntry, JobEntry, PointEntry
from gradecheck.plan.model import Benchmark, Datum, Point
from gradecheck.plan.problems import suggestion
from gradecheck.plan.targets import in_words
from gradecheck.plan.yaml_tree import At, MapNode, Node, Path, locate_node


@dataclass
class Finishes:
    """Follows every point's chain back to a benchmark or a given elevation, in any order of writing.

    `report` takes the path and the sentence of each problem; points that lean on one are left out without a word.
    """

    job: JobEntry
    tree: MapNode
    benchmarks: Mapping[str, Benchmark]
    datums: Mapping[str, Datum]
    broken: Collection[str]
    report: Callable[[Path, str], None]
    entries: dict[str, tuple[Path, PointEntry]] = field(init=False)
    given: dict[str, Elevation] = field(init=False)
    datum_of: dict[str, str | None] = field(init=False)
    found: dict[str, Point] = field(init=False, default_factory=dict)
    lost: set[str] = field(init=False, default_factory=set)

    def __post_init__(self) -> None:
        self.entries = {
            name: (("areas", area_name, "points", name), point)
            for area_name, area in self.job.areas.items()
            for name, point in area.points.items()
        }
        self.lost |= set(self.broken)
        self.given = {name: mark.elevation for name, mark in self.benchmarks.items()}
        self.datum_of = {name: area.datum for area in self.job.areas.values() for name in area.points}
        for name in self.entries:
            self._follow(name)

    def of_area(self, area: AreaEntry) -> dict[str, Point]:
        """The points of an area that could be worked out, in the order they are written."""
        return {name: self.found[name] for name in area.points if name in self.found}

    def _follow(self, name: str) -> None:
        chain: dict[str, None] = {}
        here = name
        while here not in self.found and here not in self.lost:
            path, entry = self.entries[here]
            chain[here] = None
            origin = entry.from_
            if origin is None or origin in self._marks(here):
                break
            if origin in chain:
                names = list(chain)
                loop = " from ".join([*names[names.index(origin) :], origin])
                self._lose(chain, path, f"This goes round in a circle: {loop}; give one of them an elevation.")
                return
            if origin not in self.entries and origin not in self.lost:
                self._lose(chain, path, self._no_start(here, origin))
                return
            if self.datum_of.get(origin, self.datum_of[here]) != self.datum_of[here]:
                says = f"“{origin}” is counted from another zero; start from a point or mark of this area's datum."
                self._lose(chain, path, says)
                return
            here = origin
        if here in self.lost:
            self.lost.update(chain)
            return
        for step in reversed(list(chain)):
            self.found[step] = self._point(step)

    def _marks(self, point: str) -> Mapping[str, Elevation]:
        """The marks a point may start from, and what they read from its area's zero."""
        datum = self.datums.get(self.datum_of[point] or "")
        if datum is not None:
            return {datum.mark: datum.reads}
        return self.given

    def _no_start(self, point: str, origin: str) -> str:
        if origin in self.benchmarks:
            datum = self.datum_of[point]
            return f"“{origin}” is no mark of the datum “{datum}”; start from the mark that the datum names."
        known = [*self._marks(point), *self.entries]
        return f"There is no point or benchmark “{origin}” to start from.{suggestion(origin, known)}"

    def _lose(self, chain: Iterable[str], path: Path, says: str) -> None:
        self.report((*path, "from"), says)
        self.lost.update(chain)

    def _point(self, name: str) -> Point:
        path, entry = self.entries[name]
        written = locate_node(self.tree, path)
        words = written if isinstance(written, MapNode) else MapNode(At(1, 1))
        units = self.job.units
        if entry.from_ is None:
            assert entry.elevation is not None
            working = f"{_shown(entry.elevation, units)} as given"
            return Point(name, entry.elevation, working, entry.what, entry.at)
        marks = self._marks(name)
        finish = marks[entry.from_] if entry.from_ in marks else self.found[entry.from_].finish
        working = f"{entry.from_} {in_words(show_exact(finish.height, units))}"
        if entry.over is not None:
            down = entry.rise is None
            slope = entry.fall if entry.fall is not None else entry.rise
            assert slope is not None
            change = slope.over(entry.over)
            finish = finish.minus(change) if down else finish + change
            sign, pitch = ("−", words.get("fall")) if down else ("+", words.get("rise"))
            working += f" {sign} {_with_unit(words.get('over'), units)} × {pitch}"
        if entry.riser is not None:
            risers = entry.down or entry.up
            assert risers is not None
            change = entry.riser * risers
            finish = finish.minus(change) if entry.down else finish + change
            working += f" {'−' if entry.down else '+'} {risers} × {_with_unit(words.get('riser'), units)}"
        return Point(name, finish, f"{working} = {_shown(finish, units)}", entry.what, entry.at)


def _shown(elevation: Elevation, units: Units) -> str:
    return in_words(show_exact(elevation.height, units, unit=True))


def _with_unit(written: Node | None, units: Units) -> str:
    """What stood in the file, with the job's unit where it was a bare number."""
    text = str(written)
    bare = not any(character.isalpha() or character in "'\"" for character in text)
    return f"{text} {units.value if units is not Units.FT_IN else 'in'}" if bare else text
