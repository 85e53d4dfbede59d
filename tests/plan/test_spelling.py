"""Whatever capitals a job file uses where it refers to a name, it means what the exact spelling means."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from tests.strategies import in_other_capitals

PLAN = """\
job: Wren Hill
units: in
benchmarks: {DOOR: {elevation: 0, at: [0 ft, 0 ft]}}
datums: {Pool: {mark: Coping, reads: 0}, Office: {mark: <DOOR>, reads: 100}}
build-ups:
  Terrace: {layers: [{Paver: 2}, {base: 6}], loose: {<base>: 8}}
tolerances: {<subgrade>: 1/2, <base>: 3/8, <finish>: 1/8, <base loose>: 3/4}
walls: {House: [[0 ft, 0 ft], [24 ft, 0 ft]]}
areas:
  Patio:
    build-up: <Terrace>
    tolerances: {<finish>: 1/4}
    layers: {<base>: 7}
    drains: {away from: <House>, into: [<T1>, <G1-1>]}
    outline: [[0 ft, 0 ft], [24 ft, 0 ft], [24 ft, 20 ft], [0 ft, 20 ft]]
    points:
      T1: {from: <DOOR>, fall: 1/4 in/ft, over: 1 ft, at: [0 ft, 1 ft]}
      T2: {from: <T1>, down: 1, riser: 6, also: {from: <DOOR>, down: 1, riser: 6}}
    surface: {at: <T1>, fall: {x: 0.5%, y: 2.1%}}
    along: [<T1>, [24 ft, 1 ft], <DOOR>]
    grid: {every: 12 ft, name: G}
  deep end:
    datum: <Pool>
    points: {D1: {from: <Coping>, down: 1, riser: 6}}
  walk:
    points:
      W1: {from: <G1-1>, fall: 1%, over: 1 ft}
      W2: -1
    route: [<W2>, <W1>]
  steps:
    flight: {from: <W2>, down: 3, riser: 6}
layout: {corner: {outline of: <Patio>}}
"""
"""What stands in angle brackets refers to a name written elsewhere."""
_REFERENCE = re.compile("<([^>]*)>")
EXACT = _REFERENCE.sub(r"\1", PLAN)


def _read(text: str) -> Plan:
    return read_plan(text, "job.yaml")


@given(st.data())
def test_a_name_is_found_whatever_the_capitals_of_what_refers_to_it(data: st.DataObject) -> None:
    spelt = _REFERENCE.sub(lambda found: data.draw(in_other_capitals(found[1])), PLAN)
    assert _read(spelt) == _read(EXACT)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        pytest.param("  walk:\n", "  PATIO:\n", id="areas"),
        pytest.param("datums: {", "datums: {POOL: {mark: DOOR, reads: 0}, ", id="datums"),
        pytest.param("units: in\n", "units: in\nrods: {site rod: {}, Site Rod: {}}\n", id="rods"),
        pytest.param("build-ups:\n", "build-ups:\n  TERRACE: [{slab: 2}]\n", id="build-ups"),
        pytest.param("walls: {", "walls: {HOUSE: [[0 ft, 0 ft], [1 ft, 0 ft]], ", id="walls"),
        pytest.param("layout: {", "layout: {CORNER: {sides: [1 ft, 2 ft]}, ", id="layout"),
        pytest.param("tolerances: {subgrade", "tolerances: {SUBGRADE: 1/8, subgrade", id="tolerances"),
        pytest.param("    layers: {", "    layers: {BASE: 7, ", id="an area's layers"),
        pytest.param("{base: 6}]", "{base: 6}, {Base: 1}]", id="layers"),
        pytest.param("benchmarks: {", "benchmarks: {Door: 0, ", id="benchmarks"),
        pytest.param("      T2: ", "      door: ", id="a point and a benchmark"),
    ],
)
def test_two_names_of_a_kind_that_differ_by_capitals_alone_are_refused(before: str, after: str) -> None:
    assert EXACT.count(before) == 1
    with pytest.raises(PlanProblemsError) as wrong:
        _read(EXACT.replace(before, after))
    told = [each.says for each in wrong.value.problems]
    assert any(re.search("capitals alone|already the name of|two layers", says) for says in told), told
