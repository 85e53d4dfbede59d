"""What the office changed in a plan: every target that moved, and nothing else."""

from __future__ import annotations

from fractions import Fraction

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
YARD = "build-up: b\ntolerances: {base: 6, subgrade: 12}\npoints: {P: -10, Q: {from: P, fall: 2 %, over: 1 m}}\n"


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
    assert not changes(_plan(), _plan(YARD.replace("P: -10", "P: {from: DOOR, fall: 1 %, over: 1 m, what: here}")))


def test_a_point_that_moves_takes_all_its_surfaces_and_what_is_counted_from_it_along() -> None:
    found = changes(_plan(), _plan(YARD.replace("-10", "-15")))
    assert found == Changes(_moved(-5, "P", "Q"), (), (), ())
    assert summary(found, _plan().notation) == "2 points moved, most P subgrade by 5 mm down"


def test_the_largest_is_the_farthest_either_way() -> None:
    more = YARD.replace("Q: {from: P, fall: 2 %, over: 1 m}", "Q: 90")
    found = changes(_plan(), _plan(more.replace("-10", "-15")))
    assert found.largest == Moved("yard", "Q", "subgrade", mm(120))
    assert change_lines(found, _plan().notation)[0] == "yard  Q subgrade: +120 mm"


def test_the_largest_is_the_farthest_down_where_that_is_more_than_any_goes_up() -> None:
    apart = YARD.replace("Q: {from: P, fall: 2 %, over: 1 m}", "Q: -30")
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
    assert change_lines(found, _plan().notation) == ["tolerance: yard, base"]


def test_a_surface_that_is_worked_to_besides_is_told_though_no_target_moves() -> None:
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


def test_a_rod_a_benchmark_or_a_datum_that_goes_is_told_though_no_target_moves() -> None:
    datum = "datums: {pool: {mark: PIN, reads: 0}}\n"
    found = changes(_plan(top=LAYERS + RODS + datum), _plan(top=LAYERS + RODS.replace("old rod", "site rod")))
    assert found == Changes((), (), (), (), lost=("pool", "old rod"))
    assert found
    without = read_plan(job_with(YARD, top=LAYERS).replace("PIN:", "BOLT:"), "job.yaml")
    assert changes(_plan(), without).lost == ("PIN",)


def test_a_rod_whose_figures_run_the_other_way_is_told_though_no_target_moves() -> None:
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
