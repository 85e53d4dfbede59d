"""Cautions: those that fit the job's kinds of work, on one screen, with what the site has of its own before them."""

from __future__ import annotations

from itertools import combinations
from textwrap import wrap

import pytest

from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.report.cautions import GENERAL, day_cautions, general, stage_caution

HEAD = """\
job: Wren Lane
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8, base: 3/8, subgrade: 1/2}
build-ups: {slab: {layers: [{slab: 3}, {base: BASE}], past edge: 99}}
"""
AREAS = {
    "dig": "  yard:\n    build-up: slab\n    points: {Y: 0}\n",
    "pool": "  deck:\n    use: pool deck\n    points: {D: 0}\n",
    "steps": "  stair:\n    flight: {from: DOOR, down: 2, riser: 6}\n",
    "chain of steps": "  stairs:\n    use: steps\n    points: {S: 0}\n",
    "ramp": "  ramp:\n    ramp: {from: DOOR, fall: 1:14, runs: 120}\n",
    "route": "  route:\n    accessible: yes\n    points: {R: 0}\n",
    "drain": "  court:\n    drains: {into: G}\n    points: {C: 0, G: -1}\n",
}
WALL = "walls: {HOUSE: [[0, 0], [99, 0]]}\n"


def _plan(*kinds: str, base: str = "6", wall: bool = False) -> Plan:
    areas = "".join(AREAS[kind] for kind in kinds) or "  path:\n    points: {P: 0}\n"
    return read_plan(HEAD.replace("BASE", base) + (WALL if wall else "") + "areas:\n" + areas, "job.yaml")


PUBLISHED = [
    ("Call 811", "29 CFR 1926.651(b)", "dig"),
    ("Trench: ", "29 CFR 1926.651(c)(2), (j)(2), (k); 1926.652(a)", "dig"),
    ("Do not dig below or against a footing", "29 CFR 1926.651(i)", "dig"),
    ("Stay out of the swing", "29 CFR 1926.651(e), (f)", ""),
    ("Keep rod and machine clear of overhead lines", "29 CFR 1926.416(a), 1926.1408", ""),
    ("Laser: ", "IEC 60825-1; 29 CFR 1926.54", ""),
    ("Cut stone wet", "29 CFR 1926.1153, Table 1", "dig"),
    ("Manholes, vaults, basins", "29 CFR 1926.1201 to 1213", "drain"),
    ("Pool: ", "ANSI A326.3; ISPSC 305; NEC 680.26", "pool"),
    ("Ramps: ", "ADA Standards 2010, 403, 405", "ramp"),
    ("Handrail, guard: may be required; check the local code.", "IRC 2018 R311.7.8, R312.1.1", "steps"),
    ("Walls over 4 ft", "IRC R105.2, R403.1.4, R404.4", "dig"),
    ("Keep the finish below siding", "IRC R404.1.6, R317.1", "house"),
    ("Lift ", "NIOSH lifting equation; 29 CFR 1926.52; MUTCD Part 6", ""),
    ("Boundary and structural elevations are for a licensed surveyor", "common practice, no source", ""),
    ("Local code and the drawings decide.", "common practice, no source", ""),
]
"""How each begins, who published it, and on which work it is shown; on every job where none is named."""


def test_every_caution_has_its_published_source_beside_it() -> None:
    assert len(GENERAL) == len(PUBLISHED)
    for caution, (begins, source, _) in zip(GENERAL, PUBLISHED, strict=True):
        assert caution.says.startswith(begins)
        assert caution.source.startswith(source)


@pytest.mark.parametrize(("begins", "_", "kind"), PUBLISHED)
def test_a_caution_is_shown_where_there_is_such_work_and_nowhere_else(begins: str, _: str, kind: str) -> None:
    plain = general(_plan())
    assert any(says.startswith(begins) for says in plain) == (not kind)
    if kind:
        fitting = general(_plan(wall=True) if kind == "house" else _plan(kind))
        assert any(says.startswith(begins) for says in fitting)


@pytest.mark.parametrize("kind", ["chain of steps", "ramp"])
def test_however_steps_and_ramps_are_written_a_handrail_is_thought_of(kind: str) -> None:
    assert "Handrail, guard: may be required; check the local code." in general(_plan(kind))


def test_an_accessible_route_is_warned_of_as_a_ramp_is() -> None:
    assert any(says.startswith("Ramps: ") for says in general(_plan("route")))


def test_the_general_cautions_fit_one_screen_and_the_gravest_stay() -> None:
    grave = ("Call 811", "Trench: ", "Stay out of the swing", "Laser: ", "Local code and the drawings decide.")
    for number in range(len(AREAS) + 1):
        for kinds in combinations(AREAS, number):
            told = general(_plan(*kinds, wall=True))
            # 24 rows less the title, the line, what is said, the box and the keys; 80 columns less the margins.
            assert sum(len(wrap(says, 76)) for says in told) <= 18, kinds
            if "dig" in kinds:
                assert all(any(says.startswith(begins) for says in told) for begins in grave), kinds


def test_what_the_site_has_of_its_own_comes_before_them() -> None:
    plan = _plan("dig", base="60")
    first, *others = day_cautions(plan)
    assert first == (
        "line 7: fault: yard, slab: the dig is 63 in below the finish "
        "(existing ground is not in the plan: “ground:”); "
        "from 60 in deep a protective system is required. (29 CFR 1926.652(a))"
    )
    assert tuple(others) == general(plan)


def test_work_below_the_finish_begins_with_one_line() -> None:
    plan = _plan("dig")
    for stage in ("subgrade", "base"):
        told = stage_caution(plan, "yard", stage)
        assert told
        assert told.endswith("Local code decides.")
        assert len(told) <= 84
    assert stage_caution(plan, "yard", "finish") == ""
