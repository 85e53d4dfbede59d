"""Two laptops on one job, each with its own laser: joined in either order they know the same."""

from __future__ import annotations

import contextlib
import random
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck.actions import Action, Refusal, readings
from gradecheck.actions import instrument as laser
from gradecheck.journal.facts import PlanRevised
from gradecheck.measure.quantities import ZERO, inches
from gradecheck.report.daily_report import daily_report
from gradecheck.report.joining import lasers
from gradecheck.report.log import log_row
from gradecheck.report.review import Chosen, laptop_lines, stage_rows, still_open
from gradecheck.state.state import State, fold_joined
from tests.joining.crews import JOB, MORNING, W1, W2, Crew, Crews, crew, two

__all__ = ["crew"]


@pytest.mark.parametrize("ahead", [-1440, 5, 240])
def test_two_crews_joined_in_either_order_know_the_same_and_lose_nothing(crew: Crews, ahead: int) -> None:
    north, south = two(crew, ahead)
    south.set_up("STEP", "40")  # the laser at 42
    south.read(W2, "46")
    north.read(W2, "54-1/8")
    assert north.take(south) == 2 + 0
    assert south.take(north) == 1
    assert north.shown() == south.shown()
    assert len(north.session.all_lines()) == 6
    assert (north.take(south), south.take(north)) == (0, 0)
    # Each reads on from its own laser.
    assert str(north.session.state.setup.instrument.zero.height.metres) == "127/100"
    assert str(south.session.state.setup.instrument.zero.height.metres) == "2667/2500"


def test_an_entry_says_what_its_laptop_knew_and_its_chain_verifies(crew: Crews) -> None:
    north, south = two(crew)
    south.read(W2, "54")
    north.take(south)
    north.read(W1, "53-1/16")
    [*_, last] = north.session.journal.chain()
    assert [(head.laptop, head.number) for head in last.knows] == [("south", 4)]
    north.read(W1, "53")
    [*_, last] = north.session.journal.chain()
    assert last.knows == ()
    assert north.session.journal.verify().fault is None
    assert south.take(north) == 2
    assert north.shown() == south.shown()


def test_by_way_of_a_third_and_any_number_of_times_it_is_the_same_job(crew: Crews) -> None:
    north, south = two(crew)
    third = crew("third", of=north)
    south.set_up("STEP", "40")
    south.read(W2, "46")
    north.read(W2, "54")
    third.take(south)
    third.read(W1, "53-1/8")
    for here, other in ((north, third), (south, north), (third, south), (north, south), (south, third)):
        here.take(other)
    assert north.shown() == south.shown() == third.shown()


def test_anothers_turning_point_is_used_by_its_whole_name(crew: Crews) -> None:
    north, south = two(crew)
    north.shoot("TP1", "45")  # at +5
    south.set_up("STEP", "40")
    south.shoot("TP1", "35")  # at +7
    for here, other in ((north, south), (south, north)):
        here.take(other)
    for here in (north, south):
        marks = {name: here.session.state.mark(name) for name in here.session.state.book.marks()}
        assert {name: str(found.height.metres) for name, found in marks.items()} == {
            "DOOR": "0", "STEP": "127/2500", "TP1 of north": "127/1000", "TP1 of south": "889/5000",
        }  # fmt: skip
    south.set_up("TP1 of north", "30")  # the laser at +35
    north.take(south)
    assert str(south.session.state.setup.instrument.zero.height.metres) == "889/1000"
    assert north.shown() == south.shown()
    # The chain goes through the other's setup: put right there, it moves here.
    setup = next(line.entry.id for line in north.session.all_lines() if line.entry.kind == "set-up")
    north.correct(setup, "DOOR=51")
    south.take(north)
    assert str(south.session.state.setup.instrument.zero.height.metres) == "1143/1250"


def test_typing_a_plain_name_never_reaches_the_mark_of_another(crew: Crews) -> None:
    north, south = two(crew)
    north.shoot("TP1", "45")
    south.take(north)
    with pytest.raises(Exception, match="TP1"):
        south.set_up("TP1", "30")
    south.shoot("TP1", "49")
    assert str(south.session.state.mark("TP1 of south").height.metres) == "127/5000"
    assert str(south.session.state.mark("TP1 of north").height.metres) == "127/1000"
    south.set_up("TP1", "30")
    assert str(south.session.state.setup.instrument.zero.height.metres) == "3937/5000"


def test_a_correction_or_strike_counts_everywhere_an_answer_is_not_undone(crew: Crews) -> None:
    north, south = two(crew)
    first = next(line.entry.id for line in north.session.all_lines() if line.entry.kind == "reading")
    north.correct(first, "53-1/8")
    south.correct(first, "52-7/8")
    for here, other in ((north, south), (south, north)):
        here.take(other)
    assert north.shown() == south.shown()
    [(_, shot)] = north.session.state.doubts()
    assert shot.id == first
    assert len(north.session.journal.joined.conflicts) == 1
    assert any(line.startswith("Conflict at no. 3: ") for line in still_open(north.session.state))
    south.correct(first, "53")  # by someone who knew both
    north.take(south)
    assert not any("Conflict" in line for line in still_open(north.session.state))
    assert north.session.journal.joined.conflicts == []
    assert north.session.state.doubts() == []
    assert str(north.session.state.found(north.session.state.latest(W1)).height.metres) == "-381/5000"
    assert north.shown() == south.shown()


@pytest.mark.parametrize("again", ["correct", "strike"])
def test_a_strike_that_counts_against_a_correction_is_answered_by_either(crew: Crews, again: str) -> None:
    north, south = two(crew, ahead=60)
    first = next(line.entry.id for line in north.session.all_lines() if line.entry.kind == "reading")
    north.strike(first)
    south.correct(first, "52-7/8")
    for here, other in ((north, south), (south, north)):
        here.take(other)
    assert north.session.state.latest(W1) is None
    if again == "correct":
        north.correct(first, "53-1/16")
    else:
        north.strike(first)
    south.take(north)
    for here in (north, south):
        assert here.session.journal.joined.conflicts == []
        shot = here.session.state.latest(W1)
        assert (shot.rod == inches(Fraction(849, 16))) if again == "correct" else (shot is None)


def test_a_corrected_turning_point_keeps_its_name_whoever_corrects_it(crew: Crews) -> None:
    north, south = two(crew)
    turning = north.shoot("TP1", "40")  # at 10
    south.take(north)
    south.set_up("TP1 of north", "45")
    south.read(W2, "59")
    south.shoot("TP1", "30")
    south.correct(turning, "41")
    north.take(south)
    for here in (north, south):
        assert [*here.session.state.book.marks()] == ["DOOR", "STEP", "TP1 of north", "TP1 of south"]
        # The mark at 9, so the laser at 54, and W2 at -5; south's own at 24.
        assert here.session.state.mark("TP1 of north").height == inches(9)
        assert here.session.state.mark("TP1 of south").height == inches(24)
        assert here.session.state.found(here.session.state.latest(W2)).height == inches(-5)
    assert north.shown() == south.shown()


def test_a_turning_point_keeps_its_plain_name_when_corrected_after_parting(crew: Crews) -> None:
    north = crew("north")
    north.set_up("DOOR", "50")
    turning = north.shoot("TP1", "40")
    standing = north.set_up("TP1", "45")
    south = crew("south", of=north)
    south.set_up("STEP", "48")
    south.shoot("TP1", "50")  # taken anew: another spot, and south's own from here on
    south.correct(turning, "41")
    south.correct(standing, "46")  # still the laser on the first TP1: at 9 + 46
    north.read(W2, "59")
    for here, other in ((north, south), (south, north)):
        here.take(other)
    for here in (north, south):
        assert here.session.state.found(here.session.state.latest(W2)).height == inches(-4)
        assert here.session.state.mark("TP1").height == inches(9)
        assert here.session.state.mark("TP1 of south").height == ZERO
    assert north.shown() == south.shown()


def test_two_unlike_corrections_of_a_backsight_put_its_readings_in_doubt(crew: Crews) -> None:
    north, south = two(crew)
    standing = next(line.entry.id for line in north.session.all_lines() if line.entry.kind == "set-up")
    turning = north.shoot("TP1", "40")
    north.set_up("TP1", "45")
    north.read(W2, "59")
    south.take(north)
    north.correct(standing, "49")
    south.correct(standing, "51")
    for here, other in ((north, south), (south, north)):
        here.take(other)
    for here in (north, south):
        state = here.session.state
        assert [surface.point for surface, _ in state.doubts()] == ["W1", "W2"]
        assert "TP1 of north" in dict(state.doubt.marks())
    assert north.shown() == south.shown()
    # Trusted by someone who knows both: the conflict stays until one of them is chosen.
    north.do(laser.answer_doubt(north.session.state, "an inch more or less is the same here"))
    south.take(north)
    for here in (north, south):
        assert here.session.state.doubts() == []
        assert any(line.startswith("Conflict") for line in still_open(here.session.state))
    # Corrected apart once more: the answer did not know that.
    south.correct(turning, "41")
    north.correct(turning, "42")
    for here, other in ((north, south), (south, north)):
        here.take(other)
        assert [surface.point for surface, _ in here.session.state.doubts()] == ["W2"]
    south.correct(standing, "50")
    north.correct(turning, "40")
    for here, other in ((north, south), (south, north)):
        here.take(other)
        assert here.session.state.doubts() == []
        assert not any(line.startswith("Conflict") for line in still_open(here.session.state))
    assert north.shown() == south.shown()


def test_a_paper_reading_corrected_by_another_laptop_stays_at_its_time(crew: Crews) -> None:
    north, south = two(crew)
    for here in (south, north):
        for _ in range(3):
            here.read(W2, "54")
    setup = north.session.state.setup.id
    late = north.session.late("08:34")
    on_paper = north.do(readings.reading(north.session.state, W1, "53-1/4", late=late))
    again = north.set_up("STEP", "48")
    for here, other in ((north, south), (south, north)):
        here.take(other)
    before = {here.laptop: here.session.state.shots[W1] for here in (north, south)}
    south.correct(on_paper, "53-1/8")
    north.take(south)
    for here in (north, south):
        now = here.session.state.shots[W1]
        assert [(shot.id, shot.order) for shot in now] == [(shot.id, shot.order) for shot in before[here.laptop]]
        assert all(shot.setup == setup != again for shot in now)
    assert north.shown() == south.shown()


def test_of_two_plans_accepted_apart_one_is_accepted_again(crew: Crews) -> None:
    north, south = two(crew)
    for here, elevation in ((north, "-3 1/8"), (south, "-3 1/4")):
        job = (here.folder / "job.yaml").read_text(encoding="utf-8")
        (here.folder / "job.yaml").write_text(job.replace("W1: {elevation: -3}", f"W1: {{elevation: {elevation}}}"))
        here.session.plan_file.refresh()
        here.do(here.session.accept_plan())
    for here, other in ((north, south), (south, north)):
        here.take(other)
    [line] = [line for line in still_open(south.session.state) if line.startswith("Conflict")]
    assert line.endswith("To answer, accept the right one again (Plan, Ctrl+Y).")
    assert north.shown() == south.shown()
    south.do(south.session.accept_plan())
    north.take(south)
    for here in (north, south):
        assert here.session.journal.joined.conflicts == []
    assert north.shown() == south.shown()


def test_two_strikes_of_one_entry_are_no_conflict(crew: Crews) -> None:
    north, south = two(crew)
    first = next(line.entry.id for line in north.session.all_lines() if line.entry.kind == "reading")
    north.strike(first)
    south.strike(first)
    north.take(south)
    south.take(north)
    assert north.session.journal.joined.conflicts == []
    assert north.session.state.latest(W1) is None
    assert north.shown() == south.shown()


def test_a_restored_older_copy_that_went_on_and_a_clone_lose_nothing(crew: Crews, tmp_path: Path) -> None:
    north, south = two(crew)
    north.read(W2, "54")
    restored = crew("north", of=south)
    restored.read(W2, "54-1/16")
    south.take(north)
    south.take(restored)
    assert len(south.session.all_lines()) == 5
    [sides] = south.session.journal.joined.history.forks
    assert {south.session.journal.joined.history.link(each).laptop for each in sides} == {"north"}
    north.take(south)
    restored.take(north)
    assert north.shown() == south.shown() == restored.shown()


def test_a_failed_recheck_puts_in_doubt_what_its_own_chain_read_alone(crew: Crews) -> None:
    north, south = two(crew)
    south.read(W2, "54")
    north.do(laser.recheck(north.session.state, "DOOR", "49"))
    for here, other in ((north, south), (south, north)):
        here.take(other)
    assert {surface.point for surface, _ in north.session.state.doubts()} == {"W1"}
    assert north.shown() == south.shown()
    assert north.session.state.setup is None
    assert south.session.state.setup is not None


def test_targets_changed_apart_are_a_conflict_until_settled(crew: Crews) -> None:
    from gradecheck.actions import points

    north, south = two(crew)
    north.do(points.change_target(north.session.state, "W1", "-2", "stone is high"))
    south.do(points.change_target(south.session.state, "W1", "-2-1/2", "root"))
    for here, other in ((north, south), (south, north)):
        here.take(other)
    assert north.shown() == south.shown()
    assert len(north.session.journal.joined.conflicts) == 1
    south.do(points.change_target(south.session.state, "W1", "-2-1/4", "agreed"))
    north.take(south)
    assert north.session.journal.joined.conflicts == []
    assert str(north.session.plan.areas["walk"].point("W1").finish.height.metres) == "-1143/20000"


def test_a_sign_off_that_missed_a_reading_of_another_laptop_shows_open(crew: Crews) -> None:
    from gradecheck.actions import evening
    from gradecheck.state.signing import has_changed, questions, unseen

    north, south = two(crew)

    def signed(here: Crew) -> None:
        asked = questions(here.session.state, "walk", "finish")
        here.do(evening.sign_off(here.session.state, "walk", "finish", [], asked=asked))

    north.read(W2, "54")
    signed(north)
    south.read(W2, "54")
    north.take(south)
    kept = north.session.state.record.signed("walk", "finish")
    assert len(unseen(north.session.state, kept)) == 1
    assert has_changed(north.session.state, kept)
    assert "walk: finish open again, signed by N, north: 1 reading of south not seen." in still_open(
        north.session.state
    )
    signed(north)
    assert not has_changed(north.session.state, north.session.state.record.signed("walk", "finish"))


def test_a_sign_off_says_what_of_which_laptop_was_unknown_and_what_is_out(crew: Crews) -> None:
    from gradecheck.actions import evening
    from gradecheck.state.signing import questions

    north, south = two(crew)
    north.read(W2, "54")
    asked = questions(north.session.state, "walk", "finish")
    north.do(evening.sign_off(north.session.state, "walk", "finish", [], asked=asked))
    south.read(W2, "54")
    south.read(W1, "52")  # an inch high
    south.read(W1, "52-1/2")  # half an inch
    north.take(south)
    says = "3 readings of south not seen, 1 OUT"
    assert f"walk: finish open again, signed by N, north: {says}." in still_open(north.session.state)
    [row] = stage_rows(north.session.state, north.session.all_lines(), Chosen())
    assert row.signed == f"N, north 07 Apr 08:34, open again: {says}"


def test_setups_on_a_benchmark_two_laptops_give_otherwise_are_in_doubt(
    crew: Crews,
) -> None:
    north, south = two(crew)
    north.do(laser.give_mark(north.session.state, "DOOR", "1/2", has_moved=False, why="resurveyed"))
    south.do(laser.give_mark(south.session.state, "DOOR", "1", has_moved=False, why="office called"))
    south.set_up("STEP", "40")
    south.read(W2, "46")  # on STEP, which nobody doubts
    for here, other in ((north, south), (south, north)):
        here.take(other)
    for here in (north, south):
        assert [surface.point for surface, _ in here.session.state.doubts()] == ["W1"]
        assert here.session.state.doubt.mark_in_doubt("DOOR")
    assert north.shown() == south.shown()
    [conflict] = [line for line in still_open(north.session.state) if line.startswith("Conflict")]
    assert "DOOR" in conflict
    south.do(laser.give_mark(south.session.state, "DOOR", "3/4", has_moved=False, why="both asked"))
    north.take(south)
    for here in (north, south):
        assert here.session.state.doubts() == []
        assert not any(line.startswith("Conflict") for line in still_open(here.session.state))
        # The laser stood at 50 3/4, and read 53: 2 1/4 in below the zero.
        assert str(here.session.state.found(here.session.state.latest(W1)).height.metres) == "-1143/20000"
    assert north.shown() == south.shown()


def test_a_reading_in_doubt_for_such_a_mark_may_be_trusted(crew: Crews) -> None:
    from gradecheck.actions import instrument

    north, south = two(crew)
    north.do(laser.give_mark(north.session.state, "DOOR", "1/2", has_moved=False, why="resurveyed"))
    south.do(laser.give_mark(south.session.state, "DOOR", "1", has_moved=False, why="office called"))
    for here, other in ((north, south), (south, north)):
        here.take(other)
    north.do(instrument.answer_doubt(north.session.state, "the stone is loose, both are near"))
    south.take(north)
    for here in (north, south):
        assert here.session.state.doubts() == []
        assert any(line.startswith("Conflict") for line in still_open(here.session.state))


def test_a_mark_moved_after_a_setup_puts_only_later_ones_in_doubt(crew: Crews) -> None:
    north, south = two(crew)
    north.do(laser.give_mark(north.session.state, "DOOR", "1/2", has_moved=True, why="kicked"))
    south.do(laser.give_mark(south.session.state, "DOOR", "1", has_moved=True, why="kicked"))
    for here, other in ((north, south), (south, north)):
        here.take(other)
    assert north.session.state.doubts() == []
    north.set_up("DOOR", "50")
    north.read(W2, "54")
    assert [surface.point for surface, _ in north.session.state.doubts()] == ["W2"]


@pytest.mark.parametrize("ahead", [-241, 241])
def test_clocks_that_are_far_apart_are_told_with_whose_they_are(crew: Crews, ahead: int) -> None:
    north, south = two(crew, ahead)
    assert laptop_lines(north.session.state) == []
    south.set_up("STEP", "40")
    north.take(south)
    north.read(W1, "53")
    south.take(north)
    south.read(W1, "45")
    north.take(south)
    if ahead > 0:  # north's entry 5 of 08:33 knew one of 12:32
        says = "Clocks differ: north's was 3 h 59 min behind south's (no. 5, 1 entry). Set the wrong one."
    else:  # south went on at 04:30 from a copy of 08:32, and has not come up to that since
        says = "Clocks differ: south's was 4 h 2 min behind north's (no. 4 to 6, 2 entries). Set the wrong one."
    for here in (north, south):
        assert laptop_lines(here.session.state)[-1] == says
        rows = [log_row(here.session.state, line) for line in here.session.all_lines()]
        off = [row.seq for row in rows if row.behind]
        assert off == ([5] if ahead > 0 else [4, 6])
        assert rows[off[0] - 1].behind in rows[off[0] - 1].subject_line
        assert rows[off[0] - 1].behind in rows[off[0] - 1].note


def test_lasers_are_held_against_each_other_at_the_points_that_both_read(crew: Crews) -> None:
    north, south = two(crew)
    south.set_up("STEP", "40")  # the laser at 42
    south.read(W1, "45-1/16")  # -3 1/16, where north found -3
    south.read(W2, "46-1/8")  # -4 1/8
    north.read(W2, "54")  # -4
    for here, other in ((north, south), (south, north)):
        here.take(other)
    [both] = lasers(north.session.state)
    assert both.laptops == ("north", "south")
    sixteenth = inches(1).metres / 16
    assert [each.apart.metres / sixteenth for each in both.points] == [-1, -2]
    assert both.mean.metres / sixteenth == Fraction(-3, 2)
    assert laptop_lines(north.session.state) == [
        "south reads 3/32 in lower than north on the mean of 2 points both read, each from -1/8 in to -1/16 in; "
        "what was dug in between counts in.",
        "  W2 finish: north ON GRADE, N 08:33; south ON GRADE, S 08:33: 1/8 in apart",
        "  W1 finish: north ON GRADE, N 08:32; south ON GRADE, S 08:32: 1/16 in apart",
    ]
    assert laptop_lines(south.session.state) == laptop_lines(north.session.state)


def test_each_laser_has_its_own_count_of_readings_since_its_last_recheck(crew: Crews) -> None:
    north, south = two(crew)
    north.read(W1, "53")
    south.set_up("STEP", "40")
    south.read(W1, "45")
    south.do(laser.recheck(south.session.state, "STEP", "40"))
    south.read(W2, "46")
    south.read(W2, "46")
    for here, other in ((north, south), (south, north)):
        here.take(other)
    for here in (north, south):
        said = [line for line in still_open(here.session.state) if "since the last recheck" in line]
        assert said == [
            "north: 2 readings since the last recheck; recheck one before packing up.",
            "south: 2 readings since the last recheck; recheck one before packing up.",
        ]
    south.do(laser.moved(south.session.state, "spoil"))
    north.take(south)
    said = [line for line in still_open(north.session.state) if "since the last recheck" in line]
    assert said == ["north: 2 readings since the last recheck; recheck one before packing up."]


def test_both_laptops_write_one_report_with_the_laptop_of_each_reading(crew: Crews) -> None:
    north, south = two(crew)
    north.shoot("TP1", "45")
    south.set_up("STEP", "40")
    south.read(W1, "45-1/16")
    south.read(W2, "46")
    for here, other in ((north, south), (south, north)):
        here.take(other)
    reports = [daily_report(here.session.state, here.session.all_lines(), MORNING.date()) for here in (north, south)]
    assert reports[0] == reports[1]
    [area] = reports[0].areas
    [stage] = area.stages
    assert [(each.point, each.by, each.off.text) for each in stage.readings] == [
        ("W1", "N, north", "0"), ("W1", "S, south", "-1/16"), ("W2", "S, south", "0"),
    ]  # fmt: skip
    assert [each.by for each in reports[0].instrument.set_ups] == ["N, north", "S, south"]
    assert reports[0].people == ("N, north (4 entries)", "S, south (3 entries)")
    assert reports[0].laptops == (
        "south reads 1/16 in lower than north at 1 point both read.",
        "  W1 finish: north ON GRADE, N 08:32; south ON GRADE, S 08:32: 1/16 in apart",
    )


def plan_revised(name: str, number: int | None) -> PlanRevised:
    """A plan that was accepted: the job with a point less, under that name for its digest."""
    return PlanRevised(name, JOB, {}, number)


@pytest.mark.parametrize(
    ("of_north", "of_south", "counts", "conflicts"),
    [
        ((plan_revised("p4", 4),), (plan_revised("p5", 5),), "p5", 0),
        ((plan_revised("p5", 5),), (plan_revised("p4", 4),), "p5", 0),
        ((plan_revised("p5", 5), plan_revised("p4", 4)), (), "p5", 0),
        ((plan_revised("p5", 5),), (plan_revised("p5", 5),), "p5", 0),
        ((plan_revised("site", None),), (plan_revised("p4", 4),), "p4", 1),
        ((plan_revised("later", None),), (plan_revised("first", None),), "first", 1),
        ((plan_revised("same", None),), (plan_revised("same", None),), "same", 0),
    ],
)
def test_of_two_accepted_plans_the_higher_number_counts_whatever_the_time(
    crew: Crews, of_north: tuple[PlanRevised, ...], of_south: tuple[PlanRevised, ...], counts: str, conflicts: int
) -> None:
    north, south = two(crew)
    for here, plans in ((north, of_north), (south, of_south)):
        for plan in plans:
            here.time += timedelta(minutes=1)
            here.session.journal.append([here.session.draft(Action(plan))])
    south.read(W2, "54")
    for here, other in ((north, south), (south, north)):
        here.session.catch_up()
        here.take(other)
    for here in (north, south):
        assert here.session.state.plan_digest == counts
        assert len(here.session.journal.joined.conflicts) == conflicts


def test_another_window_of_the_same_laptop_takes_up_what_this_one_took_in(crew: Crews) -> None:
    north, south = two(crew)
    south.read(W2, "54")
    window = Crew(north.folder, "north", ahead=30)
    north.take(south)
    assert window.session.catch_up()
    assert not window.session.catch_up()
    assert window.shown() == north.shown()
    window.read(W1, "53-1/16")  # and writes on, behind all of them
    assert north.session.catch_up()
    assert window.shown() == north.shown()
    late = Crew(north.folder, "north", ahead=60)
    third = crew("third", of=south)
    third.read(W2, "54-1/16")
    north.take(third)
    late.read(W1, "53-1/8")  # without having looked
    assert north.session.catch_up()
    late.session.catch_up()
    assert late.shown() == north.shown()
    for each in (window, late):
        each.session.close()


def test_the_name_of_a_laptop_that_is_hostile_is_no_more_than_a_name(crew: Crews) -> None:
    north, south = two(crew)
    south.session.laptop = "a\x1b[31m\n[b]"
    south.shoot("TP1", "45")
    north.read(W1, "53")
    north.take(south)
    assert "TP1 of a[31m[b]" in north.session.state.book.marks()


def test_another_laptops_backsight_is_corrected_in_the_setup_it_went_into(crew: Crews) -> None:
    north, south = two(crew)
    north.do(laser.moved(north.session.state, "spoil"))
    [backsight] = laser.backsight(north.session.state, "STEP", "40")
    taken = north.do(backsight)
    south.take(north)
    with pytest.raises(Refusal, match="isn't part of a setup that counts"):  # nor is it in one yet
        south.session.correct(taken, "41")
    made = north.do(laser.finish_setup(north.session.state))
    south.take(north)
    assert south.session.state.setup_with(south.session.entry(taken).seq).id == made
    with pytest.raises(Refusal, match=r"went into the setup, entry .*STEP=READING"):
        south.session.correct(taken, "41")


def test_a_laptop_begun_with_the_plan_alone_stands_on_anothers_marks(crew: Crews) -> None:
    north, south = crew("north"), crew("south")
    north.set_up("DOOR", "50")
    north.shoot("TP1", "40")
    south.take(north)
    south.set_up("TP1 of north", "45")
    south.read(W2, "59")
    north.take(south)
    for here in (north, south):
        assert here.session.state.found(here.session.state.latest(W2)).height == inches(-4)
    assert north.shown() == south.shown()


@pytest.mark.parametrize("seed", range(6))
def test_what_changes_only_its_own_place_ends_as_if_all_were_worked_out(crew: Crews, seed: int) -> None:
    draw, crews = random.Random(seed), two(crew, ahead=draw_ahead(seed))
    anew = 0
    for _ in range(45):
        here, other = draw.sample(crews, 2)
        before = here.session.state
        with contextlib.suppress(Refusal):
            _anything(here, other, draw)
        anew += here.session.state is not before
        if (laptops := here.session.journal.joined) is None:
            continue
        fresh = fold_joined(here.session.loaded.plan, laptops, here.session.journal.spelt)
        assert _known(here.session.state) == _known(fresh)
    assert 0 < anew < 30


def draw_ahead(seed: int) -> int:
    return (0, 60, -90)[seed % 3]


def _anything(here: Crew, other: Crew, draw: random.Random) -> None:
    session, way = here.session, draw.random()
    if way < 0.2:
        here.set_up(draw.choice(session.state.book.marks()), str(draw.randint(40, 50)))
    elif way < 0.4:
        here.read(draw.choice((W1, W2)), str(draw.randint(50, 56)))
    elif way < 0.5:
        here.shoot(f"TP{draw.randint(1, 9)}", str(draw.randint(40, 50)))
    elif way < 0.6:
        here.take(other)
    elif way < 0.65:
        here.do(laser.recheck(session.state, "DOOR", str(draw.randint(48, 51))))
    else:
        entry = draw.choice(session.all_lines()).entry
        if draw.random() < 0.7:
            here.correct(entry.id, str(draw.randint(40, 56)))
        else:
            here.strike(entry.id)


def _known(state: State) -> dict[str, object]:
    """Everything that an entry may change."""
    shots = [(surface, shot) for surface, each in state.shots.items() for shot in each]
    return {
        "shots": sorted(
            (surface, shot, str(state.found(shot, surface)), state.in_doubt(shot)) for surface, shot in shots
        ),
        "marks": {name: (str(state.mark(name)), state.doubt.mark_in_doubt(name)) for name in state.book.marks()},
        "setups": {name: str(each.instrument) for name, each in state.setups.items()},
        "lasers": state.lasers,
        "newest": state.newest_setup and state.newest_setup.id,
        "stands": state.setup and state.setup.id,
        "conflicts": state.conflicting,
        "disputed": state.disputed,
        "checked": state.checked("walk", "finish"),
        "doubts": state.doubts(),
    }
