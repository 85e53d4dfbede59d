"""Each invented plan, worked out plainly and by the program: targets, verdicts and every line of its checks agree."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from fractions import Fraction
from math import isqrt
from pathlib import Path

import pytest

from gradecheck.findings.every import findings
from gradecheck.measure.quantities import INCH, Length, inches
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target
from gradecheck.report.checks import area_results, result_line
from gradecheck.report.findings import finding_line
from gradecheck.state.as_built import AreaChecks, check_area, over_dug
from gradecheck.state.state import State, Surface, fold
from tests.journal_strategies import Site
from tests.recomputed.plainly import Place, Sheet, Triangles, largest_gap, word
from tests.thorough import some

HERE = Path(__file__).parent
PLANS: dict[str, Triangles] = {
    "larch-hollow": {
        "court": [("C1", "C2", "M"), ("C2", "C3", "M"), ("C3", "C4", "M"), ("C4", "C1", "M")],
        "walk": [("W1", "V1", "V2"), ("W1", "V2", "W2"), ("W2", "V2", "V3"), ("W2", "V3", "W3")],
    },
    "otter-wharf": {
        "quay walk": [("W1", "V1", "V2"), ("W1", "V2", "W2"), ("W2", "V2", "V3"), ("W2", "V3", "W3")],
    },
    "marlow-plain": {
        "yard": [("Y1", "Y2", "M"), ("Y2", "Y3", "M"), ("Y3", "Y4", "M"), ("Y4", "Y1", "M")],
    },
}
REMINDERS = {
    "larch-hollow": ["a guard may be required", "a handrail may be required"],
    "otter-wharf": ["a handrail may be required"],
    "marlow-plain": ["a handrail may be required"],
}
ROD = Fraction(300)
HAIR = Fraction(1, 10**8)
"""A slope over a run with a square root in it is worked out to this."""
Off = Callable[[str, str, str, Place | None], Fraction]


@pytest.fixture(params=PLANS)
def name(request: pytest.FixtureRequest) -> str:
    """Each plan in turn."""
    return str(request.param)


@pytest.fixture
def sheet(name: str) -> Sheet:
    """The plan worked out plainly."""
    return Sheet(HERE / f"{name}.yaml", PLANS[name])


@pytest.fixture
def plan(name: str) -> Plan:
    """The same as the program reads it."""
    return read_plan((HERE / f"{name}.yaml").read_text(encoding="utf-8"), "job.yaml")


def _long(value: Fraction) -> Length:
    """Inches as a length."""
    return Length(value * INCH)


def _in(value: Length) -> Fraction:
    return value.metres / INCH


def _read(plan: Plan, sheet: Sheet, off: Off) -> State:
    """Every point at every stage read so far off what was worked out plainly."""
    site = Site(plan)
    mark, zero = next(iter(sheet.marks.items()))
    site.set_up(mark, _long(ROD - zero), rod=plan.rod.name)
    for area, yard in sheet.yards.items():
        for stage, depth in yard.depth.items():
            for point, spot in yard.points.items():
                found = spot.z - depth + off(area, point, stage, spot.at)
                site.read((area, point, stage), _long(ROD - found))
    return fold(plan, site.entries)


def _on_target(_area: str, _point: str, _stage: str, _at: Place | None) -> Fraction:
    return Fraction(0)


def _tipped(_area: str, _point: str, stage: str, at: Place | None) -> Fraction:
    """Built a little tipped, and a thirty-second low: 1/8 in over 100 ft along x, 1/16 in over 100 ft along y."""
    x, y = at or (Fraction(0), Fraction(0))
    return Fraction(-1, 32) + x / 9600 - y / 19200 if stage == "finish" else Fraction(0)


def _bumpy(_area: str, point: str, stage: str, _at: Place | None) -> Fraction:
    """Another sixteenth or two at every point, by its name."""
    return Fraction(sum(map(ord, point + stage)) % 5 - 2, 16)


# -- the plan


def test_every_target_is_the_one_worked_out_plainly(plan: Plan, sheet: Sheet) -> None:
    for area, yard in sheet.yards.items():
        home = plan.areas[area]
        assert [point.name for point in home.points] == list(yard.points)
        assert set(home.stages) == set(yard.depth)
        for stage, depth in yard.depth.items():
            wanted = {point.name: target(home, point, stage) for point in home.points}
            assert {each: _in(at.wanted.height) for each, at in wanted.items()} == {
                each: spot.z - depth for each, spot in yard.points.items()
            }
            allowed = {(_in(at.tolerance.high), _in(at.tolerance.low)) for at in wanted.values()}
            assert allowed == {yard.allowed[stage]}


def test_examine_finds_nothing_but_what_the_local_code_is_asked(name: str, plan: Plan) -> None:
    told = [finding_line(plan, each) for each in findings(plan)]
    assert len(told) == len(REMINDERS[name])
    for says, reminder in zip(told, REMINDERS[name], strict=True):
        assert "reminder:" in says
        assert reminder in says


# -- what is read


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("beyond", [Fraction(-1, 64), Fraction(0), Fraction(1, 64)])
def test_every_verdict_on_just_inside_at_and_just_outside_the_edge(
    plan: Plan, sheet: Sheet, side: int, beyond: Fraction
) -> None:
    def off(area: str, _point: str, stage: str, _at: Place | None) -> Fraction:
        high, low = sheet.yards[area].allowed[stage]
        return (high if side > 0 else -low) + side * beyond

    state = _read(plan, sheet, off)
    for area, yard in sheet.yards.items():
        for stage, allowed in yard.allowed.items():
            for point in yard.points:
                verdict, by = state.verdict(Surface(area, point, stage)), off(area, point, stage, None)
                assert verdict is not None
                assert (verdict.word, _in(verdict.difference)) == (word(by, allowed), by)


def test_read_at_target_nothing_is_out_at_any_stage(plan: Plan, sheet: Sheet) -> None:
    state = _read(plan, sheet, _on_target)
    for area, yard in sheet.yards.items():
        for stage in yard.depth:
            results = area_results(check_area(state, area, stage), plan.notation)
            assert [result_line(each) for each in results if each.verdict in ("fault", "advice", "can't tell")] == []
            assert any(each.verdict == "passes" for each in results) == (stage not in _silent(yard.depth))


def _silent(depth: dict[str, Fraction]) -> set[str]:
    """The stages at which no check but the tolerance holds; the straightedge of steps is not laid."""
    return set(depth) - {"finish"} if "concrete" in depth else {"subgrade"}


# -- the checks


@pytest.mark.parametrize("off", some([_on_target, _tipped, _bumpy], [_bumpy]))
def test_every_fall_and_cross_fall_is_the_one_worked_out_plainly(plan: Plan, sheet: Sheet, off: Off) -> None:
    state, seen = _read(plan, sheet, off), 0
    for area in sheet.yards:
        checks = check_area(state, area, "finish")
        for what, start, end, found in _falls(checks):
            expected = list(_by_hand(sheet, area, what, start, end, off))
            assert any(abs(found - each) < HAIR for each in expected), (area, what, start, end, found, expected)
            seen += 1
    assert seen > 20


def _falls(checks: AreaChecks) -> Iterator[tuple[str, str, str, Fraction]]:
    route = (*checks.route.running.judged, *checks.route.cross.judged) if checks.route else ()
    for each in (*(checks.falls.judged if checks.falls else ()), *route):
        yield each.what, each.fall.start, each.fall.end, each.fall.slope.ratio


def _by_hand(sheet: Sheet, area: str, what: str, start: str, end: str, off: Off) -> Iterator[Fraction]:
    """What the fall between two spots may be: the surface's own, and what was found off it, down each way there is.

    On a piece with three spots that is the plane through them, on any other the change from one to the other.
    """
    points = sheet.yards[area].points
    one, other = points[start].at, points[end].at
    assert one is not None
    assert other is not None
    for fall in sheet.falls_at(area, other) + sheet.falls_at(area, one):
        for way in _ways(sheet, area, what, fall, other) + _ways(sheet, area, what, fall, one):
            long = _root(way[0] ** 2 + way[1] ** 2)
            planned = (fall[0] * way[0] + fall[1] * way[1]) / long
            run = ((other[0] - one[0]) * way[0] + (other[1] - one[1]) * way[1]) / long
            if run:
                change = off(area, start, "finish", one) - off(area, end, "finish", other)
                yield planned * (1 if run > 0 else -1) + change / abs(run)
            for low in _planes(sheet, area, fall, off):
                yield planned - (low[0] * way[0] + low[1] * way[1]) / long


def _planes(sheet: Sheet, area: str, fall: Place, off: Off) -> Iterator[Place]:
    """Of each piece that falls so: how the least-squares plane through what was found off it rises along x and y."""
    spots = [
        (spot.at, off(area, name, "finish", spot.at))
        for name, spot in sheet.yards[area].points.items()
        if spot.at and fall in sheet.falls_at(area, spot.at)
    ]
    count = len(spots)
    mx, my = (sum((at[axis] for at, _ in spots), Fraction(0)) / count for axis in (0, 1))
    xx = sum(((at[0] - mx) ** 2 for at, _ in spots), Fraction(0))
    yy = sum(((at[1] - my) ** 2 for at, _ in spots), Fraction(0))
    xy = sum(((at[0] - mx) * (at[1] - my) for at, _ in spots), Fraction(0))
    xz = sum(((at[0] - mx) * z for at, z in spots), Fraction(0))
    yz = sum(((at[1] - my) * z for at, z in spots), Fraction(0))
    if whole := xx * yy - xy * xy:
        yield (xz * yy - yz * xy) / whole, (yz * xx - xz * xy) / whole


def _ways(sheet: Sheet, area: str, what: str, fall: Place, at: Place) -> list[Place]:
    """Down the surface; on a walk along its legs, or across them; away from a wall along y, where one is near."""
    entry = sheet.texts["areas"][area]
    if what in ("running fall", "cross fall"):
        legs = sheet.legs(area)
        far = [_off_square(leg, at) for leg in legs]
        near = [(b[0] - a[0], b[1] - a[1]) for (a, b), each in zip(legs, far, strict=True) if each == min(far)]
        return near if what == "running fall" else [(-y, x) for x, y in near]
    away = (Fraction(0), Fraction(1))
    return [away] if "away from" in entry.get("drains", {}) else [fall]


def _off_square(leg: tuple[Place, Place], at: Place) -> Fraction:
    """How far a place lies from a leg along x or y, squared."""
    apart = Fraction(0)
    for axis in (0, 1):
        least, most = sorted(end[axis] for end in leg)
        apart += max(least - at[axis], at[axis] - most, Fraction(0)) ** 2
    return apart


def _root(value: Fraction) -> Fraction:
    scale = 10**40
    return Fraction(isqrt(int(value * scale)), isqrt(scale))


@pytest.mark.parametrize("off", some([_on_target, _bumpy], [_bumpy]))
def test_every_gap_under_the_straightedge_is_the_one_worked_out_plainly(plan: Plan, sheet: Sheet, off: Off) -> None:
    state = _read(plan, sheet, off)
    for area, yard in sheet.yards.items():
        for flat in check_area(state, area, "finish").flatness:
            known = {
                each.name: (_in(each.at), off(area, each.name, "finish", yard.points[each.name].at))
                for each in flat.line
            }
            assert [_in(each.z.height) for each in flat.line] == [z for _, z in known.values()]
            for laid in flat.laid:
                under = [(at, z) for at, z in known.values() if _in(laid.start) < at < _in(laid.end)]
                ends = [(at, _between(list(known.values()), at)) for at in (_in(laid.start), _in(laid.end))]
                assert _in(laid.gap) == largest_gap([ends[0], *under, ends[1]])


def _between(stations: list[tuple[Fraction, Fraction]], at: Fraction) -> Fraction:
    """The height there on straight lines from spot to spot."""
    for (from_at, from_z), (to_at, to_z) in itertools.pairwise(stations):
        if from_at <= at <= to_at:
            return from_z + (to_z - from_z) * (at - from_at) / (to_at - from_at)
    raise AssertionError(at)


@pytest.mark.parametrize("off", some([_on_target, _bumpy], [_bumpy]))
def test_every_riser_is_the_one_worked_out_plainly(plan: Plan, sheet: Sheet, off: Off) -> None:
    state, seen = _read(plan, sheet, off), 0
    for area, yard in sheet.yards.items():
        built = {name: spot.z + off(area, name, "finish", spot.at) for name, spot in yard.points.items()}
        for flight in check_area(state, area, "finish").flights:
            risers = [built[riser.start] - built[riser.end] for riser in flight.risers]
            assert [_in(riser.height) for riser in flight.risers] == risers
            varies = {_in(held.length) for held in flight.held if held.what == "largest less smallest riser"}
            assert varies <= {max(risers) - min(risers)}  # nothing where no code of the job limits it
            seen += len(risers)
    assert seen >= 3


def test_a_dig_too_deep_everywhere_is_that_much_over_its_whole_area(plan: Plan, sheet: Sheet) -> None:
    state = _read(plan, sheet, lambda *_: Fraction(-1, 4))
    for area, size in _rectangles(sheet).items():
        dug = over_dug(state, area)
        assert dug is not None
        assert dug.dug.volume is not None
        (factor,) = dug.dug.factors
        cubic_inches = size[0] * size[1] / 4
        assert dug.dug.volume / INCH**3 == cubic_inches * factor.value
        past = sheet.length(sheet.texts["build-ups"]["court"]["past edge"])
        carried = (size[0] + 2 * past) * (size[1] + 2 * past) - past * sheet.at_walls(area)
        assert factor.value == carried / (size[0] * size[1])
        assert (dug.dug.worst, dug.dug.mean) == (inches(Fraction(1, 4)), inches(Fraction(1, 4)))


def _rectangles(sheet: Sheet) -> dict[str, Place]:
    """How wide and deep each area with four corners is."""
    found = {}
    for name, area in sheet.texts["areas"].items():
        ring = [sheet.place(corner) for corner in area.get("outline", ())]
        if len(ring) == 4 and "corners" in area["surface"]:
            xs, ys = zip(*ring, strict=True)
            found[name] = max(xs) - min(xs), max(ys) - min(ys)
    return found


def test_a_crease_from_corner_to_corner_of_a_cell_holds_no_water() -> None:
    """A yard falls to its drain along four creases; a cell cut across one would dam it."""
    text = (HERE / "marlow-plain.yaml").read_text(encoding="utf-8")
    inside, wider = "[[6, 16], [24, 16], [24, 34], [6, 34]]", "[[3, 13], [27, 13], [27, 37], [3, 37]]"
    assert inside in text
    yard = read_plan(text.replace(inside, wider), "job.yaml")
    assert [each for each in findings(yard) if each.what == "ponding"] == []
