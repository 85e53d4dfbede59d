"""An invented yard with an outline, a hole and a wall, and a day on it, for what is drawn of plans."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from gradecheck.measure.quantities import inches
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target
from gradecheck.state.state import State, fold
from tests.journal_strategies import Site

YARD = """\
job: Thrushfield Lane yard
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
benchmarks:
  SILL: {elevation: 0, what: door sill, at: [10 ft, 0 ft]}
datums:
  pool: {mark: COPING, reads: 0}
build-ups:
  yard: [{paver: 2 3/8 in}, {base: 6 in}]
tolerances:
  subgrade: {high: 1/2 in, low: 3/4 in}
  base: 3/8 in
  finish: 1/8 in
walls:
  house: [[-40 ft, 0 ft], [60 ft, 0 ft]]
areas:
  yard:
    what: yard round a tree
    build-up: yard
    outline: [[0 ft, 0 ft], [20 ft, 0 ft], [20 ft, 20 ft], [0 ft, 20 ft]]
    holes: [[[8 ft, 8 ft], [12 ft, 8 ft], [12 ft, 12 ft], [8 ft, 12 ft]]]
    points:
      A: {elevation: -1 in, at: [0 ft, 5 ft], what: left}
      B: {elevation: -1 in, at: [20 ft, 5 ft], what: right}
      C: {from: A, fall: 2%, over: 10 ft, at: [0 ft, 15 ft], what: far left}
      D: {from: B, fall: 2%, over: 10 ft, at: [20 ft, 15 ft], what: far right}
      LOOSE: {elevation: -3 in, what: by the tap}
  steps:
    points:
      S1: {elevation: -4 in, at: [30 ft, 0 ft]}
      S2: {from: S1, down: 1, riser: 6 in, at: [30 ft, 1 ft]}
      S3: {from: S2, fall: 2%, over: 4 ft, at: [30 ft, 5 ft]}
  deck:
    datum: pool
    points:
      P1: -1/2
"""


def yard(text: str = YARD) -> Plan:
    """The plan of the yard."""
    return read_plan(text, "job.yaml")


def measured(plan: Plan, sixteenths: Mapping[str, int], area: str = "yard", stage: str = "finish") -> State:
    """The state after points were read that many sixteenths of an inch above what is wanted there."""
    site = Site(plan)
    site.set_up("SILL", inches(50))
    for name, off in sixteenths.items():
        wanted = target(plan.areas[area], plan.areas[area].point(name), stage).wanted
        site.read((area, name, stage), inches(50) - wanted.height - inches(Fraction(off, 16)))
    return fold(plan, site.entries)
