"""The demo jobs are sound plans that a crew could build: they load, and keep the limits that can be computed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any, get_args

import pytest

from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.measure.notation import Units
from gradecheck.measure.quantities import ZERO, Elevation, Length, Slope, feet, inches, millimetres
from gradecheck.plan.area_entries import PointEntry
from gradecheck.plan.document import JobEntry, LayerEntry
from gradecheck.plan.keys import alternatives, fields_of, is_model, kinds_at
from gradecheck.plan.load import PLAN_NAME, load_plan, read_text
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.texts import Model
from gradecheck.plan.yaml_tree import KeyPath, read_yaml
from gradecheck.report.setting_out import ties

JOBS = Path(__file__).parent.parent / "jobs"


@dataclass(frozen=True)
class Demo:
    """A demo job and what its areas are; the building's wall lies along y = 0."""

    folder: str
    units: Units
    points: dict[str, int]
    at_the_building: str
    walk: str
    ramp: str
    flight: tuple[str, tuple[str, ...]]
    """The area, and one point for each nosing from the top down; the last is the landing, one tread out."""


DEMOS = [
    Demo(
        "quince-street",
        Units.IN,
        {
            "forecourt": 16,
            "garden walk": 10,
            "garden steps": 7,
            "ramp": 8,
            "court": 8,
            "court curb": 3,
            "court steps": 3,
            "side walk": 4,
        },
        "forecourt",
        "garden walk",
        "ramp",
        ("garden steps", ("S1", "S2", "S3", "S4", "S5", "S6")),
    ),
    Demo(
        "tern-quay",
        Units.MM,
        {
            "terrace": 20,
            "quay path": 10,
            "jetty steps": 6,
            "boat ramp": 4,
            "pool edge": 3,
            "boat yard": 8,
            "yard curb": 3,
            "berth walk": 4,
            "berth steps": 4,
            "berth ramp": 2,
            "net apron": 6,
            "mooring posts": 2,
        },
        "terrace",
        "quay path",
        "boat ramp",
        ("jetty steps", ("J1", "J2", "J3", "J4", "J5")),
    ),
]
IN_INCHES = DEMOS[0]

# Published limits, each with its source and how it was checked. Local code decides on a real site.
LEAST_BESIDE_A_BUILDING = Slope(Fraction(2, 100))  # IRC R401.3 exception: paving within 10 ft falls away (VERIFIED)
BESIDE = feet(10)  # the same
LEAST_FALL = Slope(Fraction(15, 1000))  # CMHA PAV-TEC-002-22 (VERIFIED-2)
STEEPEST_LANDING = Slope(Fraction(1, 48))  # ADA Standards 2010, 405.7 (VERIFIED); 403.3 across a walk (VERIFIED-2)
STEEPEST_WALK = Slope(Fraction(1, 20))  # ADA Standards 2010, 403.3, quoted (VERIFIED-2)
STEEPEST_RAMP = Slope(Fraction(1, 12))  # ADA Standards 2010, 405.2 (VERIFIED)
HIGHEST_RUN = inches(30)  # ADA Standards 2010, 405.6 (VERIFIED-2)
LOWEST_RISER, HIGHEST_RISER = inches(4), inches(7)  # IBC 1011.5.2 (VERIFIED-2)
SHORTEST_TREAD = inches(11)  # IBC 1011.5.2 (VERIFIED-2); ABA 504.2 (VERIFIED)
THINNEST_PAVER = millimetres(60)  # 2 3/8 in or 60 mm: ICPI construction tolerances, about 2020 (VERIFIED)
THINNEST_BASE = millimetres(100)  # 4 in or 100 mm: the same (VERIFIED)
LONGEST_WHAT = 22
"""Characters; a few words that can be called out beside a running machine."""

each_demo = pytest.mark.parametrize("demo", DEMOS, ids=lambda demo: demo.folder)


def plan_of(demo: Demo) -> Plan:
    """The plan as the program itself loads it."""
    return load_plan(JOBS / demo.folder / PLAN_NAME).plan


def written(demo: Demo) -> dict[str, PointEntry]:
    """Every point as it is written in the file."""
    tree, _ = read_yaml(read_text(JOBS / demo.folder / PLAN_NAME), PLAN_NAME)
    edges = {name: edge["along"] for area in tree["areas"].values() for name, edge in area.get("edges", {}).items()}
    job = JobEntry.model_validate(tree, context={"units": demo.units, "edges": edges})
    areas = [area for area in job.areas.values() if not isinstance(area.points, str)]  # one may be a list beside it
    return {name: point for area in areas for name, point in (area.points | area.added).items()}


def place(point: Point) -> tuple[Length, Length]:
    """Where the point lies."""
    assert point.at is not None, f"{point.name} does not say where it lies"
    return point.at


def slope(upper: Elevation, lower: Elevation, run: Length) -> Slope:
    """The fall from one elevation to the other over the run; negative where it rises."""
    return Slope(upper.above(lower).metres / run.metres)


def steps_out(area: Area) -> Iterator[tuple[Point, Point, Length]]:
    """Each point and the next one straight out from the building, with how far out that is."""
    columns: dict[Length, list[Point]] = {}
    for point in sorted(area.points, key=lambda point: place(point)[1]):
        columns.setdefault(place(point)[0], []).append(point)
    for column in columns.values():
        for nearer, farther in pairwise(column):
            yield nearer, farther, place(farther)[1] - place(nearer)[1]


def steps_along(area: Area) -> Iterator[tuple[Point, Point, Length]]:
    """Each point and its neighbor in the same row, the upper one first, with how far apart they are."""
    rows: dict[Length, list[Point]] = {}
    for point in sorted(area.points, key=lambda point: place(point)[0]):
        rows.setdefault(place(point)[1], []).append(point)
    for row in rows.values():
        for left, right in pairwise(row):
            upper, lower = (left, right) if left.finish >= right.finish else (right, left)
            yield upper, lower, place(right)[0] - place(left)[0]


def pitch(point: PointEntry) -> Slope:
    """How steep the point's own run is, either way."""
    return point.fall or point.rise or Slope(Fraction(0))


def run_drop(name: str, points: dict[str, PointEntry]) -> Length:
    """The drop of the ramp run that ends at the point, counted back to the landing it begins on."""
    point = points[name]
    if point.over is None or point.from_ is None or pitch(point) <= STEEPEST_WALK:
        return ZERO
    before = run_drop(point.from_, points) if point.from_ in points else ZERO
    return before + pitch(point).over(point.over)


def test_there_is_one_demo_in_inches_and_one_in_millimetres() -> None:
    assert {path.parent.name for path in JOBS.glob(f"*/{PLAN_NAME}")} == {demo.folder for demo in DEMOS}
    assert [demo.units for demo in DEMOS] == [Units.IN, Units.MM]


@each_demo
def test_a_demo_loads_in_its_units_with_the_areas_it_should_have(demo: Demo) -> None:
    plan = plan_of(demo)
    assert plan.notation.units is demo.units
    assert {name: len(area.points) for name, area in plan.areas.items()} == demo.points


@each_demo
def test_a_demo_has_forty_points_or_more(demo: Demo) -> None:
    assert len(plan_of(demo).area_of) >= 40


def test_the_demo_in_inches_has_just_one_area_of_ten_points() -> None:
    tens = [area.name for area in plan_of(IN_INCHES).areas.values() if len(area.points) == 10]
    assert tens == [IN_INCHES.walk]


@each_demo
def test_a_demo_begins_from_one_zero_and_has_a_second_mark_to_check_it(demo: Demo) -> None:
    elevations = [mark.elevation.height for mark in plan_of(demo).benchmarks.values()]
    assert len(elevations) >= 2
    assert elevations.count(ZERO) == 1


@each_demo
def test_a_demo_uses_a_standard_rod_unless_another_is_named(demo: Demo) -> None:
    assert plan_of(demo).rod.kind == "standard"


def test_one_demo_has_a_direct_rod_as_well() -> None:
    assert "direct" in {rod.kind for demo in DEMOS for rod in plan_of(demo).rods.values()}


@each_demo
def test_a_demo_says_that_local_code_and_licensed_practice_decide(demo: Demo) -> None:
    remarks = " ".join(
        line.lstrip("# ") for line in read_text(JOBS / demo.folder / PLAN_NAME).splitlines() if line[:1] == "#"
    ).casefold()
    assert "local code" in remarks
    assert "licensed" in remarks


@each_demo
def test_every_point_says_in_a_few_words_where_it_is(demo: Demo) -> None:
    for area in plan_of(demo).areas.values():
        for point in area.points:
            least = 0 if point.made else 1  # one of an edge nobody wrote out, and its number says where it is
            assert least <= len(point.what) <= LONGEST_WHAT, f"{point.name}: {point.what}"


@each_demo
def test_no_two_points_of_an_area_are_told_by_the_same_words(demo: Demo) -> None:
    for area in plan_of(demo).areas.values():
        told = Counter(point.what for point in area.points if not point.made)
        assert [words for words, times in told.items() if times > 1] == [], area.name


@each_demo
def test_the_run_of_a_point_is_the_distance_to_its_origin_on_the_ground(demo: Demo) -> None:
    plan = plan_of(demo)
    places = {mark.name: mark.at for mark in plan.benchmarks.values()}
    places |= {point.name: point.at for area in plan.areas.values() for point in area.points}
    compared = 0
    for name, point in written(demo).items():
        here, there = places[name], places.get(point.from_ or "")
        if point.over is None or here is None or there is None:
            continue
        # Runs are level along the wall or straight out from it, so one of the two is what falls.
        assert point.over in {abs(here[0] - there[0]), abs(here[1] - there[1])}, name
        compared += 1
    assert compared >= len(written(demo)) * 2 // 3


@each_demo
def test_the_paving_falls_away_from_the_building_by_what_is_asked(demo: Demo) -> None:
    steps = list(steps_out(plan_of(demo).areas[demo.at_the_building]))
    assert steps
    for nearer, farther, run in steps:
        least = LEAST_BESIDE_A_BUILDING if place(nearer)[1] < BESIDE else LEAST_FALL
        assert slope(nearer.finish, farther.finish, run) >= least, f"{nearer.name} to {farther.name}"


@each_demo
def test_the_paving_at_the_building_is_level_and_below_the_door(demo: Demo) -> None:
    plan = plan_of(demo)
    area = plan.areas[demo.at_the_building]
    for upper, lower, _ in steps_along(area):
        assert upper.finish == lower.finish, f"{upper.name} and {lower.name}"
    sills = [mark.elevation for mark in plan.benchmarks.values() if mark.at and mark.at[1] == ZERO]
    assert sills
    assert max(point.finish for point in area.points) < min(sills)


@each_demo
def test_a_walk_sheds_water_and_is_no_ramp(demo: Demo) -> None:
    area = plan_of(demo).areas[demo.walk]
    steps = list(steps_out(area))
    assert steps
    for nearer, farther, run in steps:
        assert LEAST_FALL <= slope(nearer.finish, farther.finish, run) <= STEEPEST_WALK, farther.name


@each_demo
def test_a_walk_falls_across_but_no_more_than_a_wheelchair_may_meet(demo: Demo) -> None:
    steps = list(steps_along(plan_of(demo).areas[demo.walk]))
    assert steps
    for upper, lower, width in steps:
        assert LEAST_FALL <= slope(upper.finish, lower.finish, width) <= STEEPEST_LANDING, lower.name


@each_demo
def test_the_risers_of_a_flight_are_equal_and_within_the_limits(demo: Demo) -> None:
    name, nosings = demo.flight
    area = plan_of(demo).areas[name]
    # Plumb from nosing to nosing: IRC R311.7.5.1 (VERIFIED).
    risers = {area.point(up).finish.above(area.point(down).finish) for up, down in pairwise(nosings)}
    assert len(risers) == 1
    assert LOWEST_RISER <= risers.pop() <= HIGHEST_RISER


@each_demo
def test_no_riser_of_a_flight_is_left_out(demo: Demo) -> None:
    name, nosings = demo.flight
    of_flight = set(plan_of(demo).areas[name].index)
    points = {point: entry for point, entry in written(demo).items() if point in of_flight}
    assert sum(entry.down or 0 for point, entry in points.items() if point in nosings) == len(nosings) - 1
    assert {point for point, entry in points.items() if entry.down} == set(nosings[1:])


@each_demo
def test_the_treads_of_a_flight_are_equal_and_deep_enough(demo: Demo) -> None:
    name, nosings = demo.flight
    area = plan_of(demo).areas[name]
    treads = {place(area.point(down))[1] - place(area.point(up))[1] for up, down in pairwise(nosings)}
    assert len(treads) == 1
    assert treads.pop() >= SHORTEST_TREAD


@each_demo
def test_a_ramp_is_nowhere_steeper_than_one_in_twelve(demo: Demo) -> None:
    points = written(demo)
    ramp = [points[point.name] for point in plan_of(demo).areas[demo.ramp].points]
    assert STEEPEST_WALK < max(pitch(point) for point in ramp) <= STEEPEST_RAMP


@each_demo
def test_a_run_of_a_ramp_drops_no_more_than_is_allowed_without_a_landing(demo: Demo) -> None:
    points = written(demo)
    drops = [run_drop(point.name, points) for point in plan_of(demo).areas[demo.ramp].points]
    assert ZERO < max(drops) <= HIGHEST_RUN


@each_demo
def test_landings_and_rests_are_nearly_level(demo: Demo) -> None:
    points = written(demo)
    landings = [
        point.name
        for area in plan_of(demo).areas.values()
        for point in area.points
        if ("landing" in point.what or "rest" in point.what) and point.name in points and not points[point.name].down
    ]
    assert landings
    for name in landings:
        assert ZERO < pitch(points[name]).over(feet(1)) <= STEEPEST_LANDING.over(feet(1)), name


@each_demo
def test_pavers_and_base_are_as_thick_as_walking_on_them_asks(demo: Demo) -> None:
    thinnest = {"paver": THINNEST_PAVER, "base": THINNEST_BASE}
    layers = [layer for area in plan_of(demo).areas.values() if area.build_up for layer in area.build_up.layers]
    assert {layer.name for layer in layers} >= set(thinnest)
    for layer in layers:
        assert layer.thickness >= thinnest.get(layer.name, ZERO), layer.name


SHOWN = {
    "rows of units in half bond": lambda plan: any(bond.pattern == "half" for bond in plan.bonds.values()),
    "an accessible walk": lambda plan: any(area.accessible and area.use == "walk" for area in plan.areas.values()),
    "a drain": lambda plan: any(area.drains and area.drains.into for area in plan.areas.values()),
    "a hole": lambda plan: any(area.outline and area.outline.holes for area in plan.areas.values()),
    "existing ground": lambda plan: any(area.existing for area in plan.areas.values()),
    "a curb": lambda plan: any(point.what == "top of curb" for area in plan.areas.values() for point in area.points),
    "lifts": lambda plan: any("base lift 1" in area.stages for area in plan.areas.values()),
    "a hold point": lambda plan: any(area.holds for area in plan.areas.values()),
    "a string": lambda plan: any(area.strings for area in plan.areas.values()),
    "a width": lambda plan: any(steps.width for area in plan.areas.values() for steps in area.steps),
    "a valley": lambda plan: any(a.surface and a.surface.kind == "valley" for a in plan.areas.values()),
    "a named truck": lambda plan: plan.stone is not None and plan.stone.truck is not None,
    "a flight written point by point": lambda plan: any(
        steps.kind == "flight" and not steps.tread for area in plan.areas.values() for steps in area.steps
    ),
    "a flight written as one": lambda plan: any(
        steps.kind == "flight" and steps.tread for area in plan.areas.values() for steps in area.steps
    ),
}
"""What a job file may have and no reader of the demos should have to guess."""


@each_demo
@pytest.mark.parametrize("kind", SHOWN)
def test_a_demo_shows_what_a_job_file_may_have(demo: Demo, kind: str) -> None:
    assert SHOWN[kind](plan_of(demo))


def test_the_demo_in_millimetres_reads_points_and_ground_from_lists_beside_it() -> None:
    plan = plan_of(DEMOS[1])
    assert set(plan.files) == {file.name for file in (JOBS / "tern-quay").glob("*.csv")}
    assert {listing.area for listing in plan.listings} == {"berth walk", "boat yard", "mooring posts"}


def keys_of_job_files() -> set[tuple[str, str]]:
    """Every key of the job file's models, by the model it belongs to."""
    todo, seen = [JobEntry], set[type[Model]]()
    while todo:
        kind = todo.pop()
        if not is_model(kind):
            todo += [each for part in get_args(kind) if part is not ... for each in alternatives(part)]
        elif kind not in seen:
            seen.add(kind)
            todo += [each for field in fields_of(kind).values() for each in alternatives(field.annotation)]
    return {(kind.__name__, key) for kind in seen - {LayerEntry} for key in fields_of(kind)}  # its key is a name


def keys_written(tree: Any, path: KeyPath = ()) -> Iterator[tuple[str, str]]:
    """The keys that stand in a job file, by the model each belongs to."""
    for step, value in tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ():
        yield from ((kind.__name__, step) for kind in kinds_at(path) if is_model(kind) and step in fields_of(kind))
        yield from keys_written(value, (*path, step))


NOT_SHOWN = {
    "it would change every verdict of a job to learn on": ["JobEntry decide"],
    "each area that has one says so itself": ["JobEntry hold points"],
    "it would move every finish off the fall that is written": ["JobEntry round targets"],
    "a fall is better written out": ["JobEntry pitch", "PitchEntry rule", "PitchEntry exact"],
    "its rods read the job's units": ["RodEntry units"],
    "its stone is bought compacted": ["StoneEntry loose"],
    "the other of a pair that a demo shows": [
        "ArcEntry through", "EdgeEntry left", "StationEntry left", "StringEntry right", "PointEntry rise",
        "PointEntry up", "RampEntry rise", "RouteEntry fall", "RouteEntry up", "RouteEntry down", "RouteEntry riser",
    ],
    "another way to write a surface": [
        "SurfaceEntry through", "SurfaceEntry high edge", "SurfaceEntry low edge", "SurfaceEntry toward",
        "SurfaceEntry corners", "SurfaceEntry spots", "SurfaceEntry crown",
    ],
}  # fmt: skip
"""The keys that no demo has, by why; `gradecheck guide job-file` has an example of each."""


def test_every_key_of_a_job_file_is_in_a_demo_save_where_there_is_a_reason() -> None:
    texts = [read_text(JOBS / demo.folder / PLAN_NAME) for demo in DEMOS]
    shown = {key for text in texts for key in keys_written(read_yaml(text, PLAN_NAME)[0])}
    missing = {f"{model} {key}" for model, key in keys_of_job_files() - shown}
    assert len(shown) > 150
    assert missing == {key for keys in NOT_SHOWN.values() for key in keys}


@each_demo
def test_nothing_in_a_demo_is_doubtful(demo: Demo) -> None:
    told = [finding for finding in findings(plan_of(demo)) if finding.severity is not Severity.REMINDER]
    assert told == []


@each_demo
def test_every_point_of_a_demo_that_has_a_place_is_found_by_two_tapes(demo: Demo) -> None:
    plan = plan_of(demo)
    for area in plan.areas.values():
        for point, found in ties(plan, area):
            assert (found is not None) == (point.at is not None), point.name
