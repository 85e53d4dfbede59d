"""Three jobs asked for from nothing: every target recomputed from what was typed, by figures worked out by hand.

Nothing of the program works out what is expected: planes, a pyramid, a ridge and a way with bends are written here
again, in exact fractions of an inch or a meter.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from fractions import Fraction

import pytest

from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.plan.asked import GuidedAnswers
from gradecheck.plan.folder_names import folder_fault
from gradecheck.plan.model import Area, Plan, Point
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target
from tests.plan.three_jobs import JOBS

INCH = Fraction("0.0254")
F = Fraction
Height = Callable[[Point], Fraction]


def made(job: str) -> Plan:
    """The plan that the answers make; not one is refused."""
    asking = GuidedAnswers(folder_fault)
    while asking.question is not None:
        asking.answer(JOBS[job].get(asking.key, ""))
    assert {*JOBS[job]} <= {*asking.typed}
    return read_plan(asking.build.text(), "job.yaml")


def place(point: Point, unit: Fraction) -> tuple[Fraction, Fraction]:
    assert point.at is not None
    return point.at[0].metres / unit, point.at[1].metres / unit


def patio(point: Point) -> Fraction:
    return F("-1.25") - place(point, INCH)[1] / 48  # a quarter inch in a foot


def flight(point: Point) -> Fraction:
    return F("-4.25") - 6 * int(point.name[1:])  # from 12 ft out on the patio, 6 in a riser


def garden_walk(point: Point) -> Fraction:
    x, y = place(point, INCH)  # from the third nosing, two treads of 14 in beyond the patio
    return F("-22.25") - (y - 172) * F("0.02") - (x - 72) * F("0.01")


def court(point: Point) -> Fraction:
    if point.name == "ZD":
        return F("-0.265")
    x, y = place(point, F(1))  # from each side to the drain at 8, 7
    return F("-0.02") - F("0.24") * min(x / 8, (20 - x) / 12, y / 7, (12 - y) / 5)


def avenue(point: Point) -> Fraction:
    x, y = place(point, F(1))
    return F("-0.02") - (y - 12) * F("0.01") - abs(x - 9) * F("0.02")


def kerb(point: Point) -> Fraction:
    return avenue(point) + F("0.12")


def ramp(point: Point) -> Fraction:
    start = F("-0.2275")  # 2.75 m along the avenue's left side, 9 m from its ridge
    down = {"R1": F(6, 15), "R1L": F("1.6") / 50, "R2": F("4.5") / 15, "R2L": F("1.6") / 50}
    names = list(down)
    return start - sum((down[name] for name in names[: names.index(point.name) + 1]), F(0))


def wall(_point: Point) -> Fraction:
    return F("0.6")


def terrace(point: Point) -> Fraction:
    return -2 - place(point, INCH)[1] * F("0.02")


def deck(point: Point) -> Fraction:
    return F("-0.5") - (480 - place(point, INCH)[1]) / 48  # from the coping at 40 ft back toward the house


PAVED = {"finish": F(0), "bedding": F("2.375"), "base": F("3.375")}
DEEP = PAVED | {"subgrade": F("9.375")}
SHALLOW = PAVED | {"subgrade": F("7.375")}
TREADS = {"finish": F(0), "mortar": F("2.25"), "concrete": F(3), "base": F(8), "subgrade": F(12)}
METRIC = {"finish": F(0), "bedding": F("0.06"), "base": F("0.085"), "subgrade": F("0.185")}
BARE = {"finish": F(0)}
EXPECTED: dict[str, tuple[Fraction, dict[str, tuple[Height, dict[str, Fraction]]]]] = {
    "backyard": (
        INCH,
        {"Back Patio": (patio, DEEP), "steps": (flight, TREADS), "garden walk": (garden_walk, DEEP)},
    ),
    "plaza": (
        F(1),
        {
            "court": (court, METRIC),
            "avenue": (avenue, METRIC),
            "kerb": (kerb, BARE),
            "ramp": (ramp, METRIC),
            "wall": (wall, BARE),
        },
    ),
    "pool": (INCH, {"terrace": (terrace, SHALLOW), "deck": (deck, SHALLOW)}),
}
ENOUGH = {"backyard": 30, "plaza": 150, "pool": 40}


def differences(area: Area, unit: Fraction, height: Height, depths: dict[str, Fraction]) -> list[str]:
    """Where a target differs from what was worked out by hand."""
    assert set(area.stages) == set(depths)
    return [
        f"{point.name} {stage}"
        for point in area.points
        for stage, depth in depths.items()
        if target(area, point, stage).wanted.metres / unit != height(point) - depth
    ]


@pytest.mark.parametrize("job", JOBS)
def test_every_target_of_a_job_asked_for_is_the_one_worked_out_by_hand(job: str) -> None:
    plan, (unit, areas) = made(job), EXPECTED[job]
    for name, (height, depths) in areas.items():
        assert differences(plan.areas[name], unit, height, depths) == []
    assert set(plan.areas) - set(areas) <= {"long walk"}
    assert sum(len(area.points) for area in plan.areas.values()) > ENOUGH[job]


@pytest.mark.parametrize("job", JOBS)
def test_examine_has_nothing_against_a_job_asked_for_but_to_ask_the_local_code(job: str) -> None:
    found = findings(made(job))
    assert [each.what for each in found if each.severity is not Severity.REMINDER] == []


def test_the_plaza_has_400_square_meters_and_the_deck_another_zero() -> None:
    outlines = [made("plaza").areas[name].outline for name in ("court", "avenue")]
    assert sum(outline.area for outline in outlines if outline is not None) == 400
    pool = made("pool")
    assert (pool.areas["deck"].datum, pool.areas["terrace"].datum) == ("pool", None)
    assert pool.benchmarks["COPING"].elevation.height.metres == -18 * INCH
    assert pool.datums["pool"].reads.height.metres == 0


def bent() -> list[tuple[float, complex, complex]]:
    """By hand, in feet: how far along, and the edges of 4 ft of walk there, from (9, 10) going away from the house.

    6 ft, a right bend of 12 ft through a quarter, 5 ft, a left bend of 10 ft through a sixth of a turn, 4 ft.
    """
    found, at, way, so_far = [(0.0, 9 + 10j, 13 + 10j)], 11 + 10j, 1j, 0.0
    for long, radius, side in (
        (6.0, 0, 0),
        (6 * math.pi, 12, -1),
        (5.0, 0, 0),
        (10 * math.pi / 3, 10, 1),
        (4.0, 0, 0),
    ):
        stations = [min(5.0 * n, long) for n in range(1, math.ceil(long / 5 - 1e-9) + 1)]
        for station in stations:
            turned = cmath.exp(1j * side * station / radius) if radius else 1
            center = at + side * 1j * way * radius
            here = center + (at - center) * turned if radius else at + way * station
            left = 2j * way * turned
            found.append((so_far + station, here + left, here - left))
        at, way, so_far = here, way * turned, so_far + long
    return found


def test_a_walk_with_bends_lies_and_falls_as_worked_out_by_hand() -> None:
    plan, wanted = made("pool"), bent()
    walk = plan.areas["long walk"]
    assert {point.name for point in walk.points} == {f"W{side}{n + 1}" for side in "LR" for n in range(len(wanted))}
    for number, (along, *edges) in enumerate(wanted, 1):
        for side, edge, up in zip("LR", edges, (0.0, 0.48), strict=True):  # 1% of 48 in to the left
            point = walk.point(f"W{side}{number}")
            x, y = (float(each) for each in place(point, INCH * 12))
            assert abs(complex(x, y) - edge) < 2e-5, point.name  # feet; rounded to 0.001 mm
            height = float(point.finish.height.metres / INCH)
            assert abs(height - (-4.4 - along * 12 * 0.025 + up)) < 1e-5, point.name
