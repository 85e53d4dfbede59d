"""Two laptops on one job, each with its own laser: joined in either order they know the same."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from gradecheck.actions import Action, readings
from gradecheck.actions import instrument as laser
from gradecheck.journal.recovery.others import rows_of
from gradecheck.journal.store import FILE_NAME
from gradecheck.report.review import still_open
from gradecheck.session.session import Session
from gradecheck.state.state import Surface

JOB = """\
job: Wickering Yard
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
benchmarks:
  DOOR: {elevation: 0}
  STEP: {elevation: 2}
tolerances: {finish: 1/8 in}
areas:
  walk:
    points:
      W1: {elevation: -3}
      W2: {elevation: -4}
"""


W1, W2 = Surface("walk", "W1", "finish"), Surface("walk", "W2", "finish")
MORNING = datetime(2031, 4, 7, 8, 30, tzinfo=UTC)


class Crew:
    """A laptop with its folder and its laser; its clock goes on a minute with each entry."""

    def __init__(self, folder: Path, laptop: str, ahead: int = 0) -> None:
        self.folder, self.laptop = folder, laptop
        self.time = MORNING + timedelta(minutes=ahead)
        self.session = Session(folder, by=laptop[:1].upper(), laptop=laptop, clock=lambda: self.time)

    def do(self, action: Action) -> str:
        """Records the action; returns the id of its entry."""
        self.time += timedelta(minutes=1)
        return self.session.record(action).id

    def set_up(self, mark: str, typed: str) -> str:
        """Sets up on one mark."""
        return self.do(laser.set_up(self.session.state, mark, typed))

    def read(self, surface: Surface, typed: str) -> str:
        """Reads a point."""
        return self.do(readings.reading(self.session.state, surface, typed))

    def shoot(self, name: str, typed: str) -> str:
        """Makes a turning point."""
        return self.do(laser.mark(self.session.state, name, typed))

    def correct(self, entry_id: str, typed: str) -> str:
        """Corrects an entry, whoever made it."""
        return self.do(self.session.correct(entry_id, typed))

    def strike(self, entry_id: str) -> str:
        """Strikes an entry, whoever made it."""
        return self.do(self.session.strike(entry_id, "not so"))

    def take(self, other: Crew) -> int:
        """Takes in what the other one has."""
        others = rows_of(other.folder / FILE_NAME, self.folder / FILE_NAME)
        assert others.not_sound == ()
        return self.session.take_in(others.rows)

    def shown(self) -> dict[str, object]:
        """All that the job's readings and marks come to, in words."""
        state = self.session.state
        return {
            "found": {
                f"{surface.point} {shot.id}": (
                    str(state.found(shot, surface)), state.in_doubt(shot), str(state.judge(shot, surface))
                )
                for surface, shots in state.shots.items()
                for shot in shots
            },
            "latest": {surface.point: shots[-1].id for surface, shots in state.shots.items()},
            "marks": {name: str(state.mark(name)) for name in sorted(state.book.marks())},
            "plan": state.plan_digest,
            "points": [(point.name, str(point.finish)) for point in state.plan.areas["walk"].points],
            "log": [(line.entry.id, line.replaced_by) for line in self.session.all_lines()],
        }  # fmt: skip


Crews = Callable[..., Crew]


@pytest.fixture
def crew(tmp_path: Path) -> Iterator[Crews]:
    """Makes a crew with a folder of its own; with `of`, that is a copy of the other one's as it is then."""
    made: list[Crew] = []

    def make(laptop: str, of: Crew | None = None, ahead: int = 0) -> Crew:
        folder = tmp_path / f"{laptop} {len(made)}"
        folder.mkdir()
        (folder / "job.yaml").write_text(JOB, encoding="utf-8")
        if of is not None:
            shutil.copyfile(of.folder / FILE_NAME, folder / FILE_NAME)
        made.append(Crew(folder, laptop, ahead))
        return made[-1]

    yield make
    for each in made:
        each.session.close()


def two(crew: Crews, ahead: int = 0) -> tuple[Crew, Crew]:
    """Two crews that went on from one copy: a setup on DOOR at 50 and W1 read 53, which is on grade."""
    north = crew("north")
    north.set_up("DOOR", "50")
    north.read(W1, "53")
    return north, crew("south", of=north, ahead=ahead)


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


def test_an_entry_says_what_its_laptop_knew_and_the_own_chain_still_verifies(crew: Crews) -> None:
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


def test_a_turning_point_of_another_is_used_by_its_whole_name_and_two_called_alike_stay_two(crew: Crews) -> None:
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


def test_a_correction_or_strike_counts_everywhere_and_an_answer_is_never_undone(crew: Crews) -> None:
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


def test_a_recheck_that_fails_puts_in_doubt_what_was_read_on_its_own_chain_alone(crew: Crews) -> None:
    north, south = two(crew)
    south.read(W2, "54")
    north.do(laser.recheck(north.session.state, "DOOR", "49"))
    for here, other in ((north, south), (south, north)):
        here.take(other)
    assert {surface.point for surface, _ in north.session.state.doubts()} == {"W1"}
    assert north.shown() == south.shown()
    assert north.session.state.setup is None
    assert south.session.state.setup is not None


def test_targets_changed_apart_are_a_conflict_until_someone_who_knew_both_changes_it_again(crew: Crews) -> None:
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


def test_a_sign_off_that_did_not_know_a_reading_of_another_laptop_shows_open(crew: Crews) -> None:
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
    assert any(
        "finish signed by N without 1 reading of another laptop" in line for line in still_open(north.session.state)
    )
    signed(north)
    assert not has_changed(north.session.state, north.session.state.record.signed("walk", "finish"))


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
