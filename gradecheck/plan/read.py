"""Reads the text of a job file to a plan, or to a list of everything that is wrong with it."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from gradecheck.catalogue import _
from gradecheck.measure.notation import Units
from gradecheck.plan.document import JobEntry
from gradecheck.plan.examples import marked_lines
from gradecheck.plan.generated import Fetch
from gradecheck.plan.keys import keys_at
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError, Problem, suggestion
from gradecheck.plan.resolve import resolve
from gradecheck.plan.yaml_tree import (
    KeyPath,
    ListNode,
    MapNode,
    Node,
    comma_fault,
    comma_within,
    locate,
    locate_node,
    read_yaml,
)


def no_lists(name: str) -> str:
    """The fetch of a job file without a folder: no list is found. Raises `PlanProblemsError`."""
    raise PlanProblemsError(
        [Problem("", 1, 1, _("There is no file “{name}” next to the job file; put it there.", name=name))]
    )


def read_plan(text: str, file: str, fetch: Fetch = no_lists) -> Plan:
    """The plan that the text of a job file means; `fetch` gives the text of a list that it names.

    Raises `PlanProblemsError` with every problem found.
    """
    tree, problems = read_yaml(text, file)
    context: dict[str, Any] = {"units": _units(tree), "edges": _edges(tree)}
    entry, broken = None, set[str]()
    try:
        entry = JobEntry.model_validate(tree, context=context)
    except ValidationError as wrong:
        places = {(problem.line, problem.column) for problem in problems}
        complaints = [_problem(error, tree, file) for error in wrong.errors(include_url=False)]
        problems += [problem for problem in complaints if (problem.line, problem.column) not in places]
        # What is sound is still followed up, so that all faults are told in one go.
        entry = _sound_part(tree, wrong, context, broken)
    if entry is not None:
        plan, found = resolve(entry, tree, file, broken, fetch, marked_lines(text))
        problems += found
        if not problems:
            return plan
    raise PlanProblemsError(problems)


def _units(tree: MapNode) -> Units:
    written = tree.get("units")
    return Units(written) if isinstance(written, str) and written in set(Units) else Units.MM


def _edges(tree: MapNode) -> dict[str, Node]:
    """The line of every edge as it is written, by its name: points may be measured along any of them."""
    areas = tree.get("areas")
    found: dict[str, Node] = {}
    for area in areas.values() if isinstance(areas, MapNode) else ():
        edges = area.get("edges") if isinstance(area, MapNode) else None
        for name, edge in edges.items() if isinstance(edges, MapNode) else ():
            if isinstance(edge, MapNode) and "along" in edge:
                found.setdefault(name, edge["along"])
    return found


def _problem(error: ErrorDetails, tree: MapNode, file: str) -> Problem:
    """One of pydantic's errors as a problem on its line, in the words of the trade."""
    path = _path(error, tree)
    kind, last = error["type"], str(error["loc"][-1]) if error["loc"] else ""
    at = locate(tree, path, key=kind in ("extra_forbidden", "missing") or "[key]" in error["loc"])
    if kind == "too_long" or (kind == "missing" and isinstance(error["loc"][-1], int)):
        named = [step for step in path if isinstance(step, str)]
        says = _AS_MANY.get(named[-1], "Two lengths are expected here, for example [12 ft, 20 ft].")
        says = _comma_in(tree, path) or says
    elif kind == "missing":
        says = _("“{last}:” is missing here; add it.", last=last)
    elif kind == "extra_forbidden":
        says = _("“{last}” is not a key that belongs here.{instead}", last=last, instead=_instead(last, path[:-1]))
    elif kind in ("literal_error", "enum"):
        says = _(
            "“{value}” is not possible here; write {possible}.",
            value=str(error["input"])[:40],
            possible=error["ctx"]["expected"],
        )
    elif kind in ("model_type", "model_attributes_type", "dict_type"):
        says = _expected_keys(path)
    elif kind in ("list_type", "tuple_type"):
        says = _("A list is expected here, in square brackets.")
    elif kind == "too_short":
        says = _("Nothing is listed here; add at least one entry.")
        if error["ctx"]["min_length"] > 1:
            says = _("Too few are listed here; at least {least} are needed.", least=error["ctx"]["min_length"])
    else:
        says = str(error["msg"])
    return Problem(file, at.line, at.column, says)


def _expected_keys(path: KeyPath) -> str:
    """What is said where a text or a list stands in place of keys: the first of those that may stand there."""
    keys, what = keys_at(path), _("Keys with values are expected here")
    if not keys:
        keys, what = keys_at((*path, "")), _("Names are expected here, each with its keys")
    more = _(" and others") if len(keys) > _NAMED_KEYS + 1 else ""
    return f"{what}: {', '.join(keys[:_NAMED_KEYS] if more else keys)}{more}." if keys else f"{what}."


_NAMED_KEYS = 8
"""How many keys are named where there are many."""


def _instead(key: str, path: KeyPath) -> str:
    """What to write in place of a key that does not belong there."""
    known, word = keys_at(path), " ".join(key.casefold().replace("_", " ").replace("-", " ").split())
    here = path[-1] if path and isinstance(path[-1], str) else ""
    if (says := _SAID_OF.get((word, here if here == "surface" else _ENTRY_OF.get(path[-2:-1], here)))) is not None:
        return f" {says}"
    ours = [f"“{each}:”" for each in _OUR_WORDS.get(word, ()) if each in known]
    return _(" Write {ours}.", ours=_(" or ").join(ours)) if ours else suggestion(key, known)


_ENTRY_OF: dict[KeyPath, str] = {("points",): "point", ("added",): "point", ("areas",): "area"}
_SAID_OF = {
    ("date", ""): _("The log dates every entry by itself; remove it."),
    ("zero", ""): _("The zero is a benchmark: write “benchmarks: {DOOR: 0}”."),
    ("same as", "point"): _("For the same elevation write “from:” with that point alone."),
    ("same as", "area"): _("Write “build-up:” and what else is the same in both."),
    ("between", "point"): _("A point comes “from:” one other, or lies on the area's surface."),
    ("between", "surface"): _("A surface between points is written “corners:” or “through:”."),
}
"""What is said of keys that people write, by where they stand: at the top, in an area, a point or a surface."""
_OUR_WORDS = dict.fromkeys(("slope", "grade", "pitch", "gradient"), ("fall", "rise")) | {
    "run": ("over", "runs", "tread"),
    "length": ("over",),
    "distance": ("over",),
    "description": ("what",),
    "note": ("what",),
    "z": ("elevation",),
    "height": ("elevation", "total"),
    "level": ("elevation",),
    "steps": ("down", "up"),
    "risers": ("down", "up"),
    "spacing": ("every",),
    "thickness": ("layers",),
}
"""The keys that people's other words for them mean."""


def _comma_in(tree: MapNode, path: KeyPath) -> str | None:
    """What is said of a list that is too long because of a decimal comma; None where there is none in it."""
    items = locate_node(tree, path)
    if not isinstance(items, ListNode):
        return None
    for place, (one, then) in enumerate(pairwise(items)):
        if comma_within(one, items.item_at[place], then, items.item_at[place + 1]):
            return comma_fault(str(one), str(then))
    return None


_AS_MANY = {
    "through": _("Three points are named here, for example [A, B, C]."),
    "corners": _("Four corners are named here, in turn, for example [A, B, C, D]."),
    "high edge": _("The two ends of the edge are named here, for example [A, B]."),
    "low edge": _("The two ends of the edge are named here, for example [A, B]."),
    "crown": _("The two ends of the line are named here, for example [A, B]."),
    "valley": _("The two ends of the line are named here, for example [A, B]."),
    "falls": _("Two slopes are expected here, left and right of the line, for example [2%, 1.5%]."),
}
"""What is said where too many or too few stand, by key; everywhere else two lengths are meant."""

_NOT_IN_THE_FILE = ("[key]", "[text]", "[entries]", "[arc]", "[ring]", "[circle]", "[station]")
"""What pydantic puts into the way to a fault for a key, and for the two ways an entry can be written in."""


def _path(error: ErrorDetails, tree: MapNode) -> tuple[str | int, ...]:
    """The path of the error in the file, without the steps that pydantic adds."""
    path = tuple(step for step in error["loc"] if step not in _NOT_IN_THE_FILE)
    alone = path[0:1] == ("build-ups",) and path[2:3] == ("layers",) and isinstance(locate_node(tree, path[:2]), list)
    return path[:2] + path[3:] if alone else path


_OF_ENTRIES = ("rods", "benchmarks", "build-ups", "tolerances", "datums", "walls", "rules", "layout", "bonds")
_ENTRY_DEPTH = dict.fromkeys(_OF_ENTRIES, 2)


def _sound_part(tree: MapNode, wrong: ValidationError, context: dict[str, Any], broken: set[str]) -> JobEntry | None:
    """The job without its faulty entries, None when nothing is left; their names are added to `broken`."""
    sound = _copy(tree)
    assert isinstance(sound, MapNode)
    # Leaving out an area's last point leaves an area at fault, and so on upward.
    for _step in range(4):
        _leave_out(sound, wrong, broken)
        sound.setdefault("job", "")
        sound.setdefault("units", Units.MM)
        try:
            return JobEntry.model_validate(sound, context=context)
        except ValidationError as still:
            wrong = still
    return None


def _leave_out(sound: MapNode, wrong: ValidationError, broken: set[str]) -> None:
    for error in wrong.errors(include_url=False):
        entry = _faulty_entry(tuple(step for step in error["loc"] if step not in _NOT_IN_THE_FILE))
        broken.add(str(entry[-1]))
        node: Node = sound
        for step in entry[:-1]:
            if not (isinstance(node, MapNode) and isinstance(step, str) and step in node):
                break
            node = node[step]
        else:
            if isinstance(node, MapNode):
                node.pop(str(entry[-1]), None)


def _faulty_entry(path: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """The smallest entry around a fault that can be left out while the rest still makes sense."""
    if path[0] == "areas":
        if len(path) >= 4 and path[2] in ("points", "tolerances", "added", "instead"):
            return path[:4]
        return path[:3] if len(path) > 3 or (len(path) == 3 and path[2] != "points") else path[:2]
    return path[: _ENTRY_DEPTH.get(str(path[0]), 1)] or path


def _copy(node: Node) -> Node:
    """The same maps anew, so that leaving an entry out does not touch the tree that knows the lines."""
    if not isinstance(node, MapNode):
        return node
    copy = MapNode(node.at)
    copy.key_at, copy.value_at = node.key_at, node.value_at
    copy.update({key: _copy(value) for key, value in node.items()})
    return copy
