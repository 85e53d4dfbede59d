"""Quantities for the office's invoice: areas, layers, loads, over-dig, taped lengths, and the days beside each other.

Planned amounts are those of the plan's outlines and layers; built ones come from readings and tapes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from gradecheck.catalogue import _, in_english, stored
from gradecheck.checks.dig import loads
from gradecheck.exchange.table import PointTable, Value
from gradecheck.journal.facts import Reading, Taped
from gradecheck.journal.stamps import day_of
from gradecheck.journal.store import LogLine
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import FOOT
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import SUBGRADE, Area
from gradecheck.plan.stone import TON, YARD_3
from gradecheck.state.as_built import over_dug
from gradecheck.state.orders import area_orders
from gradecheck.state.state import State, Surface

COLUMNS = ("of", "what", "kind", "amount", "unit", "basis")
ENDINGS = (".csv", ".xlsx")
"""What a table of quantities can be written as."""
Row = tuple[Value, ...]


@in_english
def quantities(
    state: State, lines: Sequence[LogLine], areas: Sequence[Area], truck: Fraction | None = None
) -> PointTable:
    """The rows for these areas; with a `truck` that holds so many cubic meters loose, the soil in loads too."""
    units = state.plan.notation.units
    rows: list[Row] = []
    if state.record.rehearsal:
        rows.append(("", "REHEARSAL", "", None, "", _("practice only; not a record of work")))
    for area in areas:
        if area.examples:
            rows.append(
                (area.name, Word.EXAMPLE.value, "", None, "", _("figures left as examples; don't build from it"))
            )
        rows += _area(state, area, truck, units)
    names = {area.name for area in areas}
    rows += _tapes(state, lines, names, units)
    rows += _days(state, lines, names)
    return PointTable(
        _("{job}: quantities", job=state.plan.job), COLUMNS, frozenset(), rows, units, "what", "amount", ("of",)
    )


def _area(state: State, area: Area, truck: Fraction | None, units: Units) -> Iterator[Row]:
    found = area_orders(state, area, truck)
    if area.outline is None:
        yield area.name, "area", "planned", None, "", _("NOT KNOWN: no outline in the plan")
    else:
        yield area.name, "area", "planned", *_square(area.outline.area, units), _("outline of the plan")
    for layer in found.layers:
        yield (
            area.name,
            layer.name,
            _("in place"),
            *_cubic(layer.compacted, units),
            _("outline and layer of the plan"),
        )
        yield (
            area.name,
            layer.name,
            _("ordered, loose"),
            *_cubic(layer.loose, units),
            _("with the factors of “stone”"),
        )
        yield (
            area.name,
            layer.name,
            _("ordered, weight"),
            *_weight(layer.mass, units),
            _("with the factors of “stone”"),
        )
        if layer.money is not None:
            yield area.name, layer.name, _("ordered, price"), layer.money, "$", _("price of the plan")
    for other in found.not_ordered:
        yield (
            area.name,
            other.name,
            _("in place"),
            *_cubic(other.volume, units),
            _("not ordered: {why}", why=other.why),
        )
    if found.truck:
        for layer in found.layers:
            yield area.name, layer.name, _("ordered, loads"), loads(layer.loose, found.truck), "loads", _TRUCK
    if (moved := found.earthwork) is not None:
        from_ground = _("existing ground and the dig of the plan")
        yield area.name, "soil", _("cut, in the ground"), *_cubic(moved.cut, units), from_ground
        yield area.name, "fill", _("in place"), *_cubic(moved.fill, units), from_ground
        yield area.name, "fill", _("loose"), *_cubic(moved.fill_loose, units), _("with the factors of “stone”")
    if found.soil is not None:
        yield area.name, "soil", _("hauled, loose"), *_cubic(found.soil.loose, units), _("the dig of the plan")
        if found.soil.loads is not None:
            yield area.name, "soil", _("hauled, loads"), found.soil.loads, "loads", _("whole loads of the truck")
    yield from _over_dig(state, area, units)


_TRUCK = stored("whole loads of the truck")


def _over_dig(state: State, area: Area, units: Units) -> Iterator[Row]:
    """What fills the over-dig and what is still to dig, as far as the subgrade was read."""
    found = over_dug(state, area.name)
    if found is None:
        if SUBGRADE in area.stages:
            yield area.name, "over-dig", _("to fill"), None, "", _("NOT CHECKED: nothing was read at the subgrade")
        return
    dug, stone = found.dug, found.stone
    read = _("{read} of {spots} points read at the subgrade", read=dug.read, spots=dug.spots)
    if stone is None:
        yield (
            area.name,
            "over-dig",
            _("to fill"),
            None,
            "",
            _("NOT KNOWN: neither an outline nor places; {read}", read=read),
        )
    else:
        yield area.name, "over-dig", _("to fill"), *_cubic(stone.volume, units), read
        yield area.name, "over-dig", _("to fill, weight"), *_weight(stone.mass, units), read
        if stone.money is not None:
            yield area.name, "over-dig", _("to fill, price"), stone.money, "$", read
    if found.undercut is not None and (filled := found.undercut.stone) is not None:
        by = ", ".join(dict.fromkeys(each.ordered_by for each in found.undercut.orders))
        basis = _("undercut ordered by {by}; {read}", by=by, read=read)
        yield area.name, "undercut", _("to fill"), *_cubic(filled.volume, units), basis
        yield area.name, "undercut", _("to fill, weight"), *_weight(filled.mass, units), basis
        if filled.money is not None:
            yield area.name, "undercut", _("to fill, price"), filled.money, "$", basis
    if dug.above:
        yield area.name, "dig", _("still to dig"), *_cubic(dug.above, units), read


def _square(area: Fraction, units: Units) -> tuple[Fraction, str]:
    return (area / FOOT**2, "ft²") if units.imperial else (area, "m²")


def _cubic(volume: Fraction, units: Units) -> tuple[Fraction, str]:
    return (volume / YARD_3, "yd³") if units.imperial else (volume, "m³")


def _weight(mass: Fraction, units: Units) -> tuple[Fraction, str]:
    return (mass / TON, "ton") if units.imperial else (mass / 1000, "t")


def _tapes(state: State, lines: Sequence[LogLine], areas: set[str], units: Units) -> Iterator[Row]:
    """The last tape of each side and diagonal, and of a layout check that the plan has no more too."""
    last: dict[tuple[str, frozenset[str]], LogLine] = {}
    for line in lines:
        if line.replaced_by is None and isinstance(fact := line.entry.fact, Taped):
            last[fact.layout, frozenset((fact.start, fact.end))] = line
    one, unit = (FOOT, "ft") if units.imperial else (Fraction(1), "m")
    layouts = state.plan.layout
    for (name, _ends), line in last.items():
        layout, fact = layouts.get(name), line.entry.fact
        assert isinstance(fact, Taped)
        if layout is None or not layout.area or layout.area in areas:
            basis = _(
                "entry {seq}, {by}, {day_of}",
                seq=line.entry.seq,
                by=line.entry.by,
                day_of=day_of(line.entry.at, line.entry.offset),
            )
            yield (
                name,
                _("{start} to {end}", start=fact.start, end=fact.end),
                "taped",
                fact.length.metres / one,
                unit,
                basis,
            )


def _days(state: State, lines: Sequence[LogLine], areas: set[str]) -> Iterator[Row]:
    """For each day what was read, and how much of it is the last at its point and on grade, out, or in doubt now."""
    days: dict[str, dict[str, int]] = {}
    people: dict[str, dict[str, None]] = {}
    for line in lines:
        fact = line.entry.fact
        if line.replaced_by is not None or not isinstance(fact, Reading) or fact.area not in areas:
            continue
        first, surface = line.first or line.entry, Surface(fact.area, fact.point, fact.stage)
        day = day_of(first.at, first.offset)
        counts = days.setdefault(day, dict.fromkeys(("readings", _LAST, *_OUTCOMES), 0))
        people.setdefault(day, {})[line.entry.by] = None
        counts["readings"] += 1
        shot = state.latest(surface)
        if shot is not None and shot.id == first.id:
            counts[_LAST] += 1
            counts[_outcome(state, surface)] += 1
    for day, counts in sorted(days.items()):
        for what, number in counts.items():
            yield (
                day,
                what,
                "read",
                number,
                "readings",
                _("by {people}", people=", ".join(people[day])) if what == "readings" else "",
            )


_LAST = stored("last at their point")
_OUTCOMES = (stored("on grade"), "out", stored("in doubt"), stored("not judged"))


def _outcome(state: State, surface: Surface) -> str:
    shot, verdict = state.latest(surface), state.verdict(surface)
    if shot is not None and state.in_doubt(shot):
        return _("in doubt")
    if verdict is None or verdict.word in (Word.EXAMPLE, Word.TOO_CLOSE):
        return _("not judged")
    return _("on grade") if verdict.word is Word.ON_GRADE else "out"
