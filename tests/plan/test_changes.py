"""What the office changed in a plan: every target that moved, and nothing else."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.quantities import Length
from gradecheck.plan.changes import Changes, Moved, changes
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.plan.targets import target
from gradecheck.report.plan_changes import change_lines, summary
from tests.plan.ground import job_with, mm, plan_with
from tests.strategies import examples

LAYERS = "build-ups: {b: [{paver: 60}, {base: 100}]}\n"
YARD = "build-up: b\ntolerances: {base: 6, subgrade: 12}\npoints: {P: -10, Q: {from: P, fall: 2%, over: 1 m}}\n"


def _plan(yard: str = YARD, *, top: str = LAYERS, after: str = "") -> Plan:
    return plan_with(yard, top=top, after=after)


def _moved(by: int, *points: str) -> tuple[Moved, ...]:
    return tuple(Moved("yard", name, stage, mm(by)) for name in points for stage in ("subgrade", "base", "finish"))


def test_a_plan_read_twice_has_no_changes() -> None:
    same = changes(_plan(), _plan())
    assert not same
    assert same.largest is None
    assert summary(same, _plan().notation) == "no target changes"


def test_what_only_reads_otherwise_changes_no_target() -> None:
    assert not changes(_plan(), _plan(YARD.replace("P: -10", "P: {from: DOOR, fall: 1%, over: 1 m, what: here}")))


def test_a_moved_point_takes_all_that_is_counted_from_it_along() -> None:
    found = changes(_plan(), _plan(YARD.replace("-10", "-15")))
    assert found == Changes(_moved(-5, "P", "Q"), (), (), ())
    assert summary(found, _plan().notation) == "2 points moved, most P subgrade by 5 mm down"


def test_the_largest_is_the_farthest_either_way() -> None:
    more = YARD.replace("Q: {from: P, fall: 2%, over: 1 m}", "Q: 90")
    found = changes(_plan(), _plan(more.replace("-10", "-15")))
    assert found.largest == Moved("yard", "Q", "subgrade", mm(120))
    assert change_lines(found, _plan().notation)[0] == (
        "yard: 2 points moved (P, Q) at subgrade, base, finish, most Q subgrade +120 mm"
    )


def test_the_largest_is_the_farthest_down_unless_more_goes_up() -> None:
    apart = YARD.replace("Q: {from: P, fall: 2%, over: 1 m}", "Q: -30")
    found = changes(_plan(apart), _plan(apart.replace("-10", "-95").replace("-30", "-20")))
    assert found.largest == Moved("yard", "P", "subgrade", mm(-85))
    assert summary(found, _plan().notation) == "2 points moved, most P subgrade by 85 mm down"


def test_a_thicker_layer_moves_what_lies_below_it() -> None:
    found = changes(_plan(), _plan(top=LAYERS.replace("100", "120")))
    assert found.moved == tuple(Moved("yard", name, "subgrade", mm(-20)) for name in ("P", "Q"))


def test_points_come_and_go() -> None:
    found = changes(_plan(), _plan(YARD.replace("Q: ", "R: ")))
    assert (found.added, found.gone, found.moved) == (("R",), ("Q",), ())
    assert summary(found, _plan().notation) == "1 point new (R), 1 point gone (Q)"


def test_an_area_that_comes_or_goes_brings_and_takes_its_points() -> None:
    more = _plan(after="court: {points: {K: -5, L: -6}}")
    assert changes(_plan(), more).added == ("K", "L")
    assert changes(more, _plan()).gone == ("K", "L")


def test_a_point_that_went_to_another_area_is_gone_there_and_new_here() -> None:
    one = _plan(after="court: {points: {K: -5, L: -6}}")
    other = _plan(YARD.replace("P: -10,", "P: -10, K: -500,"), after="court: {points: {L: -6}}")
    found = changes(one, other)
    assert (found.added, found.gone) == (("K",), ("K",))


def test_a_tolerance_that_changed_is_told_by_area_and_stage() -> None:
    found = changes(_plan(), _plan(YARD.replace("base: 6", "base: 4")))
    assert found == Changes((), (), (), (("yard", "base"),))
    assert change_lines(found, _plan().notation) == [
        "yard base tolerance: from 6 mm high, 6 mm low to 4 mm high, 4 mm low"
    ]


def test_a_surface_also_worked_to_is_listed_though_no_target_moves() -> None:
    loose = "build-ups: {b: {layers: [{paver: 60}, {base: 100}], loose: {base: 125}}}\n"
    found = changes(_plan(), _plan(top=loose))
    assert found == Changes((), (), (), (), stages=(("yard", "base loose"),))
    assert found
    assert changes(_plan(top=loose), _plan()).stages == (("yard", "base loose"),)


def test_a_mark_that_is_counted_otherwise_is_told_though_no_target_moves() -> None:
    datum = "datums: {pool: {mark: PIN, reads: 0}}\n"
    found = changes(_plan(top=LAYERS + datum), _plan(top=LAYERS + datum.replace("reads: 0", "reads: 10")))
    assert found == Changes((), (), (), (), marks=("pool",))
    assert summary(found, _plan().notation) == "1 mark or rod read otherwise (pool)"
    lower = read_plan(job_with(YARD, top=LAYERS).replace("elevation: -100", "elevation: -104"), "job.yaml")
    assert changes(_plan(), lower) == Changes((), (), (), (), marks=("PIN",))


RODS = "rods: {old rod: {kind: standard}, new rod: {kind: standard}}\n"


def test_a_rod_benchmark_or_datum_that_goes_is_listed_without_a_move() -> None:
    datum = "datums: {pool: {mark: PIN, reads: 0}}\n"
    found = changes(_plan(top=LAYERS + RODS + datum), _plan(top=LAYERS + RODS.replace("old rod", "site rod")))
    assert found == Changes((), (), (), (), lost=("pool", "old rod"))
    assert found
    without = read_plan(job_with(YARD, top=LAYERS).replace("PIN:", "BOLT:"), "job.yaml")
    assert changes(_plan(), without).lost == ("PIN",)


def test_a_rod_running_the_other_way_is_listed_though_no_target_moves() -> None:
    other = RODS.replace("old rod: {kind: standard}", "old rod: {kind: direct}")
    found = changes(_plan(top=LAYERS + RODS), _plan(top=LAYERS + other))
    assert found == Changes((), (), (), (), marks=("old rod",))


heights = st.dictionaries(st.sampled_from("ABCDEFG"), st.integers(-900, 900), min_size=1)


@given(old=heights, new=heights)
@examples(50)
def test_old_targets_and_the_changes_make_the_new_ones(old: dict[str, int], new: dict[str, int]) -> None:
    def read(points: dict[str, int]) -> Plan:
        return plan_with("points: {" + ", ".join(f"{name}: {z}" for name, z in points.items()) + "}")

    one, other = read(old), read(new)
    found = changes(one, other)
    kept = {each.name: each.finish.height for each in one.areas["yard"].points if each.name not in found.gone}
    moved = {name: z + by.get(name, Length(Fraction(0))) for by in [_by(found)] for name, z in kept.items()}
    area = other.areas["yard"]
    assert moved == {
        each.name: target(area, each, "finish").wanted.height for each in area.points if each.name not in found.added
    }
    assert all(each.by.metres for each in found.moved)


def _by(found: Changes) -> dict[str, Length]:
    return {each.point: each.by for each in found.moved}


# What is written otherwise beside targets


TOP = """\
job: Fennel Yard
units: in
codes: [us-residential]
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}, PIN: -4}
build-ups:
  b: {layers: [{paver: 2}, {base: 6}], past edge: 8 in}
tolerances: {finish: 1/8, base: 3/8, subgrade: 1/2}
walls: {house: [[0, 0], [40 ft, 0]]}
rules: {riser at most: 7 in}
stone: {density: 140 lb/ft^3, loose: no, price: 38 $/ton}
instrument: {beam: 10 arcsec, longest shot: 60 ft}
rods: {site rod: {graduation: 1/16 in}}
rechecks: {readings: 20}
layout: {yard: {sides: [10 ft, 10 ft]}}
areas:
  yard:
    build-up: b
    use: patio
    drains: {away from: house, at least: 2%}
    surface: {at: DOOR, fall: {x: 2%, y: 1%}}
    outline: [[0, 0], [10 ft, 0], [10 ft, 10 ft], [0, 10 ft]]
    grid: {every: 5 ft}
  stair:
    flight: {from: DOOR, down: 3, riser: 6 in, tread: 14 in}
  path:
    points: {K: {elevation: -1, what: here}, L: -2}
"""
OTHERWISE = {
    "wall": ("[40 ft, 0]]}", "[44 ft, 0]]}", "wall house: from [[0 in, 0 in], [480 in, 0 in]] to "
             "[[0 in, 0 in], [528 in, 0 in]]"),
    "no wall": ("walls: {house: [[0, 0], [40 ft, 0]]}\n", "walls: {shed: [[0, 0], [40 ft, 0]]}\n",
                "wall house: from [[0 in, 0 in], [480 in, 0 in]] to none"),
    "mark": ("PIN: -4", "PIN: -5", "benchmark PIN elevation: from -4 in to -5 in"),
    "rule": ("riser at most: 7 in", "riser at most: 6 in", "rule riser at most: from 7 in to 6 in"),
    "new rule": ("{riser at", "{ponding at most: 1/8 in, riser at", "rule ponding at most: from none to 1/8 in"),
    "price": ("38 $", "41 $", "stone price: from $38/ton to $41/ton"),
    "tolerance": ("base: 3/8", "base: {high: 1/4, low: 1/2}",
                  "yard base tolerance: from 3/8 in high, 3/8 in low to 1/4 in high, 1/2 in low"),
    "layer": ("{base: 6}", "{base: 7}", "yard layer base: from 6 in to 7 in"),
    "past edge": ("past edge: 8 in", "past edge: 6 in", "yard past edge: from 8 in to 6 in"),
    "outline": ("[10 ft, 10 ft], [0", "[10 ft, 11 ft], [0",
                "yard outline corner no. 3: from [120 in, 120 in] to [120 in, 132 in]"),
    "drains": ("at least: 2%", "at least: 1.5%", "yard drains at least: from 2% to 1.5%"),
    "use": ("use: patio", "use: walk", "yard use: from patio to walk"),
    "codes": ("[us-residential]", "[us-commercial]", "codes: from [us-residential] to [us-commercial]"),
    "rechecks": ("readings: 20", "readings: 25", "rechecks readings: from 20 to 25"),
    "layout": ("sides: [10 ft, 10 ft]", "sides: [10 ft, 12 ft]", "layout yard corners no. 3 and 1 more: from "
               "[C, [120 in, 120 in]] to [C, [120 in, 144 in]]"),
    "tread": ("tread: 14 in", "tread: 15 in", "stair tread: from [14 in] to [15 in]"),
    "route": ("{K: {elevation: -1, what: here}, L: -2}", "{L: -2, K: {elevation: -1, what: here}}",
              "path route: from no. 1 is K to no. 1 is L"),
    "place": ("what: here", "what: here, at: [0, 0]", "path place of K: from none to [0 in, 0 in]"),
}  # fmt: skip


@pytest.mark.parametrize("what", OTHERWISE)
def test_whatever_is_written_otherwise_is_told_from_what_to_what(what: str) -> None:
    old, new, says = OTHERWISE[what]
    assert old in TOP
    text = TOP.replace(old, new)
    if what == "no wall":
        text = text.replace("away from: house", "away from: shed")
    before, after = read_plan(TOP, "job.yaml"), read_plan(text, "job.yaml")
    found = changes(before, after)
    assert found
    assert says in change_lines(found, before.notation)
    if not found.moved:
        assert summary(found, before.notation) != "no target changes"


def test_one_line_is_told_for_each_area_however_many_targets_move() -> None:
    before = read_plan(TOP, "job.yaml")
    after = read_plan(TOP.replace("riser: 6 in", "riser: 5 in").replace("y: 1%", "y: 1.5%"), "job.yaml")
    assert change_lines(changes(before, after), before.notation) == [
        "stair: 3 points moved (S1, S2, S3) at finish, most S3 finish +3 in",
        "yard: 6 points moved (Y2-3, Y2-2, Y2-1 and 3 more) at subgrade, base, finish, most Y3-1 subgrade -5/8 in",
    ]


def test_points_that_come_and_go_are_told_one_line_an_area() -> None:
    before = read_plan(TOP, "job.yaml")
    after = read_plan(TOP.replace("every: 5 ft", "every: 10 ft").replace("L: -2", "M: -2, N: -3"), "job.yaml")
    lines = change_lines(changes(before, after), before.notation)
    assert "new: path, 2 points (M, N)" in lines
    assert "gone: path, 1 point (L)" in lines
    assert len([line for line in lines if line.startswith(("new: yard", "gone: yard"))]) == 1


EXAMPLES = """\
job: Q
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8}
walls:
  house: [[0 ft, 0 ft], [24 ft, 0 ft]]  # house
areas:
  court:
    points:
      A: -1  # A
      B: -2  # B
  walk:
    points:
      W: {from: A, fall: 2%, over: 4 ft}
      V: -3  # V
"""
LEANED_ON = {"house": set(), "A": {"court", "walk"}, "B": {"court"}, "V": {"walk"}}


def _with_marks(remarks: set[str], before: str = "") -> Plan:
    lines = [f"{line} <--" if line.rpartition("  # ")[2] in remarks else line for line in EXAMPLES.split("\n")]
    return read_plan(before + "\n".join(lines), "job.yaml")


@given(st.sets(st.sampled_from(sorted(LEANED_ON))), st.sets(st.sampled_from(sorted(LEANED_ON))))
def test_an_example_mark_in_or_out_is_a_change(was: set[str], now: set[str]) -> None:
    old, new = _with_marks(was), _with_marks(now)
    found = changes(old, new)
    before: set[str] = set().union(*(LEANED_ON[remark] for remark in was))
    after: set[str] = set().union(*(LEANED_ON[remark] for remark in now))
    told = (summary(found, new.notation), *change_lines(found, new.notation))
    assert set(found.judged) == before - after
    assert set(found.unjudged) == after - before
    for area in before - after:
        assert f"judged again, no example figures left: {area}" in told
    assert ("judged again" in told[0]) == bool(before - after)
    assert ("EXAMPLE FIGURES" in told[0]) == bool(after - before)
    if was < now or now < was:
        assert found


@given(st.sets(st.sampled_from(sorted(LEANED_ON))))
def test_an_example_that_stands_on_another_line_is_no_change(marked: set[str]) -> None:
    assert not changes(_with_marks(marked), _with_marks(marked, "# a remark\n\n"))


def test_how_many_lines_are_examples_is_told_where_some_are_left() -> None:
    assert "court example figures: from 2 lines to 1 line" in change_lines(
        changes(_with_marks({"A", "B"}), _with_marks({"B"})), _with_marks(set()).notation
    )
