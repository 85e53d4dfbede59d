"""A job with one long area, ready to be read: cautions signed, instrument stood, and each rod known beforehand."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

import pyte

from gradecheck import actions
from gradecheck.journal.facts import Reading
from gradecheck.session.clock_watch import now
from gradecheck.session.session import Session
from tests.first_things import CAUTIONS

PROMPT = "the rod should read"
AREA = "long border"
BACKSIGHT = "50"
"""What the rod reads on the sill; the rods of the points are known for this one."""
YARD = """\
units: in
rods: {site rod: {kind: standard, graduation: 1/16 in}}
benchmarks:
  DOOR: {elevation: 0, what: threshold of the hall}
  CURB: {elevation: -12, what: cross on the curb}
tolerances: {finish: 1/8 in}
rechecks: {readings: 999, minutes: 999}
areas:
  yard:
    points:
      C1: {elevation: -1}
      C2: {elevation: -1 1/2}
      C3: {elevation: -2}
      C4: {elevation: -2 1/2}
      C5: {elevation: -3}
      C6: {elevation: -3 1/2}
      C7: {elevation: -4}
"""
"""Seven points between two benchmarks, where no recheck is asked for; a job's name goes before it."""
_FALL_PER_POINT = Fraction(1, 2)
# Sixteenths of an inch by which the ground lies lower than wanted, over and over along the border: so little that no
# figure is asked about. The points lie half an inch apart, so that no two rods read the same.
_LOWER = (0, 1, -1, 1, 0, -1, 0)


@dataclass(frozen=True)
class Site:
    """Where the job lies, its points in walking order, and the rod at each of them as it will be keyed."""

    folder: Path
    points: tuple[str, ...]
    rods: tuple[str, ...]

    def typing(self, first: int = 0, last: int | None = None) -> bytes:
        """Those readings, each with its Enter."""
        return "".join(f"{rod}\r" for rod in self.rods[first:last]).encode()

    def recorded(self) -> list[tuple[str, str]]:
        """The point and the text as typed of every reading in the journal, in order; the journal must be sound."""
        session = Session(self.folder)
        try:
            soundness = session.journal.verify()
            assert soundness.fault is None, soundness.fault
            return [
                (entry.fact.point, entry.typed)
                for entry in session.journal.entries()
                if isinstance(entry.fact, Reading)
            ]
        finally:
            session.close()

    def expected(self, count: int) -> list[tuple[str, str]]:
        """What the journal holds after the first so many readings."""
        return list(zip(self.points[:count], self.rods[:count], strict=True))


def long_border(folder: Path, count: int = 200) -> Site:
    """A job of that many points in the folder, nothing recorded in it yet."""
    points = [f"P{number:03}" for number in range(1, count + 1)]
    lines = [
        "job: Tillworth Row, long border",
        "units: in",
        "rods: {site rod: {kind: standard, graduation: 1/16 in}}",
        "benchmarks: {SILL: {elevation: 0, what: sill of the garden room}}",
        "tolerances: {finish: 1/8 in}",
        "rechecks: {readings: 999, minutes: 999}",  # nobody is reminded in the middle of a burst
        "areas:",
        f"  {AREA}:",
        "    points:",
    ]
    rods = []
    for index, name in enumerate(points):
        fall = index * _FALL_PER_POINT
        lines.append(f"      {name}: {{elevation: -{typed_size(fall)}, what: stake {index + 1}}}")
        rods.append(typed_size(int(BACKSIGHT) + fall + Fraction(_LOWER[index % len(_LOWER)], 16)))
    assert len(set(rods)) == count
    folder.mkdir(parents=True)
    (folder / "job.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return Site(folder, tuple(points), tuple(rods))


def make_ready(folder: Path, mark: str = "SILL", backsight: str = BACKSIGHT) -> None:
    """Signs the cautions and stands the instrument, so that the program opens straight on its Check screen."""
    ahead = timedelta()
    session = Session(folder, by="RK", clock=lambda: now() + ahead)
    try:
        session.record(actions.cautions(CAUTIONS))
        session.record(actions.set_up(session.state, mark, backsight))
        # Signed for tomorrow as well: nothing here shall depend on midnight not coming.
        ahead = timedelta(days=1)
        session.record(actions.cautions(CAUTIONS))
    finally:
        session.close()


def ready_border(folder: Path, count: int = 200) -> Site:
    """A job of that many points whose first reading may come."""
    site = long_border(folder, count)
    make_ready(folder)
    return site


# The answer line, and the rows of the table that have a verdict.
_ANSWERED = re.compile(r"^(?:[█━][▀━]?)? {1,2}(P\d{3,})  finish .*saved \d\d:\d\d\b")
_JUDGED = re.compile(r"^[> ] (P\d{3,}) .* (?:CUT|FILL|on grade)\b")


def saved_points(screen: pyte.Screen) -> set[str]:
    """The points whose reading the screen calls saved: by the answer line, or by a verdict in the table."""
    found = (_ANSWERED.match(line) or _JUDGED.match(line) for line in screen.display)
    return {line[1] for line in found if line}


def saved(point: str) -> Callable[[pyte.Screen], bool]:
    """For `wait_for`: whether the answer line calls the reading at that point saved."""

    def seen(screen: pyte.Screen) -> bool:
        return any((line := _ANSWERED.match(each)) and line[1] == point for each in screen.display)

    return seen


def typed_size(size: Fraction) -> str:
    """The size as it is keyed on a keypad: 51-1/16."""
    whole, part = divmod(size, 1)
    if not part:
        return str(whole)
    return f"{whole}-{part}" if whole else str(part)
