"""From one entry of the job file to one value of the plan: what is left out is filled with what is usual."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import NO_SLOPE, ZERO, Length, inches, millimetres
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.area_entries import AreaEntry, ToleranceEntry
from gradecheck.plan.document import BondEntry, BuildUpEntry, InstrumentEntry, RechecksEntry, RodEntry, StoneEntry
from gradecheck.plan.model import Bond, BuildUp, Drains, Instrument, Layer, Rechecks, Rod
from gradecheck.plan.stone import Stone

USUAL_READINGS, USUAL_MINUTES = 30, 60
"""Between two looks at a mark (common practice, no source)."""


def build_up_of(name: str, entry: BuildUpEntry, line: int) -> BuildUp:
    """The build-up of that entry; a layer placed loose or set high has a stage of its own before it is rolled."""
    layers = []
    for place, layer in enumerate(entry.layers):
        loose, before = entry.loose.get(layer.name), f"{layer.name} loose"
        if place == 0 and entry.set_high is not None and loose is None:
            loose, before = layer.thickness + entry.set_high, f"{layer.name} set"
        lifts = _lifts(layer.thickness, entry.lifts.get(layer.name))
        layers.append(Layer(layer.name, layer.thickness, loose, before if loose is not None else "", lifts))
    return BuildUp(name, tuple(layers), entry.past_edge or ZERO, line)


def _lifts(thickness: Length, given: int | list[Length] | None) -> tuple[Length, ...]:
    """The lifts of a layer, alike where only their number is given."""
    if isinstance(given, int):
        return (thickness * Fraction(1, given),) * given if given > 1 else ()
    return tuple(given or ())


def stone_of(entry: StoneEntry) -> Stone:
    """The stone with what the job gives, named in `given`; everything else is usual."""
    given = {
        "density": entry.density,
        "loose": None if entry.loose is None else entry.loose == "yes",
        "compaction": entry.compaction,
        "waste": entry.waste.ratio if entry.waste else None,
        "swell": entry.swell.ratio if entry.swell else None,
        "truck": entry.truck,
    }
    written = {name: value for name, value in given.items() if value is not None}
    stone = Stone(**written, given=tuple(written))  # type: ignore[arg-type]
    if entry.price is None:
        return stone
    price, unit = entry.price
    # By volume stone is sold loose; the density cancels out wherever a volume is priced.
    delivered = stone.density if stone.loose else stone.density / stone.compaction
    return replace(stone, price=price if unit == "kg" else price / delivered, given=(*stone.given, "price"))


def bond_of(name: str, entry: BondEntry) -> Bond:
    """The bond of a laying pattern; a unit without a length is twice as long as it is wide."""
    length = entry.length or entry.unit * 2
    return Bond(name, entry.from_, entry.unit, length, entry.joint, entry.rows, entry.every, entry.pattern)


def drains_of(area: AreaEntry, along: Callable[[str], list[str]]) -> Drains | None:
    """Where the area's water must go, None where the plan does not say; a slot is every point `along` its edge."""
    entry = area.drains
    if entry is None:
        return None
    into = dict.fromkeys(name for drain in entry.into for name in along(drain) or [drain])
    return Drains(entry.away_from, tuple(into), entry.at_least, entry.at_most)


def rod_of(name: str, entry: RodEntry, job: Units) -> Rod:
    """The rod; its units default to the job's, its graduation to the usual one for them."""
    units = entry.units or job
    return Rod(name, entry.kind, Notation(units, entry.graduation or units.graduation), entry.length)


def job_notation(units: Units, rod: Notation) -> Notation:
    """The job writes its own units to the marks of its first rod, where that rod's marks make sense in them."""
    in_inches = {Units.IN, Units.FT_IN}
    alike = rod.units is units or {rod.units, units} <= in_inches
    return Notation(units, rod.graduation) if alike else Notation.usual(units)


def rechecks_of(entry: RechecksEntry, units: Units) -> Rechecks:
    """When a mark is to be rechecked and what it may be off, in the job's units where not given."""
    # What a mark may be off: 1/8 in, or 3 mm (common practice, no source).
    usual = inches(Fraction(1, 8)) if units.imperial else millimetres(3)
    allowed = usual if entry.allowed is None else entry.allowed
    return Rechecks(entry.readings or USUAL_READINGS, entry.minutes or USUAL_MINUTES, allowed)


def instrument_of(entry: InstrumentEntry | None) -> Instrument | None:
    """What the instrument is good for, if the job says so; no receiver or plumb given counts as none."""
    if entry is None:
        return None
    return Instrument(
        entry.beam, entry.longest_shot, entry.receiver or ZERO, entry.plumb or NO_SLOPE, entry.adjust_beyond
    )


def tolerance_of(entry: ToleranceEntry) -> Tolerance:
    """How far above and below its target a surface may lie."""
    return Tolerance(entry.high, entry.low)
