"""Example values: lines of a job file whose remark ends in ``<--``, and the targets that depend on them.

A new job begins with such lines. Remarks are no part of the tree, so they are found in the text.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

from gradecheck.plan.document import JobEntry
from gradecheck.plan.finishes import MAKERS, Finishes
from gradecheck.plan.generated import Generated
from gradecheck.plan.model import Area
from gradecheck.plan.yaml_tree import KeyPath, ListNode, MapNode, Node

MARK = "<--"
_QUOTED_OR_REMARK = re.compile(
    r"""(?:^|(?<=[\s\[{,:]))(?:"(?:[^"\\]|\\.)*"|'(?:[^']|'')*')|(?P<remark>(?:^|(?<=\s))\#.*)"""
)
_OF_TARGETS = {
    "build-up",
    "layers",
    "tolerances",
    "datum",
    "outline",
    "holes",
    "surface",
    "added",
    "instead",
    *MAKERS,
}
"""Keys of an area that its targets come from; a fall that is asked for, or a use, is none."""


def marked_lines(text: str) -> tuple[int, ...]:
    """The numbers, from 1, of the lines that have something before a remark with the mark in it."""
    # YAML knows ends of lines that an editor does not; they are refused in a job file.
    return tuple(number for number, line in enumerate(text.split("\n"), 1) if MARK in line and _is_marked(line))


def _is_marked(line: str) -> bool:
    for found in _QUOTED_OR_REMARK.finditer(line):
        if found["remark"] is not None:
            return MARK in found["remark"] and bool(line[: found.start()].strip())
    return False


@dataclass(frozen=True)
class ExampleLines:
    """The parts of a job file that stand on marked lines."""

    parts: tuple[tuple[int, KeyPath], ...]

    @classmethod
    def of(cls, tree: MapNode, lines: Collection[int]) -> ExampleLines:
        """The parts written on those lines; of a line with closing brackets alone, the part that they close."""
        if not lines:
            return cls(())
        placed = list(_placed(tree, ()))
        found = [(line, path) for line, path in placed if line in lines]
        for line in set(lines) - {line for line, _ in found}:
            before = [path for place, path in placed if place < line]
            found += [(line, before[-1][:-1] or before[-1])] if before else []
        return cls(tuple(found))

    def lines_in(self, paths: Iterable[KeyPath]) -> tuple[int, ...]:
        """The marked lines within those parts of the file, or that those parts lie within."""
        wanted = list(paths)
        lines = {line for line, part in self.parts if any(_overlap(part, path) for path in wanted)}
        return tuple(sorted(lines))


def _placed(node: Node, path: KeyPath) -> Iterator[tuple[int, KeyPath]]:
    """Every part with the lines that its key and its value begin on, in the order of the file."""
    if isinstance(node, MapNode):
        for key, value in node.items():
            here: KeyPath = (*path, key)
            yield node.key_at[key].line, here
            if isinstance(value, str):  # keys and values below stand on lines of their own
                yield node.value_at[key].line, here
            yield from _placed(value, here)
    elif isinstance(node, ListNode):
        for place, item in enumerate(node):
            yield node.item_at[place].line, (*path, place)
            yield from _placed(item, (*path, place))


def _overlap(one: KeyPath, other: KeyPath) -> bool:
    shorter = min(len(one), len(other))
    return one[:shorter] == other[:shorter]


def used_by(area: Area, job: JobEntry, finishes: Finishes, made: Generated) -> list[KeyPath]:
    """The parts of the job file that the targets of an area come from, through other areas too."""
    entry = job.areas[area.name]
    home: KeyPath = ("areas", area.name)
    parts: list[KeyPath] = [("units",), ("round targets",), *((*home, key) for key in _OF_TARGETS)]
    parts += [("build-ups", entry.build_up)] if entry.build_up else []
    parts += [("tolerances", stage) for stage in area.tolerances if stage not in entry.tolerances]
    parts += [("datums", entry.datum)] if entry.datum else []
    parts += [("decide",), ("instrument",)] if job.decide == "guarded" else []
    if any(isinstance(each.points, dict) and _by_pitch(each.points) for each in job.areas.values()):
        parts.append(("pitch",))
    surface = entry.surface
    open_names = [point.name for point in area.points] + list(surface.anchors if surface else ())
    seen: set[str] = set()
    while open_names:
        name = open_names.pop()
        if name in seen:
            continue
        seen.add(name)
        source = finishes.sources.get(name)
        if source is None:
            parts += [("benchmarks", name)]
            continue
        open_names += source.needs
        if source.area != area.name:
            other: KeyPath = ("areas", source.area)
            path = made.names[source.area].get(name)
            parts += [(*other, "points", name), (*other, "added", name)] if path is None else [path]
            parts.append((*other, "instead", name))
            if source.blame == (*other, "surface"):
                parts += [(*other, "surface"), (*other, "outline")]
    return parts


def _by_pitch(points: Mapping[str, object]) -> bool:
    return any("pitch" in (getattr(point, "fall", None), getattr(point, "rise", None)) for point in points.values())
