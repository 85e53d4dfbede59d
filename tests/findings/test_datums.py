"""Areas datum zeros of their own: heights are compared from one zero, or not at all."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.findings.every import findings
from gradecheck.findings.finding import Finding
from gradecheck.measure.quantities import inches
from gradecheck.plan.read import read_plan

HEAD = """\
job: Teal Wharf
units: in
codes: [us-residential, us-accessible]
benchmarks: {DOOR: 0, PIN: -40}
tolerances: {finish: 1/8}
datums:
  office: {mark: PIN, reads: 100 ft}
  pool: {mark: COPING, reads: 0}
areas:
"""


def _found(areas: str, *whats: str) -> list[Finding]:
    return [each for each in findings(read_plan(HEAD + areas, "job.yaml")) if each.what in whats]


@pytest.mark.parametrize(("datum", "mark"), [("office", "PIN"), ("pool", "COPING")])
def test_a_flight_from_a_datums_mark_begins_at_what_that_mark_reads(datum: str, mark: str) -> None:
    flight = f"flight: {{from: {mark}, down: 3, riser: 6, tread: 14}}"
    stairs = f"  stairs:\n    datum: {datum}\n    {flight}\n"
    assert _found(stairs, "riser", "neighbor risers", "total rise") == []
    [high] = _found(stairs.replace("riser: 6", "riser: 9"), "riser")
    assert high.value == inches(9).metres


@pytest.mark.parametrize(("datum", "mark"), [("office", "PIN"), ("pool", "COPING")])
def test_a_ramp_from_a_datums_mark_begins_at_what_that_mark_reads(datum: str, mark: str) -> None:
    ramp = f"  ramp:\n    datum: {datum}\n    ramp: {{from: {mark}, fall: '1:12', runs: [20 ft]}}\n"
    assert _found(ramp, "ramp", "rise of a ramp's run") == []
    [steep] = _found(ramp.replace("1:12", "1:10"), "ramp")
    assert steep.value == Fraction(1, 10)


YARD = """\
  yard:
    datum: office
    drains: {into: GULLY}
    points: {Y1: 100 ft, Y2: 99 ft 11 in}
"""
"""Y1 lies at -40 by DOOR and Y2 at -41."""


@pytest.mark.parametrize(("datum", "level_with_y2"), [("datum: office", 1199), ("what: by DOOR", -41)])
def test_a_drain_is_held_from_the_zero_of_what_it_drains(datum: str, level_with_y2: int) -> None:
    def above(gully: int) -> list[Finding]:
        return _found(f"{YARD}  street:\n    {datum}\n    points: {{GULLY: {gully}}}\n", "drain above")

    assert above(level_with_y2) == []
    [told] = above(level_with_y2 + 1)
    assert (told.where, told.value) == (("GULLY", "Y2"), inches(1).metres)


def test_a_drain_from_a_zero_not_yet_tied_is_held_to_nothing() -> None:
    street = "  street:\n    datum: pool\n    points: {GULLY: 2000}\n"
    assert _found(YARD + street, "drain above", "above the drain") == []
