"""What an area takes and comes to as a whole, worked out plainly beside the program: counts, ponds, planes, stone."""

from __future__ import annotations

import re
from fractions import Fraction
from math import isqrt
from typing import Literal

import pytest

from gradecheck.journal.facts import Gauged
from gradecheck.measure.quantities import INCH, Length
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.report.checks import CheckResult, area_results
from gradecheck.report.stone import order_rows
from gradecheck.state.as_built import check_area
from gradecheck.state.orders import area_orders
from gradecheck.state.state import fold
from tests.journal_strategies import Site
from tests.recomputed.plainly import Place, Sheet, best_plane, falls_down, ordered, rows_of_three
from tests.recomputed.test_plans import HERE, PLANS, Off, _bumpy, _off_square, _on_target, _read, _tipped
from tests.tables import each_of
from tests.thorough import some

AREAS = [(name, area) for name in PLANS for area in Sheet(HERE / f"{name}.yaml", PLANS[name]).yards]
PAVED = [(name, area) for name, area in AREAS if "steps" not in area]
SHEETS = {name: Sheet(HERE / f"{name}.yaml", triangles) for name, triangles in PLANS.items()}
JOBS = {name: read_plan((HERE / f"{name}.yaml").read_text(encoding="utf-8"), "job.yaml") for name in PLANS}


def _rough_steps(area: str, point: str, stage: str, _at: Place | None) -> Fraction:
    """The top of every flight an inch low."""
    return Fraction(-1) if (point, stage) == ("S1", "finish") and "steps" in area else Fraction(0)


# -- counts


@pytest.mark.parametrize(("name", "area"), AREAS)
def test_as_many_points_are_read_as_the_area_has(name: str, area: str) -> None:
    sheet = SHEETS[name]
    checks = check_area(_read(JOBS[name], sheet, _on_target), area, "finish")
    assert (checks.read, checks.points) == (len(sheet.yards[area].points),) * 2


@pytest.mark.parametrize(("name", "area"), PAVED)
def test_a_straightedge_is_laid_on_every_row_of_three_that_no_fold_parts(name: str, area: str) -> None:
    sheet, plan = SHEETS[name], JOBS[name]
    checks = check_area(_read(plan, sheet, _on_target), area, "finish")
    rows = rows_of_three(sheet, area)
    assert rows
    laid = {tuple(station.name for station in flat.line) for flat in checks.flatness}
    assert {frozenset(line) for line in laid} == {frozenset(row) for row in rows}
    assert len(checks.flatness) == len(rows)
    assert _counted(plan, name, area, "flatness", "line") == len(rows)


def _counted(plan: Plan, name: str, area: str, section: str, thing: str) -> int:
    """The count that the line of that section says."""
    results = area_results(check_area(_read(plan, SHEETS[name], _on_target), area, "finish"), plan.notation)
    (says,) = (each.says for each in results if each.section == section and each.verdict == "passes")
    found = re.match(rf"([0-9]+) {thing}s? within", says)
    assert found is not None
    return int(found[1])


STRAIGHT = [
    ("larch-hollow", "deck"),
    ("larch-hollow", "court"),
    ("larch-hollow", "drive"),
    ("otter-wharf", "terrace"),
    ("marlow-plain", "yard"),
    ("marlow-plain", "lane"),
    ("larch-hollow", "walk"),
    ("otter-wharf", "quay walk"),
]
"""Where water runs one way on each piece of the surface: away from the wall, or down the piece."""


@pytest.mark.parametrize(("name", "area"), STRAIGHT)
def test_each_piece_has_as_many_falls_as_spots_follow_down_it(name: str, area: str) -> None:
    sheet, count = SHEETS[name], 0
    spots = {each: spot.at for each, spot in sheet.yards[area].points.items() if spot.at}
    for way in _pieces(sheet, area, spots):
        on_it = {each: at for each, at in spots.items() if way[1] is None or way[1] in sheet.falls_at(area, at)}
        pairs = falls_down(on_it, way[0])
        count += len(pairs) if len(on_it) > 3 and pairs else 1  # three spots, or none in turn: the plane through them
    assert count > 1
    assert _counted(JOBS[name], name, area, "falls", "fall") == count


def _pieces(sheet: Sheet, area: str, spots: dict[str, Place]) -> list[tuple[Place, Place | None]]:
    """The way water runs on each piece, and how the piece falls."""
    if "away from" in sheet.texts["areas"][area].get("drains", {}):
        return [((Fraction(0), Fraction(1)), None)]
    return [
        (fall, fall) for fall in dict.fromkeys(fall for at in spots.values() for fall in sheet.falls_at(area, at))
    ]


@pytest.mark.parametrize(("name", "area"), [("otter-wharf", "deck"), ("marlow-plain", "deck")])
def test_on_a_twisted_deck_as_many_falls_follow_the_slope_as_it_turns(name: str, area: str) -> None:
    sheet = SHEETS[name]
    spots = {each: spot.at for each, spot in sheet.yards[area].points.items() if spot.at}
    pairs = falls_down(spots, lambda at: sheet.falls_at(area, at)[0])
    checks = check_area(_read(JOBS[name], sheet, _on_target), area, "finish")
    assert checks.falls is not None
    assert {(each.fall.start, each.fall.end) for each in checks.falls.judged} == pairs
    assert _counted(JOBS[name], name, area, "falls", "fall") == len(pairs) > 10


WALKS = [("larch-hollow", "walk", 25, 11), ("otter-wharf", "quay walk", 18, 7)]


@pytest.mark.parametrize(("name", "area", "along", "across"), WALKS)
def test_falls_are_as_many_as_spots_along_and_across_each_leg(name: str, area: str, along: int, across: int) -> None:
    sheet = SHEETS[name]
    route = check_area(_read(JOBS[name], sheet, _on_target), area, "finish").route
    assert route is not None
    for found, aside, count in ((route.running, False, along), (route.cross, True, across)):
        pairs = _on_legs(sheet, area, aside=aside)
        assert {frozenset((each.fall.start, each.fall.end)) for each in found.judged} == pairs
        assert len(found.judged) == len(pairs) == count


def _on_legs(sheet: Sheet, area: str, *, aside: bool) -> set[frozenset[str]]:
    """The spots next to one another along each leg and on each piece of it, or across it, looked for both ways."""
    found = set[frozenset[str]]()
    spots = {each: spot.at for each, spot in sheet.yards[area].points.items() if spot.at}
    legs = sheet.legs(area)
    for leg in legs:
        (ax, ay), (bx, by) = leg
        x, y = (ay - by, bx - ax) if aside else (bx - ax, by - ay)
        for piece in dict.fromkeys(fall for at in spots.values() for fall in sheet.falls_at(area, at)):
            beside = {
                each: at
                for each, at in spots.items()
                if piece in sheet.falls_at(area, at) and _off_square(leg, at) == min(_off_square(a, at) for a in legs)
            }
            for way in ((x, y), (-x, -y)):
                found |= {frozenset(pair) for pair in falls_down(beside, way)}
    return found


# -- steps


STEPS = [
    ("larch-hollow", "steps", 2, 30),
    ("otter-wharf", "water steps", 2, None),
    ("marlow-plain", "side steps", 2, 30),
]
"""The most risers without a handrail (ADA 2010, 504.6: any stair; one step is none) and inches without a guard.

IBC 2018, 1015.2 and IRC 2018, R312.1.1: a guard above 30 in; the wharf's plan names no building code.
"""


@pytest.mark.parametrize(("name", "area", "risers", "drop"), STEPS)
@pytest.mark.parametrize("off", [_on_target, _bumpy, _rough_steps])
def test_handrail_and_guard_are_named_where_count_and_drop_ask_it(
    name: str, area: str, risers: int, drop: int | None, off: Off
) -> None:
    sheet, plan = SHEETS[name], JOBS[name]
    checks = check_area(_read(plan, sheet, off), area, "finish")
    told = [each.says for each in area_results(checks, plan.notation) if each.verdict == "reminder"]
    points = sheet.yards[area].points
    z = [spot.z + off(area, each, "finish", spot.at) for each, spot in points.items()]
    ends = f"{next(iter(points))} to {list(points)[-1]}"
    count, high = len(z) - 1, z[0] - z[-1]
    rails = [each for each in told if each.startswith("risers in a flight")]
    assert rails == ([f"risers in a flight {count}, {ends}"] if count > risers else [])
    guards = [each for each in told if each.startswith("drop ")]
    assert len(guards) == (drop is not None and high > drop)
    (flight,) = checks.flights
    held = {each.what: each.length.metres / INCH for each in flight.held if each.what == "drop"}
    assert held == ({"drop": high} if drop is not None else {})


# -- what was gauged


MM = Fraction(10, 254)
JOINT = {"larch-hollow": Fraction(1, 8), "otter-wharf": 3 * MM, "marlow-plain": Fraction(1, 8)}
"""Paving institute: an eighth of an inch between two units, 3 mm in metric work."""
RIM = {"larch-hollow": (Fraction(1, 8), Fraction(1, 4)), "marlow-plain": (Fraction(1, 8), Fraction(1, 4))}
"""The same institute: paving stands an eighth to a quarter of an inch above a drain."""
HAIRS = [Fraction(-1, 64), Fraction(0), Fraction(1, 64)]


def _gauged(name: str, area: str, kind: Literal["lippage", "above drain"], value: Fraction) -> CheckResult:
    """The one line that such a figure gets."""
    plan, site = JOBS[name], Site(JOBS[name])
    site.add(Gauged(kind, area, "by the gate", Length(value * INCH)))
    checks = check_area(fold(plan, site.entries), area, "finish")
    (told,) = (one for one in area_results(checks, plan.notation) if one.section == "gauged" and kind in one.says)
    return told


@each_of("beyond", HAIRS)
@each_of(("name", "area"), PAVED)
def test_a_gauged_joint_is_out_only_beyond_its_limit_either_way_up(name: str, area: str, beyond: Fraction) -> None:
    for side in (1, -1):
        told = _gauged(name, area, "lippage", side * (JOINT[name] + beyond))
        assert told.verdict == ("fault" if beyond > 0 else "passes")


@pytest.mark.parametrize("beyond", HAIRS)
@pytest.mark.parametrize(("name", "area"), [("larch-hollow", "court"), ("marlow-plain", "yard")])
def test_paving_gauged_at_a_drain_is_out_only_outside_its_two_limits(name: str, area: str, beyond: Fraction) -> None:
    least, most = RIM[name]
    for value in (least - beyond, most + beyond):
        assert _gauged(name, area, "above drain", value).verdict == ("fault" if beyond > 0 else "passes")


# -- a hollow that holds water


HOLLOWS = [("larch-hollow", "drive"), ("otter-wharf", "terrace"), ("otter-wharf", "deck"), ("marlow-plain", "lane"),
           ("marlow-plain", "deck")]  # fmt: skip
"""Areas with a spot of the grid that has all eight around it; in the drained courts the drain lies between."""


@pytest.mark.parametrize(("name", "area"), HOLLOWS)
def test_water_in_a_hollow_stands_as_high_as_the_lowest_spot_around_it(name: str, area: str) -> None:
    """Four inches down, within a rim of its eight neighbors: those beside it raised by one inch, the others by six.

    Water leaves over the lowest of the rim, which lies beside it, whichever way the cells are cut (the flood from the
    outlets inward that fills each hollow to its lowest way out: Barnes, Lehman and Mulla 2014, from memory).
    """
    sheet, plan = SHEETS[name], JOBS[name]
    found = 0
    for middle, beside, across in _blocks(sheet, area):
        raised = {middle: Fraction(-4), **dict.fromkeys(beside, Fraction(1)), **dict.fromkeys(across, Fraction(6))}

        def off(
            home: str, point: str, stage: str, _at: Place | None, raised: dict[str, Fraction] = raised
        ) -> Fraction:
            return raised.get(point, Fraction(0)) if (home, stage) == (area, "finish") else Fraction(0)

        z = {each: sheet.yards[area].points[each].z + raised[each] for each in raised}
        lip = min(z[each] for each in beside)
        assert all(z[each] > lip for each in across)
        ponds = check_area(_read(plan, sheet, off), area, "finish").ponds
        (pond,) = (each for each in ponds if middle in each.spots)
        assert (pond.deepest, pond.depth.metres / INCH) == (middle, lip - z[middle])
        assert set(pond.lips) == {each for each in beside if z[each] == lip}
        found += 1
    assert found


def _blocks(sheet: Sheet, area: str) -> list[tuple[str, list[str], list[str]]]:
    """Up to two spots of the grid with all eight around them and nothing else between, those beside and across."""
    entry, places = sheet.texts["areas"][area]["grid"], {}
    for each, spot in sheet.yards[area].points.items():
        if spot.at is not None:
            places.setdefault(spot.at, each)
    every = entry["every"]
    wide, deep = sheet.place([every, every] if isinstance(every, str) else every)
    found = []
    for (x, y), middle in places.items():
        beside = [places.get((x + dx * wide, y + dy * deep), "") for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))]
        across = [places.get((x + dx * wide, y + dy * deep), "") for dx in (1, -1) for dy in (1, -1)]
        inside = [at for at in places if abs(at[0] - x) <= wide and abs(at[1] - y) <= deep]
        if all(beside) and all(across) and len(inside) == 9:
            found.append((middle, beside, across))
    return found[:2]


# -- the best plane


@pytest.mark.parametrize("off", [_on_target, _tipped, _bumpy])
def test_the_best_plane_is_the_one_of_the_normal_equations(off: Off) -> None:
    name, area = "otter-wharf", "terrace"
    sheet = SHEETS[name]
    plane = check_area(_read(JOBS[name], sheet, off), area, "finish").plane
    assert plane is not None
    spots = {
        each: (spot.at, spot.z + off(area, each, "finish", spot.at))
        for each, spot in sheet.yards[area].points.items()
        if spot.at
    }
    a, b, c = best_plane(list(spots.values()))
    assert tuple(fall.ratio for fall in plane.plane.falls) == (-a, -b)
    scale = 10**40
    steep = Fraction(isqrt(int((a * a + b * b) * scale)), isqrt(scale))
    assert abs(plane.fall.ratio - steep) < Fraction(1, 10**8)
    left = {each: z - (a * at[0] + b * at[1] + c) for each, (at, z) in spots.items()}
    assert {each.name: each.above.metres / INCH for each in plane.residuals} == left
    assert abs(plane.worst.above.metres / INCH) == max(map(abs, left.values()))
    assert sum(left.values()) == 0


def test_of_all_areas_only_the_one_that_is_a_plane_is_held_to_one() -> None:
    held = [
        (name, area) for name, area in PAVED
        if check_area(_read(JOBS[name], SHEETS[name], _on_target), area, "finish").plane is not None
    ]  # fmt: skip
    assert held == [("otter-wharf", "terrace")]


# -- stone


@pytest.mark.parametrize(("name", "area"), AREAS)
def test_every_layer_is_ordered_by_its_own_sum(name: str, area: str) -> None:
    sheet, plan = SHEETS[name], JOBS[name]
    found, plain = area_orders(_read(plan, sheet, _on_target), plan.areas[area]), ordered(sheet, area)
    if plain is None:
        assert (found.layers, found.soil) == ((), None)
        return
    layers, soil = plain
    told = [(each.name, each.compacted, each.loose, each.mass, each.money) for each in found.layers]
    assert told == [(each.name, each.in_place, each.loose, each.kilograms, each.money) for each in layers]
    assert found.soil is not None
    assert found.soil.loose == soil
    assert [each.name for each in found.not_ordered] == ["paver"]
    rows = {row["what"]: row for row in order_rows(found)}
    for each in layers:
        row = rows[each.name]
        assert (row["m3"], row["kg"]) == (pytest.approx(float(each.loose)), pytest.approx(float(each.kilograms)))
        assert row["money"] == (None if each.money is None else pytest.approx(float(each.money)))


# -- verdicts


MARKS = {"larch-hollow": Fraction(1, 16), "otter-wharf": Fraction(10, 254), "marlow-plain": Fraction(12, 100)}
"""The rod's smallest mark in inches; a height is known to half of it, where the plan says no more of its laser."""
PERCENT = Fraction(1, 100)
GAP = {"larch-hollow": Fraction(3, 8), "otter-wharf": Fraction(100, 254), "marlow-plain": Fraction(3, 8)}
"""Paving institute: 3/8 in under the straightedge, 10 mm in metric work; ADA 2010, 403.3: 1:20 along, 1:48 across."""
PUDDLE = Fraction(20, 254)
"""Two millimeters, common practice."""
ROUTE = {"running fall": Fraction(1, 20), "cross fall": Fraction(1, 48)}


def _below(value: Fraction, least: Fraction, doubt: Fraction) -> str:
    """How something comes out that is to be so much at least."""
    if value >= least:
        return "passes"
    return "out" if value + doubt < least else "can't tell"


def _fall_by_hand(sheet: Sheet, area: str, ratio: Fraction, doubt: Fraction) -> str:
    """What the area asks of its water at least, then what is wanted: the plan's own figure, else 1.5% and 2%."""
    entry = sheet.texts["areas"][area]
    wanted = entry.get("rules", {}).get("fall wanted", "2%")
    least = entry.get("drains", {}).get("at least", "1.5%")
    must, good = (Fraction(text.rstrip(" %")) * PERCENT for text in (least, wanted))
    for limit, word in ((must, "fault"), (good, "advice")):
        if (said := _below(ratio, limit, doubt)) != "passes":
            return word if said == "out" else said
    return "passes"


def _rough(area: str, point: str, stage: str, _at: Place | None) -> Fraction:
    """Up to two inches either way, by its name: enough to break most limits somewhere."""
    return Fraction(sum(map(ord, area + point)) % 9 - 4, 2) if stage == "finish" else Fraction(0)


@pytest.mark.parametrize(("name", "area"), PAVED)
@pytest.mark.parametrize("off", some([_on_target, _tipped, _bumpy, _rough], [_tipped, _rough]))
def test_every_fall_comes_out_by_its_figures_with_a_line_where_it_is_out(name: str, area: str, off: Off) -> None:
    sheet, plan = SHEETS[name], JOBS[name]
    checks = check_area(_read(plan, sheet, off), area, "finish")
    assert checks.falls is not None
    mark, out = MARKS[name], 0
    for each in checks.falls.judged:
        doubt = each.fall.doubt.ratio
        if len({each.fall.start, each.fall.end}) == 2 and not _through_three(sheet, area, each.fall.start):
            assert doubt == mark * INCH / each.fall.run.metres
        verdict = _fall_by_hand(sheet, area, each.fall.slope.ratio, doubt)
        assert each.verdict == verdict, (each, verdict)
        out += verdict == "fault"
    results = area_results(checks, plan.notation)
    assert len([one for one in results if (one.section, one.verdict) == ("falls", "fault")]) == out
    for what, falls in (
        ("running fall", checks.route and checks.route.running),
        ("cross fall", checks.route and checks.route.cross),
    ):
        beyond = 0
        for each in falls.judged if falls else ():
            limit, doubt = ROUTE[what], each.fall.doubt.ratio
            verdict = _below(-abs(each.fall.slope.ratio), -limit, doubt)
            assert each.verdict == ("fault" if verdict == "out" else verdict)
            beyond += verdict == "out"
        assert len([one for one in results if (one.section, one.verdict) == (what, "fault")]) == beyond


def _through_three(sheet: Sheet, area: str, spot: str) -> bool:
    """Whether the spot lies on a piece of three spots alone, or of none in turn, whose fall is that of a plane."""
    at = sheet.yards[area].points[spot].at
    assert at is not None
    if "corners" in sheet.texts["areas"][area]["surface"]:
        return False
    spots = {each: one.at for each, one in sheet.yards[area].points.items() if one.at}
    pieces = [
        {each: one for each, one in spots.items() if fall in sheet.falls_at(area, one)}
        for fall in sheet.falls_at(area, at)
    ]
    return any(
        len(piece) <= 3 or not falls_down(piece, fall)
        for piece, fall in zip(pieces, sheet.falls_at(area, at), strict=True)
    )


@each_of(("name", "area"), PAVED)
@each_of("off", [_on_target, _bumpy, _rough])
def test_every_straightedge_and_puddle_comes_out_as_its_figures_say(name: str, area: str, off: Off) -> None:
    sheet, plan = SHEETS[name], JOBS[name]
    checks = check_area(_read(plan, sheet, off), area, "finish")
    for flat in checks.flatness:
        gap = max(laid.gap for laid in flat.laid).metres / INCH
        verdict = _below(-gap, -GAP[name], MARKS[name])  # between three heights: twice half a mark
        assert flat.verdict == ("fault" if verdict == "out" else verdict)
    for pond in checks.ponds:
        verdict = _below(-pond.depth.metres / INCH, -PUDDLE, MARKS[name])
        assert pond.verdict == ("fault" if verdict == "out" else verdict)
    results = area_results(checks, plan.notation)
    for section, found in (("flatness", checks.flatness), ("ponding", checks.ponds)):
        out = [each for each in found if each.verdict == "fault"]
        assert len([one for one in results if (one.section, one.verdict) == (section, "fault")]) == len(out)


def test_rough_work_breaks_each_kind_of_limit_somewhere() -> None:
    seen = set()
    for name, area in PAVED:
        results = area_results(
            check_area(_read(JOBS[name], SHEETS[name], _rough), area, "finish"), JOBS[name].notation
        )
        seen |= {(each.section, each.verdict) for each in results}
    assert {(kind, "fault") for kind in ("falls", "running fall", "cross fall", "flatness", "ponding")} <= seen
    assert ("falls", "advice") in seen
    assert any(verdict == "can't tell" for _, verdict in seen)
