"""What differs between two plans: targets that move, points that come and go, and every other setting."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from gradecheck.catalogue import _, count
from gradecheck.ground.surfaces import AreaSurface
from gradecheck.measure.notation import Notation
from gradecheck.measure.printed import show_exact
from gradecheck.measure.quantities import ZERO, Elevation, Length, Slope
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.limits import RULES
from gradecheck.plan.model import Area, BuildUp, Layer, Plan, Point
from gradecheck.plan.spelling import written_like
from gradecheck.plan.stone import TON, YARD_3, Stone
from gradecheck.plan.targets import target

NOTHING = "none"
"""What stands where one of the two plans says nothing."""
SECONDS = 206_265
"""Arc-seconds in a slope of one to one, near enough for slopes as slight as those of a beam."""
MOST_SECONDS = 120
"""A slope of more than that is told in percent."""
_MOST_LISTED = 12
"""Corners, names and the like that are listed one by one; an outline with arcs has hundreds."""
_NOT_COMPARED_HERE = frozenset(
    ("areas", "files", "notation", "job", "examples", "example_marks", "listings", "corners")
)
_OF_AREAS = ("datum", "use", "accessible", "ground", "outline", "drains", "strings", "holds")
_WORDS = {"past_edge": "past edge", "longest_shot": "longest shot", "adjust_beyond": "adjust beyond",
          "round_to": "round targets", "at_least": "at least", "at_most": "at most",
          "away_from": "away from", "guarded": "decide guarded", "bonds": "bond", "walls": "wall", "datums": "datum",
          "benchmarks": "benchmark", "rods": "rod", "ring": "corner", "rules": "rule",
          "strings": "string", "holds": "hold points"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class OtherChange:
    """One difference other than a target: what it is, in the job file's words, and the old and the new value."""

    what: str
    was: str
    now: str


def written_otherwise(old: Plan, new: Plan) -> Iterator[OtherChange]:
    """Every difference but targets, in the order of the plan; an area that came or went is listed by its points."""
    say = _Both(_Printer(old.notation), _Printer(new.notation))
    if old.job != new.job:
        yield OtherChange("job", old.job, new.job)
    if old.notation != new.notation:
        yield OtherChange("units", *say(old.notation, new.notation))
    for each in dataclasses.fields(Plan):
        if each.name not in _NOT_COMPARED_HERE:
            yield from _otherwise(say, _word(each.name), getattr(old, each.name), getattr(new, each.name))
    for name, area in new.areas.items():
        if name in old.areas:
            yield from _of_area(old.areas[name], area, say)
    yield from _examples(_("other example figures"), *(_leaned_on_by_none(each) for each in (old, new)))


def _examples(what: str, old: Collection[int], new: Collection[int]) -> Iterator[OtherChange]:
    """How many lines are marked as examples; their numbers are not compared, since any line above shifts them."""
    if len(old) != len(new):
        yield OtherChange(what, *(count(len(each), "line") if each else NOTHING for each in (old, new)))


def _leaned_on_by_none(plan: Plan) -> set[int]:
    return set(plan.examples).difference(*(area.examples for area in plan.areas.values()))


def _of_area(old: Area, new: Area, say: _Both) -> Iterator[OtherChange]:
    name = new.name
    yield from _examples(_("{name} example figures", name=name), old.examples, new.examples)
    for stage in new.stages:
        if stage in old.stages and old.tolerances[stage] != new.tolerances[stage]:
            yield OtherChange(
                _("{name} {stage} tolerance", name=name, stage=stage),
                *say(old.tolerances[stage], new.tolerances[stage]),
            )
    if old.build_up != new.build_up:
        layers = [_layers(each.build_up) for each in (old, new)]
        yield from _otherwise(say, _("{name} layer", name=name), *layers)
        loose = [
            {_("{name} loose", name=layer.name): layer.loose for layer in _layers_of(each.build_up)}
            for each in (old, new)
        ]
        yield from _otherwise(say, name, *loose)
        lifts = [
            {_("{name} lifts", name=layer.name): layer.lifts or None for layer in _layers_of(each.build_up)}
            for each in (old, new)
        ]
        yield from _otherwise(say, name, *lifts)
        past = [each.build_up.past_edge if each.build_up else None for each in (old, new)]
        yield from _otherwise(say, _("{name} past edge", name=name), *past)
    yield from _otherwise(say, _("{name} rule", name=name), old.rules, new.rules)
    yield from _of_points(old, new, say)
    for key in _OF_AREAS:
        yield from _otherwise(say, f"{name} {_word(key)}", getattr(old, key), getattr(new, key))
    if old.codes != new.codes:  # an empty list is none of them, no list those of the job
        was, now = (
            _("{nothing} of its own", nothing=NOTHING) if each.codes is None else each.codes for each in (old, new)
        )
        yield OtherChange(_("{name} codes", name=name), *say(was, now))
    if old.travel != new.travel and (old.accessible or new.accessible):
        yield OtherChange(_("{name} along", name=name), *say(old.travel, new.travel))
    yield from _of_surface(old, new, say)
    if old.existing != new.existing:
        was, now = _surface(old.existing, say.old), _surface(new.existing, say.new)
        if was == now:  # other spots of as many names
            was, now = _spots(old.existing, say.old), _spots(new.existing, say.new)
        yield OtherChange(_("{name} existing ground", name=name), was, now)


def _spots(surface: AreaSurface | None, say: _Printer) -> str:
    """Where the spots of a surface lie, and how high."""
    return say([(*spot.at, spot.z) for spot in surface.spots]) if surface is not None else NOTHING


def _of_surface(old: Area, new: Area, say: _Both) -> Iterator[OtherChange]:
    """A change of the surface; not listed where the area's points move with it, since they are."""
    still = all(new.point(each.name).finish == each.finish for each in old.points if each.name in new.index)
    if old.surface != new.surface and still:
        was, now = _surface(old.surface, say.old), _surface(new.surface, say.new)
        if was != now:  # else what carries it lies elsewhere, which is told by its own points
            yield OtherChange(_("{name} surface", name=new.name), was, now)


def _surface(surface: AreaSurface | None, say: _Printer) -> str:
    if surface is None:
        return NOTHING
    falls = (
        _(
            "x {fall_x}, y {fall_y} from {elevation} at {at}",
            fall_x=say(plane.falls.x),
            fall_y=say(plane.falls.y),
            elevation=say(plane.z),
            at=say(plane.at),
        )
        for plane in surface.planes
    )
    return f"{surface.kind}, {'; '.join(falls) or 'through ' + ', '.join(spot.name for spot in surface.spots)}"


def _of_points(old: Area, new: Area, say: _Both) -> Iterator[OtherChange]:
    """Changes of points other than targets: their order, and one line for all whose place or working changed."""
    both = [point.name for point in new.points if point.name in old.index]
    order = [point.name for point in old.points if point.name in new.index]
    if both != order:
        first = next(place for place, pair in enumerate(zip(order, both, strict=True)) if pair[0] != pair[1])
        yield OtherChange(
            _("{name} route", name=new.name),
            _("no. {first} is {order}", first=first + 1, order=order[first]),
            _("no. {first} is {both}", first=first + 1, both=both[first]),
        )
    for word, said_of in _OF_POINTS.items():
        pairs = [(name, said_of(old.point(name)), said_of(new.point(name))) for name in both]
        if apart := [pair for pair in pairs if pair[1] != pair[2]]:
            name, was, now = apart[0]
            yield OtherChange(f"{new.name} {word} {name}{_and_more(apart)}", *say(was, now))
    for word, of in _OF_STEPS.items():
        yield from _otherwise(say, f"{new.name} {word}", *(tuple(of(each)) for each in (old, new)))


def _and_more(apart: Sequence[object]) -> str:
    """How many differ beside the first of them."""
    return _(" and {apart} more", apart=len(apart) - 1) if len(apart) > 1 else ""


_OF_POINTS: dict[str, Callable[[Point], object]] = {
    "place of": lambda point: point.at,
    "second way to": lambda point: point.other,
}
_OF_STEPS: dict[str, Callable[[Area], Iterable[object]]] = {
    "tread": lambda area: (each.tread for each in area.steps if each.tread),
    "tread fall": lambda area: (each.tread_fall for each in area.steps if each.tread),
    "run": lambda area: (rise.run for each in area.steps if each.kind == "ramp" for rise in each.rises),
    "landing": lambda area: (landing.length for each in area.steps for landing in each.landings),
    "landing fall": lambda area: (landing.fall for each in area.steps for landing in each.landings),
    "depth of treads": lambda area: (tread.depth for each in area.steps for tread in each.treads),
    "width": lambda area: (each.width for each in area.steps if each.width),
    "fall of treads": lambda area: (tread.fall for each in area.steps for tread in each.treads),
}
"""What is said of steps and ramps beside the heights of their points, each as a row along the way."""


def _layers_of(build_up: BuildUp | None) -> tuple[Layer, ...]:
    return build_up.layers if build_up else ()


def _layers(build_up: BuildUp | None) -> dict[str, Length]:
    return {layer.name: layer.thickness for layer in _layers_of(build_up)}


def _otherwise(say: _Both, what: str, old: object, new: object) -> Iterator[OtherChange]:
    """Compares two values down to the single entries of mappings and fields of dataclasses."""
    if old == new:
        return
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in dict.fromkeys((*old, *new)):
            yield from _otherwise(say, f"{what} {key}", old.get(key), new.get(key))
    elif isinstance(old, Stone | None) and isinstance(new, Stone | None) and what == "stone":
        for name in ("density", "loose", "price", "compaction", "waste", "swell", "truck"):
            was, now = _stone(old or Stone(), name, say.old), _stone(new or Stone(), name, say.new)
            if was != now:
                yield OtherChange(_("stone {name}", name=name), was, now)
    elif _has_parts(old) and type(old) is type(new):
        for each in dataclasses.fields(old):  # type: ignore[arg-type]
            if each.compare and each.name != "name":
                yield from _otherwise(
                    say, f"{what} {_word(each.name)}", getattr(old, each.name), getattr(new, each.name)
                )
    elif isinstance(old, tuple) and isinstance(new, tuple) and len(old) == len(new) > 2:
        apart = [place for place, pair in enumerate(zip(old, new, strict=True)) if pair[0] != pair[1]]
        place = apart[0]
        yield OtherChange(
            _("{what} no. {place}{more}", what=what, place=place + 1, more=_and_more(apart)),
            *say(old[place], new[place]),
        )
    else:
        yield OtherChange(what, *say(old, new, what.partition("rule ")[2]))


def _has_parts(value: object) -> bool:
    single = Length | Elevation | Slope | Tolerance | Notation | type
    return dataclasses.is_dataclass(value) and not isinstance(value, single)


def _word(name: str) -> str:
    return _WORDS.get(name, name.replace("_", " "))


def _stone(stone: Stone, name: str, say: _Printer) -> str:
    """A number of the stone with its unit."""
    value, imperial = getattr(stone, name), say.notation.units.imperial
    if value is None:
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name == "density":
        return f"{float(value * YARD_3 / TON):.6g} ton/yd³" if imperial else f"{float(value / 1000):.6g} t/m³"
    if name == "truck":
        return f"{float(value / YARD_3):.6g} yd³" if imperial else f"{float(value):.6g} m³"
    if name == "price":
        return f"${float(value * TON):.6g}/ton" if imperial else f"${float(value * 1000):.6g}/t"
    return f"{float(value):.6g}" if name == "compaction" else f"{float(value * 100):.6g}%"


@dataclass(frozen=True, slots=True)
class _Printer:
    """A value as people write it, in the units of its plan."""

    notation: Notation

    def __call__(self, value: object, rule: str = "") -> str:
        match value:
            case None | "" | ():
                return NOTHING
            case bool():
                return "yes" if value else "no"
            case Tolerance():
                return _("{high} high, {low} low", high=self(value.high), low=self(value.low))
            case Elevation():
                return self(value.height)
            case Length():
                return show_exact(value, self.notation.units, unit=True)
            case Slope():
                seconds = value.ratio * SECONDS
                return (
                    f"{float(value.ratio * 100):.6g}%"
                    if abs(seconds) > MOST_SECONDS
                    else _("{seconds:.4g} arcsec", seconds=float(seconds))
                )
            case Notation():
                return _(
                    "{units} by {graduation}",
                    units=value.units.value,
                    graduation=show_exact(value.graduation, value.units),
                )
            case Fraction():
                return self._rule(value, rule)
            case tuple() | list() if len(value) > _MOST_LISTED:
                return _(
                    "{number} of them, from {first} to {last}",
                    number=len(value),
                    first=self(value[0]),
                    last=self(value[-1]),
                )
            case tuple() | list():
                return f"[{', '.join(self(each) for each in value)}]"
            case Mapping():
                return ", ".join(f"{key} {self(each)}" for key, each in value.items())
            case _ if dataclasses.is_dataclass(value) and not isinstance(value, type):
                fields = (each.name for each in dataclasses.fields(value) if each.compare and each.name != "name")
                parts = ((name, getattr(value, name)) for name in fields)
                return ", ".join(f"{_word(name)} {self(part)}" for name, part in parts if part not in (None, "", ()))
            case _:
                return str(value)

    def _rule(self, value: Fraction, rule: str) -> str:
        kind = RULES[rule].kind if rule in RULES else "slope"
        if kind == "length":
            return show_exact(Length(value), self.notation.units, unit=True)
        return str(value) if kind == "count" else self(Slope(value))


class _Both(NamedTuple):
    """The printers of the old and of the new plan."""

    old: _Printer
    new: _Printer

    def __call__(self, was: object, now: object, rule: str = "") -> tuple[str, str]:
        """Both values as text, each in the units of its plan."""
        return self.old(was, rule), self.new(now, rule)


@dataclass(frozen=True, slots=True)
class Moved:
    """A target that moved; `by` is positive upward."""

    area: str
    point: str
    stage: str
    by: Length


@dataclass(frozen=True, slots=True)
class Changes:
    """What differs: `added` and `gone` are points, `tolerances` and `stages` areas with their stages.

    A point that moved to another area is both. `stages` came or went. `marks` are benchmarks, datums and rods that
    changed, and with them every setup that uses them; `lost` are those that went, and what was read by them then has
    no height.
    """

    moved: tuple[Moved, ...]
    added: tuple[str, ...]
    gone: tuple[str, ...]
    tolerances: tuple[tuple[str, str], ...]
    stages: tuple[tuple[str, str], ...] = ()
    marks: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    judged: tuple[str, ...] = ()
    """Areas that had example figures and have none any more: what was read there is judged from then on."""
    unjudged: tuple[str, ...] = ()
    """Areas that have example figures now, and had none: nothing there is judged any more."""
    staying: tuple[str, ...] = ()
    """Points that the new plan wants otherwise, and that stay all the same because they were changed on site."""
    others: tuple[OtherChange, ...] = field(default=(), compare=False)
    """Everything else that is written otherwise, by which work is judged, ordered or laid out."""
    homes: Mapping[str, str] = field(default_factory=dict, compare=False)
    """The area of each point that came or went."""

    @property
    def largest(self) -> Moved | None:
        """The target that moved most."""
        return max(self.moved, key=lambda each: abs(each.by), default=None)

    def __bool__(self) -> bool:
        lists = (self.moved, self.added, self.gone, self.tolerances, self.stages, self.marks, self.lost)
        return any(lists) or bool(self.judged or self.unjudged or self.others)


def changes(old: Plan, new: Plan) -> Changes:
    """What differs between the old and the new plan. Names are compared without their capitals."""
    old = written_like(old, new)
    moved, tolerances, stages = [], [], []
    both = {name: (old.areas[name], area) for name, area in new.areas.items() if name in old.areas}
    for name, (before, area) in both.items():
        moved += _moved(before, area)
        tolerances += [
            (name, stage)
            for stage in area.stages
            if stage in before.stages and before.tolerances[stage] != area.tolerances[stage]
        ]
        stages += [
            (name, stage)
            for stage in {**dict.fromkeys(before.stages), **dict.fromkeys(area.stages)}
            if (stage in before.stages) != (stage in area.stages)
        ]
    added = tuple(name for name, area in new.area_of.items() if old.area_of.get(name) != area)
    gone = tuple(name for name, area in old.area_of.items() if new.area_of.get(name) != area)
    judged = tuple(name for name, (before, area) in both.items() if before.examples and not area.examples)
    unjudged = tuple(name for name, (before, area) in both.items() if area.examples and not before.examples)
    homes = {**{name: old.area_of[name] for name in gone}, **{name: new.area_of[name] for name in added}}
    found = tuple(moved), added, gone, tuple(tolerances), tuple(stages), _marks(old, new), _lost(old, new)
    return Changes(*found, judged, unjudged, others=tuple(written_otherwise(old, new)), homes=homes)


def _marks(old: Plan, new: Plan) -> tuple[str, ...]:
    benchmarks = [
        name
        for name, mark in new.benchmarks.items()
        if name in old.benchmarks and old.benchmarks[name].elevation != mark.elevation
    ]
    datums = [name for name, datum in new.datums.items() if name in old.datums and old.datums[name] != datum]
    rods = [name for name, rod in new.rods.items() if name in old.rods and old.rods[name].kind != rod.kind]
    return (*benchmarks, *datums, *rods)


def _lost(old: Plan, new: Plan) -> tuple[str, ...]:
    pairs = ((old.benchmarks, new.benchmarks), (old.datums, new.datums), (old.rods, new.rods))
    return tuple(name for before, now in pairs for name in before if name not in now)


def _moved(before: Area, area: Area) -> list[Moved]:
    found = []
    for point in area.points:
        if point.name not in before.index:
            continue
        for stage in area.stages:
            if stage in before.stages:
                was = target(before, before.point(point.name), stage).wanted
                by = target(area, point, stage).wanted.above(was)
                if by != ZERO:
                    found.append(Moved(area.name, point.name, stage, by))
    return found
