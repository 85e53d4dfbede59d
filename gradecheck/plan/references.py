"""Who in a job file refers to a name: renaming takes them along, and what is still used is not deleted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Literal, NamedTuple

from gradecheck.catalogue import _
from gradecheck.plan.edits import Delete, Edit, EditRefusedError, JobFileDraft, Put, Rename
from gradecheck.plan.names import folded
from gradecheck.plan.spans import Plain
from gradecheck.plan.yaml_tree import KeyPath

Kind = Literal["point", "edge", "wall", "area", "build-up", "datum", "layer"]
_ENDS = ("through", "high edge", "low edge", "corners", "spots", "crown", "valley")
MOST_NAMED = 4


class Use(NamedTuple):
    """A place that refers to a name of that kind: by its value, or by its key; `who` says so to people."""

    kind: Kind
    name: str
    path: KeyPath
    is_key: bool
    who: str


def named_at(path: KeyPath) -> Kind | None:
    """What a name at that place of the file is the name of, None where nothing refers to it."""
    match path:
        case ("benchmarks", str()) | ("areas", str(), "points" | "added", str()):
            return "point"
        case ("areas", str(), "edges", str()):
            return "edge"
        case ("areas", str()):
            return "area"
        case ("build-ups", str()):
            return "build-up"
        case ("build-ups", str(), "layers", int(), str()) | ("build-ups", str(), int(), str()):
            return "layer"
        case ("datums", str()):
            return "datum"
        case ("walls", str()):
            return "wall"
        case _:
            return None


def uses(tree: Mapping[str, Plain]) -> Iterator[Use]:
    """Every reference in the file, in its order."""
    walls = {folded(name) for name in _map(tree, "walls")}
    edges = {folded(name) for area in _map(tree, "areas").values() for name in _map(area, "edges")}
    for name, datum in _map(tree, "datums").items():
        if isinstance(mark := _map(datum).get("mark"), str):
            yield Use("point", mark, ("datums", name, "mark"), False, _("the datum {name}", name=name))
    for name, check in _map(tree, "layout").items():
        if isinstance(area := _map(check).get("outline of"), str):
            says = _("the layout check {name}", name=name)
            yield Use("area", area, ("layout", name, "outline of"), False, says)
    for stage in _map(tree, "tolerances"):
        yield Use("layer", stage, ("tolerances", stage), True, _("the tolerances"))
    yield from _in_list("layer", tree.get("hold points"), ("hold points",), _("the hold points"))
    for name, build_up in _map(tree, "build-ups").items():
        for key in ("loose", "lifts"):
            for layer in _map(_map(build_up).get(key)):
                says = _("the build-up {name}", name=name)
                yield Use("layer", layer, ("build-ups", name, key, layer), True, says)
    for name, area in _map(tree, "areas").items():
        yield from _of_area(name, _map(area), walls, edges)


def _of_area(name: str, area: Mapping[str, Plain], walls: set[str], edges: set[str]) -> Iterator[Use]:
    home: KeyPath = ("areas", name)
    of = _("area {name}", name=name)
    for key, kind in (("build-up", "build-up"), ("datum", "datum")):
        if isinstance(named := area.get(key), str):
            yield Use(kind, named, (*home, key), False, of)  # type: ignore[arg-type]
    for key in ("layers", "tolerances"):
        for stage in _map(area.get(key)):
            yield Use("layer", stage, (*home, key, stage), True, of)
    for group in ("points", "added"):
        for point, entry in _map(area.get(group)).items():
            yield from _of_point(point, _map(entry), (*home, group, point))
    for point in _map(area.get("instead")):
        says = _("“instead:” of {name}", name=name)
        yield Use("point", point, (*home, "instead", point), True, says)
    surface = _map(area.get("surface"))
    says = _("the surface of {name}", name=name)
    for key in ("at", "toward"):
        if isinstance(anchor := surface.get(key), str):
            yield Use("point", anchor, (*home, "surface", key), False, says)
    for key in _ENDS:
        yield from _in_list("point", surface.get(key), (*home, "surface", key), says)
    drains = _map(area.get("drains"))
    says = _("the drains of {name}", name=name)
    if isinstance(away := drains.get("away from"), str):
        yield Use("wall" if folded(away) in walls else "point", away, (*home, "drains", "away from"), False, says)
    into = drains.get("into")
    for each in [into] if isinstance(into, str) else into if isinstance(into, list) else []:
        if isinstance(each, str):
            path = (*home, "drains", "into") if isinstance(into, str) else (*home, "drains", "into", into.index(each))  # type: ignore[union-attr]
            yield Use("edge" if folded(each) in edges else "point", each, path, False, says)
    for curb, entry in _map(area.get("curbs")).items():
        if isinstance(edge := _map(entry).get("edge"), str):
            yield Use("edge", edge, (*home, "curbs", curb, "edge"), False, _("the curb {curb}", curb=curb))
    for key, says in (("flight", _("the steps of {name}", name=name)), ("ramp", _("the ramp of {name}", name=name))):
        if isinstance(start := _map(area.get(key)).get("from"), str):
            yield Use("point", start, (*home, key, "from"), False, says)
    for string, entry in _map(area.get("strings")).items():
        way = (*home, "strings", string, "along")
        yield from _in_list("point", _map(entry).get("along"), way, _("the string {string}", string=string))
    yield from _in_list("layer", area.get("hold points"), (*home, "hold points"), of)
    yield from _in_list("point", area.get("route"), (*home, "route"), _("the route of {name}", name=name))
    yield from _in_list("point", area.get("along"), (*home, "along"), _("the way along {name}", name=name))


def _of_point(point: str, entry: Mapping[str, Plain], path: KeyPath) -> Iterator[Use]:
    if isinstance(start := entry.get("from"), str):
        yield Use("point", start, (*path, "from"), False, point)
    if isinstance(start := _map(entry.get("also")).get("from"), str):
        yield Use("point", start, (*path, "also", "from"), False, point)
    if isinstance(edge := _map(entry.get("at")).get("edge"), str):
        yield Use("edge", edge, (*path, "at", "edge"), False, point)


def _in_list(kind: Kind, items: Plain | None, path: KeyPath, who: str) -> Iterator[Use]:
    for place, each in enumerate(items if isinstance(items, list) else ()):
        if isinstance(each, str):
            yield Use(kind, each, (*path, place), False, who)


def _map(part: Plain | Mapping[str, Plain] | None, key: str = "") -> Mapping[str, Plain]:
    """The map there, an empty one where there is none."""
    found = part.get(key) if key and isinstance(part, Mapping) else part
    return found if isinstance(found, Mapping) else {}


def users_of(tree: Mapping[str, Plain], path: KeyPath) -> list[Use]:
    """Who refers to the name at that place."""
    kind = named_at(path)
    if kind is None:
        return []
    own = folded(str(path[-1]))
    found = [use for use in uses(tree) if use.kind == kind and folded(use.name) == own]
    if kind == "layer" and _layers(tree).count(own) > 1:
        return [use for use in found if use.path[: len(path) - 1] == path[:2]]  # the others keep the name
    return found


def _layers(tree: Mapping[str, Plain]) -> list[str]:
    """The folded names of all layers of all build-ups."""
    found: list[str] = []
    for build_up in _map(tree, "build-ups").values():
        layers = build_up if isinstance(build_up, list) else _map(build_up).get("layers")
        found += (
            [folded(name) for layer in layers if isinstance(layers, list) for name in _map(layer)] if layers else []
        )
    return found


def rename(draft: JobFileDraft, path: KeyPath, to: str) -> JobFileDraft:
    """The name at the path becomes another, and whoever refers to it follows. Raises `EditRefusedError`."""
    edits: list[Edit] = [
        Rename(use.path, to) if use.is_key else Put(use.path, to) for use in users_of(draft.plain, path)
    ]
    return draft.edited(Rename(path, to), *edits)


def delete(draft: JobFileDraft, path: KeyPath) -> JobFileDraft:
    """What is at the path is gone. Raises `EditRefusedError`, and names who still refers to it."""
    refuse_in_use(draft, path)
    return draft.edited(Delete(path))


def refuse_in_use(draft: JobFileDraft, path: KeyPath) -> None:
    """Raises `EditRefusedError` where something else in the job file still refers to what is at the path."""
    tree = draft.plain
    held = [
        use for each in _named_within(draft, path) for use in users_of(tree, each) if use.path[: len(path)] != path
    ]
    if held:
        name = held[0].name if len({use.name for use in held}) == 1 else str(path[-1])
        raise EditRefusedError(_in_use(name, held))


def _named_within(draft: JobFileDraft, path: KeyPath) -> Iterator[KeyPath]:
    """The names that go with what is at the path: its own, and those of its points, marks and edges."""
    yield path
    part = draft.at(path)
    if not isinstance(part, Mapping):
        return
    if len(path) == 2 and path[0] == "areas":
        for group in ("points", "added", "edges"):
            yield from ((*path, group, name) for name in _map(part.get(group)))
    elif len(path) == 1 or (len(path) == 3 and path[2] in ("points", "added", "edges")):
        yield from ((*path, name) for name in part)


def _in_use(name: str, held: list[Use]) -> str:
    who = list(dict.fromkeys(use.who for use in held))
    said = ", ".join(who[:MOST_NAMED]) + (
        _(" and {n} more", n=len(who) - MOST_NAMED) if len(who) > MOST_NAMED else ""
    )
    return _("“{name}” is used by {who}; change that first.", name=name, who=said)
