"""Two crews on one job, each with a laptop, a folder and a laser of its own."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from gradecheck.actions import Action, readings
from gradecheck.actions import instrument as laser
from gradecheck.journal.recovery.others import rows_of
from gradecheck.journal.store import JOURNAL_NAME
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
        others = rows_of(other.folder / JOURNAL_NAME, self.folder / JOURNAL_NAME)
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
            shutil.copyfile(of.folder / JOURNAL_NAME, folder / JOURNAL_NAME)
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
