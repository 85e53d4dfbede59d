# ruff: noqa: E501 - a line of the job file is kept whole
"""Every key a job file may have: written otherwise, the change is told, for a crew must never be judged anew unseen."""

from __future__ import annotations

import functools
from typing import get_args

from pydantic import BaseModel

from gradecheck.plan.changes import changes
from gradecheck.plan.document import JobEntry
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.report.plan_changes import change_lines, summary
from tests.tables import each_of
from tests.thorough import every

JOB = """\
job: Fennel Yard
units: in
benchmarks:
  DOOR: {elevation: 0, at: [0, 0], what: sill}
  PIN: {elevation: -4, at: [50 ft, 0]}
rods: {site rod: {kind: standard, units: in, graduation: 1/16 in, length: 13 ft}}
build-ups:
  b: {layers: [{paver: 2}, {base: 6}], loose: {base: 8}, set high: 1/4 in, past edge: 8 in}
  c: {layers: [{slab: 2}, {frost: 9}], lifts: {frost: 3}}
tolerances: {finish: {high: 1/8, low: 1/4}, base: 3/8, frost: 1, subgrade: 1/2}
instrument: {beam: 10 arcsec, receiver: 1/16 in, longest shot: 60 ft, plumb: 1 deg, adjust beyond: 20 arcsec}
rechecks: {readings: 20, minutes: 45, allowed: 1/8 in}
decide: plain
closure: 0.02 ft per root setup
datums: {office: {mark: DOOR, reads: 1200}}
walls: {house: [[0, 0], [40 ft, 0]], shed: [[60 ft, 0], [60 ft, 9 ft]]}
rules: {riser at most: 7 in}
codes: [us-residential, us-accessible]
pitch: {rule: 1 in per 5 ft, exact: 3/16 in/ft}
stone: {density: 140 lb/ft^3, loose: no, price: 38 $/ton, compaction: 1.25, waste: 5%, swell: 25%}
layout: {corner: {sides: [10 ft, 10 ft], tolerance: 1/4 in}}
bonds: {run: {from: the curb, unit: 6 in, length: 9 in, joint: 1/8 in, rows: 40, every: 5, pattern: half}}
round targets: 1/16 in
areas:
  yard:
    what: by the house
    build-up: b
    layers: {base: 7}
    tolerances: {base: 1/4}
    use: patio
    accessible: no
    ground: -6
    existing ground: {elevation: -2, at: [0, 0], fall: {x: 1.1%, y: 0.7%}}
    drains: {away from: house, at least: 2%, at most: 6%}
    rules: {ponding at most: 1/8 in}
    codes: [us-residential]
    outline: [[0, 0], [10 ft, 0], [10 ft, 10 ft], [0, 10 ft]]
    holes: [[[4 ft, 4 ft], [5 ft, 4 ft], [5 ft, 5 ft]]]
    surface: {at: DOOR, fall: {x: 2%, y: 1%}}
    points: {Y1: {at: [1 ft, 1 ft], what: a peg}, Y2: {from: DOOR, fall: 2%, over: 10 ft}, Y3: {from: Y2, down: 1, riser: 5}}
    added: {N1: {elevation: -3, at: [2 ft, 2 ft]}}
    instead: {Y2: -2 1/2}
    grid: {every: 5 ft, inside: [[0, 0], [10 ft, 0], [10 ft, 10 ft], [0, 10 ft]], holes: [[[4 ft, 4 ft], [6 ft, 4 ft], [6 ft, 6 ft], [4 ft, 6 ft]]], start: [0, 0], name: G}
    edges: {E: {every: 5 ft, along: [[0, 1 ft], [9 ft, 1 ft]]}}
  stair:
    flight: {from: PIN, down: 4, total: 25 in, round to: 1/8 in, tread: 14 in, tread fall: 1/8 in/ft, toward: [50 ft, 90 ft], landings: {2: {length: 4 ft, fall: 1:60}}, name: S}
  ramp:
    ramp: {from: PIN, fall: 1:14, runs: [14 ft, 14 ft], landing: 5 ft, landing fall: 1:50, toward: [90 ft, 0], name: R}
  path:
    accessible: yes
    points: {K: {elevation: -1, at: [30 ft, 0]}, L: {from: K, fall: 1%, over: 10 ft, at: [30 ft, 10 ft], also: {from: PIN, rise: 1%, over: 2 ft}}, M: {elevation: -2, at: [35 ft, 4 ft]}}
    along: [K, L]
  list:
    drains: {into: [Q1]}
    point list: {file: a.csv, prefix: Q, units: in, order: PENZ}
  field:
    points: {A: {elevation: 0, at: [70 ft, 0]}, B: {elevation: -1, at: [80 ft, 0]}, C: {elevation: -2, at: [80 ft, 9 ft]}, D: {elevation: -1.5, at: [70 ft, 9 ft]}, F: {at: [72 ft, 3 ft]}, V: {elevation: -2, at: [70 ft, 20 ft]}, W: {elevation: -3, at: [80 ft, 20 ft]}, X: {elevation: -4, at: [70 ft, 20.5 ft]}, Y: {elevation: -5, at: [80 ft, 20.5 ft]}, C2: {elevation: -2, at: [75 ft, -9 ft]}}
    surface: {corners: [A, B, C, D]}
    route: [A, B, C, D, F, V, W, X, Y, C2]
"""
LISTS = {"d.csv": "name,x,y,elevation\na,0,0,-1\nb,120,0,-2\nc,0,120,-3\n",
         "e.csv": "name,x,y,elevation\na,0,0,-1\nb,120,0,-2\nc,0,120,-4\n",
         "a.csv": "1,0,0,-3\n2,240,0,-4\n", "b.csv": "1,0,0,-3\n2,240,0,-5\n",
         "h.csv": "name,x,y,low,high\n1,0,0,-3,-2\n2,240,0,-4,-3\n"}  # fmt: skip
ROUTE = "{from: PIN, rise: 1%, over: 2 ft}"
FLIGHT = "down: 4, total: 25 in, round to: 1/8 in, "
SURFACE = "surface: {corners: [A, B, C, D]}"
TWO_EDGES = "edges: {E: {every: 5 ft, along: [[0, 1 ft], [9 ft, 1 ft]]}, H: {every: 5 ft, along: [[0, 2 ft], [9 ft, 2 ft]]}}\n"
FALL = "from: DOOR, fall: 2%, over: 10 ft"
OTHERWISE: dict[str, tuple[str, str, str]] = {
    "JobEntry.job": ("Fennel Yard", "Fennel Yard", "Fennel Court"),
    "JobEntry.units": ("units: in\nbenchmarks", "units: in\nbenchmarks", "units: cm\nbenchmarks"),
    "JobEntry.rods": ("rods: {", "rods: {", "rods: {new rod: {}, "),
    "JobEntry.benchmarks": ("  PIN:", "  PIN:", "  PEG: 4\n  PIN:"),
    "JobEntry.build-ups": ("loose: {base: 8}, ", "loose: {base: 8}, ", ""),
    "JobEntry.tolerances": ("subgrade: 1/2}", "subgrade: 1/2}", "subgrade: 5/8}"),
    "JobEntry.instrument": (", receiver: 1/16 in", ", receiver: 1/16 in", ""),
    "JobEntry.rechecks": ("rechecks: {readings: 20, minutes: 45, allowed: 1/8 in}\n", "", "rechecks: {readings: 7}\n"),
    "JobEntry.decide": ("decide: plain", "decide: plain", "decide: guarded"),
    "JobEntry.closure": ("closure: 0.02 ft per", "closure: 0.02 ft per", "closure: 0.03 ft per"),
    "JobEntry.datums": ("datums: {", "datums: {", "datums: {pool: {mark: PIN, reads: 0}, "),
    "JobEntry.walls": (", shed: [[60 ft, 0], [60 ft, 9 ft]]", ", shed: [[60 ft, 0], [60 ft, 9 ft]]", ""),
    "JobEntry.rules": ("rules: {riser at most: 7 in}", "rules: {riser at most: 7 in}", "rules: {riser at most: 8 in}"),
    "JobEntry.codes": ("codes: [us-residential, us-acc", "codes: [us-residential, us-acc", "codes: [us-acc"),
    "JobEntry.pitch": ("pitch: {rule: 1 in per 5 ft, exact: 3/16 in/ft}\n", "pitch: 1%\n", ""),
    "JobEntry.stone": ("stone: {", "stone: {", "# {"),
    "JobEntry.layout": ("layout: {", "layout: {", "layout: {other: {sides: [3 ft, 4 ft]}, "),
    "JobEntry.bonds": ("bonds: {", "bonds: {", "# {"),
    "JobEntry.round targets": ("round targets: 1/16 in", "round targets: 1/16 in", "round targets: 1/32 in"),
    "JobEntry.areas": ("  field:\n", "  field:\n", "  more:\n    points: {Z: -1}\n  field:\n"),
    "RodEntry.kind": ("kind: standard", "kind: standard", "kind: direct"),
    "RodEntry.units": ("units: in, graduation: 1/16 in", "units: in", "units: ft"),
    "RodEntry.graduation": ("graduation: 1/16", "graduation: 1/16", "graduation: 1/8"),
    "RodEntry.length": ("length: 13 ft", "length: 13 ft", "length: 16 ft"),
    "BenchmarkEntry.elevation": ("PIN: {elevation: -4", "PIN: {elevation: -4", "PIN: {elevation: -5"),
    "BenchmarkEntry.at": ("at: [50 ft, 0]}", "at: [50 ft, 0]}", "at: [51 ft, 0]}"),
    "BuildUpEntry.layers": ("{base: 6}]", "{base: 6}]", "{base: 6}, {frost: 8}]"),
    "BuildUpEntry.loose": ("loose: {base: 8}", "loose: {base: 8}", "loose: {base: 9}"),
    "BuildUpEntry.set high": ("set high: 1/4", "set high: 1/4", "set high: 1/2"),
    "BuildUpEntry.past edge": ("past edge: 8", "past edge: 8", "past edge: 6"),
    "BuildUpEntry.lifts": ("{base: 6}], loose: {base: 8}", "{base: 6}], lifts: {base: 2}",
                           "{base: 6}], lifts: {base: [4, 2]}"),
    "LayerEntry.name": ("{paver: 2}", "{paver: 2}", "{slab: 2}"),
    "LayerEntry.thickness": ("{paver: 2}", "{paver: 2}", "{paver: 3}"),
    "ToleranceEntry.high": ("high: 1/8", "high: 1/8", "high: 3/16"),
    "ToleranceEntry.low": ("low: 1/4", "low: 1/4", "low: 3/16"),
    "InstrumentEntry.beam": ("beam: 10", "beam: 10", "beam: 12"),
    "InstrumentEntry.receiver": ("receiver: 1/16", "receiver: 1/16", "receiver: 1/8"),
    "InstrumentEntry.longest shot": ("longest shot: 60", "longest shot: 60", "longest shot: 70"),
    "InstrumentEntry.plumb": ("plumb: 1 deg", "plumb: 1 deg", "plumb: 2 deg"),
    "InstrumentEntry.adjust beyond": ("beyond: 20", "beyond: 20", "beyond: 25"),
    "RechecksEntry.readings": ("readings: 20", "readings: 20", "readings: 25"),
    "RechecksEntry.minutes": ("minutes: 45", "minutes: 45", "minutes: 50"),
    "RechecksEntry.allowed": ("allowed: 1/8", "allowed: 1/8", "allowed: 1/4"),
    "DatumEntry.mark": ("mark: DOOR", "mark: DOOR", "mark: PIN"),
    "DatumEntry.reads": ("reads: 1200", "reads: 1200", "reads: 1201"),
    "PitchEntry.rule": ("rule: 1 in per 5 ft", "rule: 1 in per 5 ft", "rule: 1 in per 6 ft"),
    "PitchEntry.exact": ("exact: 3/16", "exact: 3/16", "exact: 1/4"),
    "StoneEntry.density": ("density: 140", "density: 140", "density: 141"),
    "StoneEntry.loose": ("loose: no", "loose: no", "loose: yes"),
    "StoneEntry.price": ("price: 38", "price: 38", "price: 39"),
    "StoneEntry.compaction": ("compaction: 1.25", "compaction: 1.25", "compaction: 1.3"),
    "StoneEntry.waste": ("waste: 5%", "waste: 5%", "waste: 6%"),
    "StoneEntry.swell": ("swell: 25%", "swell: 25%", "swell: 26%"),
    "StoneEntry.truck": ("swell: 25%", "swell: 25%, truck: 10 yd^3", "swell: 25%, truck: 14 yd^3"),
    "JobEntry.hold points": ("round targets: 1/16 in", "hold points: [subgrade]", "hold points: [base]"),
    "AreaEntry.hold points": ("    ground: -6\n", "    ground: -6\n    hold points: [subgrade]\n",
                              "    ground: -6\n    hold points: [base]\n"),
    "AreaEntry.existing ground": ("existing ground: {elevation: -2, at: [0, 0], fall: {x: 1.1%, y: 0.7%}}",
                                  "existing ground: -2", "existing ground: -3"),
    "ExistingEntry.elevation": ("existing ground: {elevation: -2", "existing ground: {elevation: -2",
                                "existing ground: {elevation: -3"),
    "ExistingEntry.at": ("at: [0, 0], fall: {x: 1.1%", "at: [0, 0], fall: {x: 1.1%", "at: [9 ft, 0], fall: {x: 1.1%"),
    "ExistingEntry.fall": ("fall: {x: 1.1%, y: 0.7%}", "fall: {x: 1.1%, y: 0.7%}", "fall: {x: 1.1%}"),
    "ExistingEntry.spots": ("{elevation: -2, at: [0, 0], fall: {x: 1.1%, y: 0.7%}}",
                            "{spots: [[0, 0, -2], [9 ft, 0, -2], [0, 9 ft, -3]]}",
                            "{spots: [[0, 0, -2], [9 ft, 0, -2], [0, 9 ft, -4]]}"),
    "ExistingEntry.point list": ("{elevation: -2, at: [0, 0], fall: {x: 1.1%, y: 0.7%}}",
                                 "{point list: d.csv}", "{point list: e.csv}"),
    "FlightEntry.width": ("tread fall: 1/8", "width: 4 ft, tread fall: 1/8", "width: 5 ft, tread fall: 1/8"),
    "RampEntry.width": ("landing: 5 ft", "width: 4 ft, landing: 5 ft", "width: 5 ft, landing: 5 ft"),
    "LayoutEntry.sides": ("sides: [10 ft, 10 ft]", "sides: [10 ft, 10 ft]", "sides: [10 ft, 11 ft]"),
    "LayoutEntry.outline of": ("sides: [10 ft, 10 ft]", "sides: [10 ft, 10 ft]", "outline of: yard"),
    "LayoutEntry.tolerance": ("tolerance: 1/4", "tolerance: 1/4", "tolerance: 1/2"),
    "BondEntry.from": ("from: the curb", "from: the curb", "from: the wall"),
    "BondEntry.unit": ("unit: 6 in", "unit: 6 in", "unit: 7 in"),
    "BondEntry.length": ("length: 9 in", "length: 9 in", "length: 10 in"),
    "BondEntry.joint": ("joint: 1/8", "joint: 1/8", "joint: 1/4"),
    "BondEntry.rows": ("rows: 40", "rows: 40", "rows: 41"),
    "BondEntry.every": ("every: 5,", "every: 5,", "every: 4,"),
    "BondEntry.pattern": ("pattern: half", "pattern: half", "pattern: third"),
    "AreaEntry.build-up": ("    build-up: b\n    layers: {base: 7}\n    tolerances: {base: 1/4}\n", "",
                           "    build-up: b\n"),
    "AreaEntry.layers": ("    layers: {base: 7}\n", "    layers: {base: 7}\n", ""),
    "AreaEntry.tolerances": ("    tolerances: {base: 1/4}\n", "    tolerances: {base: 1/4}\n", ""),
    "AreaEntry.datum": ("    use: patio\n", "    use: patio\n", "    use: patio\n    datum: office\n"),
    "AreaEntry.use": ("use: patio", "use: patio", "use: driveway"),
    "AreaEntry.accessible": ("accessible: no", "accessible: no", "accessible: yes"),
    "AreaEntry.along": ("along: [K, L]", "along: [K, L]", "along: [K, M]"),
    "AreaEntry.ground": ("ground: -6", "ground: -6", "ground: -7"),
    "AreaEntry.drains": ("    drains: {away from: house, at least: 2%, at most: 6%}\n",
                         "    drains: {away from: house, at least: 2%, at most: 6%}\n", ""),
    "AreaEntry.rules": ("ponding at most: 1/8", "ponding at most: 1/8", "ponding at most: 1/4"),
    "AreaEntry.codes": ("    codes: [us-residential]\n", "", "    codes: []\n"),
    "AreaEntry.outline": ("    outline: [[0, 0], [10 ft, 0], [10 ft, 10 ft], [0, 10 ft]]\n",
                          "    outline: [[0, 0], [10 ft, 0], [10 ft, 10 ft], [0, 10 ft]]\n",
                          "    outline: [[0, 0], [11 ft, 0], [10 ft, 10 ft], [0, 10 ft]]\n"),
    "AreaEntry.holes": ("    holes: [[[4 ft, 4 ft], [5 ft, 4 ft], [5 ft, 5 ft]]]\n",
                        "    holes: [[[4 ft, 4 ft], [5 ft, 4 ft], [5 ft, 5 ft]]]\n", ""),
    "AreaEntry.surface": (SURFACE, SURFACE, "surface: {crown: [A, B], falls: [1%, 1%]}"),
    "AreaEntry.points": ("N1: {elevation: -3", "N1: {elevation: -3", "N2: {elevation: -3"),
    "AreaEntry.added": ("added: {N1: {elevation: -3, at", "added: {N1: {elevation: -3, at", "added: {N1: {elevation: -4, at"),
    "AreaEntry.instead": ("instead: {Y2: -2 1/2}", "instead: {Y2: -2 1/2}", "instead: {Y2: -2 3/4}"),
    "AreaEntry.point list": ("file: a.csv", "file: a.csv", "file: b.csv"),
    "AreaEntry.grid": ("grid: {every: 5 ft", "grid: {every: 5 ft", "grid: {every: 2 ft"),
    "AreaEntry.edges": ("edges: {E:", "edges: {E:", "edges: {H:"),
    "AreaEntry.curbs": ("  field:\n", "  top: {curbs: {K: {edge: E, upstand: 6 in}}}\n  field:\n",
                        "  top: {curbs: {J: {edge: E, upstand: 6 in}}}\n  field:\n"),
    "CurbEntry.edge": ("edges: {E: {every: 5 ft, along: [[0, 1 ft], [9 ft, 1 ft]]}}\n  stair:\n",
                       f"{TWO_EDGES}  top: {{curbs: {{K: {{edge: E, upstand: 6 in}}}}}}\n  stair:\n",
                       f"{TWO_EDGES}  top: {{curbs: {{K: {{edge: H, upstand: 6 in}}}}}}\n  stair:\n"),
    "CurbEntry.upstand": ("  field:\n", "  top: {curbs: {K: {edge: E, upstand: 6 in}}}\n  field:\n",
                          "  top: {curbs: {K: {edge: E, upstand: 5 in}}}\n  field:\n"),
    "EdgeEntry.stations": ("every: 5 ft, along", "stations: [2 ft], along", "stations: [3 ft], along"),
    "EdgeEntry.left": ("[9 ft, 1 ft]]}}", "[9 ft, 1 ft]], left: 1 ft}}", "[9 ft, 1 ft]], left: 2 ft}}"),
    "EdgeEntry.right": ("[9 ft, 1 ft]]}}", "[9 ft, 1 ft]], right: 1 ft}}", "[9 ft, 1 ft]], right: 6 in}}"),
    "StationEntry.edge": ("edges: {E: {every: 5 ft, along: [[0, 1 ft], [9 ft, 1 ft]]}}\n  stair:\n",
                          f"{TWO_EDGES}  top: {{surface: {{at: DOOR, fall: {{x: 2%}}}}, points: {{T: {{at: {{edge: E, station: 2 ft}}}}}}}}\n  stair:\n",
                          f"{TWO_EDGES}  top: {{surface: {{at: DOOR, fall: {{x: 2%}}}}, points: {{T: {{at: {{edge: H, station: 2 ft}}}}}}}}\n  stair:\n"),
    "StationEntry.station": ("{at: [1 ft, 1 ft]", "{at: {edge: E, station: 2 ft}", "{at: {edge: E, station: 3 ft}"),
    "StationEntry.left": ("{at: [1 ft, 1 ft]", "{at: {edge: E, station: 2 ft, left: 3 in}",
                          "{at: {edge: E, station: 2 ft, left: 4 in}"),
    "StationEntry.right": ("{at: [1 ft, 1 ft]", "{at: {edge: E, station: 2 ft, right: 3 in}",
                           "{at: {edge: E, station: 2 ft, right: 4 in}"),
    "EdgeEntry.below": ("[9 ft, 1 ft]]}}", "[9 ft, 1 ft]], below: 1/4}}", "[9 ft, 1 ft]], below: 3/8}}"),
    "ArcEntry.to": ("[9 ft, 1 ft]]}}", "{to: [9 ft, 1 ft], through: [5 ft, 2 ft]}]}}",
                    "{to: [8 ft, 1 ft], through: [5 ft, 2 ft]}]}}"),
    "ArcEntry.through": ("[9 ft, 1 ft]]}}", "{to: [9 ft, 1 ft], through: [5 ft, 2 ft]}]}}",
                         "{to: [9 ft, 1 ft], through: [5 ft, 3 ft]}]}}"),
    "ArcEntry.radius": ("[9 ft, 1 ft]]}}", "{to: [9 ft, 1 ft], radius: 9 ft, turn: left}]}}",
                        "{to: [9 ft, 1 ft], radius: 8 ft, turn: left}]}}"),
    "ArcEntry.turn": ("[9 ft, 1 ft]]}}", "{to: [9 ft, 1 ft], radius: 9 ft, turn: left}]}}",
                      "{to: [9 ft, 1 ft], radius: 9 ft, turn: right}]}}"),
    "CircleEntry.center": ("outline: [[0, 0], [10 ft, 0], [10 ft, 10 ft], [0, 10 ft]]\n",
                           "outline: {center: [5 ft, 5 ft], radius: 7 ft}\n",
                           "outline: {center: [5 ft, 6 ft], radius: 7 ft}\n"),
    "CircleEntry.radius": ("outline: [[0, 0], [10 ft, 0], [10 ft, 10 ft], [0, 10 ft]]\n",
                           "outline: {center: [5 ft, 5 ft], radius: 7 ft}\n",
                           "outline: {center: [5 ft, 5 ft], radius: 8 ft}\n"),
    "AreaEntry.strings": ("  field:\n", "  field:\n    strings: {front: {along: [A, B], above: 4 in}}\n",
                          "  field:\n    strings: {back: {along: [A, B], above: 4 in}}\n"),
    "StringEntry.along": ("  field:\n", "  field:\n    strings: {front: {along: [A, B], above: 4 in}}\n",
                          "  field:\n    strings: {front: {along: [A, C], above: 4 in}}\n"),
    "StringEntry.above": ("  field:\n", "  field:\n    strings: {front: {along: [A, B], above: 4 in}}\n",
                          "  field:\n    strings: {front: {along: [A, B], above: 5 in}}\n"),
    "StringEntry.left": ("  field:\n", "  field:\n    strings: {front: {along: [A, B], above: 4 in, left: 1 ft}}\n",
                         "  field:\n    strings: {front: {along: [A, B], above: 4 in, left: 2 ft}}\n"),
    "StringEntry.right": ("  field:\n", "  field:\n    strings: {front: {along: [A, B], above: 4 in, right: 1 ft}}\n",
                          "  field:\n    strings: {front: {along: [A, B], above: 4 in, left: 1 ft}}\n"),
    "AreaEntry.flight": ("down: 4, total", "down: 4, total", "down: 5, total"),
    "AreaEntry.ramp": ("landing: 5 ft", "landing: 5 ft", "landing: 6 ft"),
    "AreaEntry.route": ("route: [A, B, C", "route: [A, B, C", "route: [A, C, B"),
    "DrainsEntry.away from": ("away from: house", "away from: house", "away from: shed"),
    "DrainsEntry.into": ("into: [Q1]", "into: [Q1]", "into: [Q2]"),
    "DrainsEntry.at least": ("at least: 2%", "at least: 2%", "at least: 1.8%"),
    "DrainsEntry.at most": ("at most: 6%", "at most: 6%", "at most: 7%"),
    "SurfaceEntry.at": ("surface: {at: DOOR", "surface: {at: DOOR", "surface: {at: PIN"),
    "SurfaceEntry.fall": ("fall: {x: 2%, y: 1%}", "fall: {x: 2%, y: 1%}", "fall: {x: 2%}"),
    "SurfaceEntry.through": (SURFACE, "surface: {through: [A, B, C]}", "surface: {through: [A, B, D]}"),
    "SurfaceEntry.high edge": (SURFACE, "surface: {high edge: [A, B], fall: 2%, toward: D}",
                               "surface: {high edge: [A, C], fall: 2%, toward: D}"),
    "SurfaceEntry.low edge": (SURFACE, "surface: {high edge: [A, B], low edge: [V, W]}",
                              "surface: {high edge: [A, B], low edge: [X, Y]}"),
    "SurfaceEntry.toward": (SURFACE, "surface: {high edge: [A, B], fall: 2%, toward: D}",
                            "surface: {high edge: [A, B], fall: 2%, toward: C2}"),
    "SurfaceEntry.corners": (SURFACE, SURFACE, "surface: {spots: [A, B, C, D]}"),
    "SurfaceEntry.spots": (SURFACE, "surface: {spots: [A, B, C, D]}", "surface: {spots: [A, C, D]}"),
    "SurfaceEntry.crown": (SURFACE, "surface: {crown: [A, B], falls: [1%, 1%]}",
                           "surface: {crown: [A, D], falls: [1%, 1%]}"),
    "SurfaceEntry.valley": (SURFACE, "surface: {valley: [A, B], falls: [1%, 1%]}",
                            "surface: {valley: [A, D], falls: [1%, 1%]}"),
    "SurfaceEntry.falls": (SURFACE, "surface: {crown: [A, B], falls: [1%, 1%]}",
                           "surface: {crown: [A, B], falls: [1%, 2%]}"),
    "FallsEntry.x": ("x: 2%", "x: 2%", "x: 3%"),
    "FallsEntry.y": ("y: 1%", "y: 1%", "y: 2%"),
    "PointEntry.from": ("Y3: {from: Y2", "Y3: {from: Y2", "Y3: {from: DOOR"),
    "PointEntry.fall": ("K, fall: 1%", "K, fall: 1%", "K, fall: 2%"),
    "PointEntry.rise": ("K, fall: 1%", "K, rise: 1%", "K, rise: 2%"),
    "PointEntry.over": ("over: 10 ft, at", "over: 10 ft, at", "over: 11 ft, at"),
    "PointEntry.up": ("down: 1, riser: 5", "up: 1, riser: 5", "up: 2, riser: 5"),
    "PointEntry.down": ("down: 1, riser: 5", "down: 1, riser: 5", "down: 2, riser: 5"),
    "PointEntry.riser": ("down: 1, riser: 5", "down: 1, riser: 5", "down: 1, riser: 6"),
    "PointEntry.elevation": ("M: {elevation: -2", "M: {elevation: -2", "M: {elevation: -3"),
    "PointEntry.at": ("at: [35 ft, 4 ft]", "at: [35 ft, 4 ft]", "at: [35 ft, 5 ft]"),
    "PointEntry.also": (", also: " + ROUTE, ", also: " + ROUTE, ""),
    "RouteEntry.from": (ROUTE, ROUTE, ROUTE.replace("PIN", "DOOR")),
    "RouteEntry.fall": (ROUTE, ROUTE.replace("rise", "fall"), ROUTE.replace("rise: 1", "fall: 2")),
    "RouteEntry.rise": (ROUTE, ROUTE, ROUTE.replace("1%", "2%")),
    "RouteEntry.over": (ROUTE, ROUTE, ROUTE.replace("2 ft", "3 ft")),
    "RouteEntry.up": (ROUTE, "{from: PIN, up: 1, riser: 3}", "{from: PIN, up: 2, riser: 3}"),
    "RouteEntry.down": (ROUTE, "{from: PIN, down: 1, riser: 3}", "{from: PIN, down: 2, riser: 3}"),
    "RouteEntry.riser": (ROUTE, "{from: PIN, up: 1, riser: 3}", "{from: PIN, up: 1, riser: 4}"),
    "ListEntry.file": ("file: a.csv", "file: a.csv", "file: b.csv"),
    "ListEntry.order": ("order: PENZ", "order: PENZ", "order: PNEZ"),
    "ListEntry.prefix": ("{into: [Q1]}\n    point list: {file: a.csv, prefix: Q", "{into: [Q1]}\n    point list: {file: a.csv, prefix: Q",
                         "{into: [T1]}\n    point list: {file: a.csv, prefix: T"),
    "ListEntry.units": ("units: in, order", "units: in, order", "units: cm, order"),
    "ListEntry.columns": ("file: a.csv, prefix: Q, units: in, order: PENZ", "file: h.csv, prefix: Q, columns: {name: name, elevation: low, note: high}",
                          "file: h.csv, prefix: Q, columns: {name: name, elevation: high, note: low}"),
    "GridEntry.every": ("grid: {every: 5 ft", "grid: {every: 5 ft", "grid: {every: [5 ft, 2 ft]"),
    "GridEntry.inside": ("every: 5 ft, inside: [[0, 0]", "every: 5 ft, inside: [[0, 0]", "every: 5 ft, inside: [[0, -6 ft]"),
    "GridEntry.holes": ("holes: [[[4 ft, 4 ft], [6 ft, 4 ft], [6 ft, 6 ft], [4 ft, 6 ft]]], start",
                        "holes: [[[4 ft, 4 ft], [6 ft, 4 ft], [6 ft, 6 ft], [4 ft, 6 ft]]], start", "start"),
    "GridEntry.name": ("name: G}", "name: G}", "name: H}"),
    "GridEntry.start": ("start: [0, 0]", "start: [0, 0]", "start: [1 ft, 0]"),
    "EdgeEntry.every": ("{E: {every: 5 ft", "{E: {every: 5 ft", "{E: {every: 3 ft"),
    "EdgeEntry.along": ("[9 ft, 1 ft]", "[9 ft, 1 ft]", "[9 ft, 2 ft]"),
    "FlightEntry.from": ("flight: {from: PIN", "flight: {from: PIN", "flight: {from: DOOR"),
    "FlightEntry.down": (FLIGHT, FLIGHT, FLIGHT.replace("4", "5")),
    "FlightEntry.up": (FLIGHT, FLIGHT.replace("down", "up"), FLIGHT.replace("down: 4", "up: 5")),
    "FlightEntry.riser": (FLIGHT, "down: 4, riser: 6 in, ", "down: 4, riser: 6 1/2 in, "),
    "FlightEntry.total": (FLIGHT, FLIGHT, FLIGHT.replace("25 in", "26 in")),
    "FlightEntry.round to": (FLIGHT, FLIGHT, FLIGHT.replace("1/8", "1/2")),
    "FlightEntry.tread": ("tread: 14 in", "tread: 14 in", "tread: 15 in"),
    "FlightEntry.tread fall": ("tread fall: 1/8", "tread fall: 1/8", "tread fall: 1/4"),
    "FlightEntry.landings": ("landings: {2:", "landings: {2:", "landings: {1:"),
    "FlightEntry.toward": ("toward: [50 ft, 90 ft]", "toward: [50 ft, 90 ft]", "toward: [90 ft, 90 ft]"),
    "FlightEntry.name": ("name: S}", "name: S}", "name: T}"),
    "LandingEntry.length": ("length: 4 ft", "length: 4 ft", "length: 5 ft"),
    "LandingEntry.fall": ("fall: 1:60", "fall: 1:60", "fall: 1:50"),
    "RampEntry.from": ("ramp: {from: PIN", "ramp: {from: PIN", "ramp: {from: DOOR"),
    "RampEntry.fall": ("fall: 1:14", "fall: 1:14", "fall: 1:15"),
    "RampEntry.rise": ("fall: 1:14", "rise: 1:14", "rise: 1:15"),
    "RampEntry.runs": ("runs: [14 ft, 14 ft]", "runs: [14 ft, 14 ft]", "runs: [14 ft, 15 ft]"),
    "RampEntry.landing": ("landing: 5 ft", "landing: 5 ft", "landing: 6 ft"),
    "RampEntry.landing fall": ("landing fall: 1:50", "landing fall: 1:50", "landing fall: 1:60"),
    "RampEntry.toward": ("toward: [90 ft, 0]", "toward: [90 ft, 0]", "toward: [90 ft, 9 ft]"),
    "RampEntry.name": ("name: R}", "name: R}", "name: T}"),
}  # fmt: skip
"""What stands in the job, and two ways to write it that are not judged alike."""
JUDGES_NOTHING = {
    "BenchmarkEntry.what": "words for people",
    "AreaEntry.what": "words for people",
    "PointEntry.what": "words for people",
}


def _keys() -> set[str]:
    """Each key of each kind of entry, as it is written."""
    seen: dict[type[BaseModel], None] = {}

    def look(kind: object) -> None:
        if isinstance(kind, type) and issubclass(kind, BaseModel) and kind not in seen:
            seen[kind] = None
            for field in kind.model_fields.values():
                for each in (field.annotation, *field.metadata):
                    look(each)
        for each in get_args(kind):
            look(each)

    look(JobEntry)
    return {f"{kind.__name__}.{field.alias or name}" for kind in seen for name, field in kind.model_fields.items()}


def read(text: str) -> Plan:
    return read_plan(text, "job.yaml", LISTS.__getitem__)


read_once = functools.cache(read)
"""Most of the changes begin with the job as it stands above."""


def test_every_key_of_a_job_file_is_written_otherwise_here() -> None:
    assert not OTHERWISE.keys() & JUDGES_NOTHING.keys()
    assert OTHERWISE.keys() | JUDGES_NOTHING.keys() == _keys()


@each_of("key", every(5, OTHERWISE))
def test_a_key_that_is_written_otherwise_is_told(key: str) -> None:
    was, first, then = OTHERWISE[key]
    assert JOB.count(was) == 1
    before, after = read_once(JOB.replace(was, first)), read(JOB.replace(was, then))
    found = changes(before, after)
    lines = change_lines(found, before.notation)
    assert lines
    assert summary(found, before.notation) != "no target changes"
    for line in lines:
        was, _, now = line.partition(": from ")[2].partition(" to ")
        assert not now or was != now, line


def test_the_same_file_read_twice_has_nothing_to_tell() -> None:
    assert change_lines(changes(read(JOB), read(JOB)), read(JOB).notation) == []
