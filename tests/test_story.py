"""One day on site, from the job file to the evening's log; the figures can be followed with a pencil.

The crew digs a front walk. All grades are datum the threshold of the door, which is zero, and the office has
written them down. On site the laser stands wherever it stands: the rod on the threshold shows an awkward figure.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.report.log import log_row
from gradecheck.report.rows import answer, point_row
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.first_things import CAUTIONS

JOB = """\
job: Mallow Lane, front walk
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
benchmarks:
  DOOR: {elevation: 0, what: threshold of the front door}
build-ups:
  walk: [{paver: 2 3/8 in}, {bedding: 1 in}, {base: 6 in}]
tolerances:
  subgrade: {high: 1/2 in, low: 3/8 in}
  base: 3/8 in
  bedding: 1/4 in
  finish: 1/8 in
areas:
  walk:
    build-up: walk
    points:
      P1: {from: DOOR, fall: 1/4 in/ft, over: 4 ft, what: landing}
      P2: {from: P1, fall: 1/4 in/ft, over: 8 ft, what: head of the step}
      P3: {from: P2, down: 1, riser: 6 in, what: foot of the step}
"""

DAY = datetime(2031, 5, 13, tzinfo=timezone(timedelta(hours=-6)))


class Site:
    """The foreman, his laptop, and a clock that is set by hand."""

    def __init__(self, folder: Path) -> None:
        (folder / "job.yaml").write_text(JOB, encoding="utf-8")
        self.time = DAY
        self.session = Session(folder, laptop="truck", clock=lambda: self.time)

    def at(self, clock: str) -> None:
        """It is now that time."""
        hour, minute = clock.split(":")
        self.time = DAY.replace(hour=int(hour), minute=int(minute))

    def reads(self, point: str, stage: str, rod: str) -> str:
        """The rod is read at a point and keyed in; what the machine's seat is told."""
        surface = Surface("walk", point, stage)
        self.session.record(actions.reading(self.session.state, surface, rod))
        return self.now(point, stage)

    def now(self, point: str, stage: str) -> str:
        """What the machine's seat is told about a point as things are known now."""
        verdict = answer(self.session.state, Surface("walk", point, stage))
        return verdict.headline if verdict else "nothing"

    def grade_rod(self, point: str, stage: str) -> str:
        """What the rod should read there."""
        return point_row(self.session.state, Surface("walk", point, stage)).rod

    def next_point(self, stage: str, after: int) -> str | None:
        """The next point along the walk that was not read yet."""
        points = self.session.plan.areas["walk"].points
        place = self.session.state.next_unchecked("walk", stage, after)
        return None if place is None else points[place].name


def test_a_day_on_mallow_lane(tmp_path: Path) -> None:
    site = Site(tmp_path)
    session = site.session

    # The office wrote three points. The landing falls 4 ft × 1/4 in/ft from the door, that is to −1; the head of
    # the step lies 8 ft × 1/4 in/ft lower, at −3; its foot one riser of 6 below that, at −9. The dig goes
    # 2 3/8 + 1 + 6 = 9 3/8 under each.
    rows = [point_row(session.state, Surface("walk", point, "subgrade")) for point in ("P1", "P2", "P3")]
    assert [row.wanted for row in rows] == ["-10 3/8", "-12 3/8", "-18 3/8"]
    assert [row.rod for row in rows] == ["", "", ""]

    # Before anything else the cautions are read, and signed.
    site.at("6:55")
    with pytest.raises(Refusal, match="initials"):
        session.draft(actions.cautions(CAUTIONS))
    session.identify("mt")
    session.record(actions.cautions(CAUTIONS))

    # Without a setup a reading means nothing, and is not taken.
    with pytest.raises(Refusal, match="set up on a mark first"):
        site.reads("P1", "subgrade", "59-3/16")

    # The rod on the threshold shows 48 13/16, but 48 3/16 is keyed in.
    site.at("7:10")
    stood = session.record(actions.set_up(session.state, "door", "48-3/16"))
    # 48 3/16 + 10 3/8
    assert site.grade_rod("P1", "subgrade") == "58 9/16"

    # The landing is dug. 48 3/16 − 59 3/16 = −11, and that would be 5/8 too deep.
    site.at("7:40")
    assert site.reads("P1", "subgrade", "59-3/16") == "FILL 5/8"

    # Nobody on the crew believes it. The rod on the threshold is read once more and the setup put right: the plane
    # comes up by 5/8, and the landing with it.
    site.at("7:44")
    session.record(session.correct(stood.id, "48-13/16"))
    assert site.now("P1", "subgrade") == "ON GRADE"
    assert site.grade_rod("P1", "subgrade") == "59 3/16"

    # The head of the step: 48 13/16 − 60 7/16 = −11 5/8, which is 3/4 high. The machine takes some more.
    assert site.next_point("subgrade", after=0) == "P2"
    site.at("8:05")
    assert site.reads("P2", "subgrade", "60 7/16") == "CUT 3/4"
    site.at("8:12")
    # −12 3/16 is 3/16 high, and 1/2 is allowed.
    assert site.reads("P2", "subgrade", "61") == "ON GRADE"

    # The foot of the step looks right at once, until someone sees that the rod stood on a clod. It is struck.
    assert site.next_point("subgrade", after=1) == "P3"
    site.at("8:30")
    assert site.reads("P3", "subgrade", "66-13/16") == "ON GRADE"
    assert site.next_point("subgrade", after=2) is None
    site.at("8:31")
    last = session.last_reading()
    assert last is not None
    session.record(session.strike(last.id, "rod stood on a clod"))
    assert site.now("P3", "subgrade") == "nothing"
    assert site.next_point("subgrade", after=2) == "P3"

    # On the ground itself: 48 13/16 − 67 11/16 = −18 7/8, too deep by 1/2 where 3/8 is allowed. Over-dug: the most
    # expensive word of the day. Stone goes back in, and is read again.
    site.at("8:34")
    assert site.reads("P3", "subgrade", "67-11/16") == "FILL 1/2"
    site.at("9:02")
    assert site.reads("P3", "subgrade", "67 3/16") == "ON GRADE"
    assert session.state.checked("walk", "subgrade") == 3

    # After lunch the base. It ends 2 3/8 + 1 under the finish, so at −4 3/8 on the landing; 3/8 either way is
    # allowed. −4 is 3/8 high, and exactly at the tolerance is on grade. One mark more is not.
    site.at("13:20")
    assert site.grade_rod("P1", "base") == "53 3/16"
    assert site.reads("P1", "base", "52 3/4") == "CUT 7/16"
    site.at("13:31")
    assert site.reads("P1", "base", "52 13/16") == "ON GRADE"
    site.at("13:35")
    session.record(actions.note("rain, base stopped", "walk"))
    session.close()

    # In the evening the job is opened again, and the log tells the day: what was keyed, when, what it meant then
    # and what it means now. Nothing that was wrong has gone, and everything is as it was written.
    evening = Session(tmp_path)
    told = [log_row(evening.state, line) for line in evening.lines("walk")]
    assert [
        (row.time, row.kind, row.subject, row.typed, row.then, row.now) for row in told if row.kind != "plan"
    ] == [
        ("06:55", "cautions", "16 cautions read", "", "", ""),
        ("07:10", "set-up", "on DOOR, site rod", "door=48-3/16", "", ""),
        ("07:40", "reading", "P1 subgrade", "59-3/16", "FILL 5/8", "ON GRADE"),
        ("07:44", "set-up", "on DOOR, site rod", "48-13/16", "", ""),
        ("08:05", "reading", "P2 subgrade", "60 7/16", "CUT 3/4", "CUT 3/4"),
        ("08:12", "reading", "P2 subgrade", "61", "ON GRADE", "ON GRADE"),
        ("08:30", "reading", "P3 subgrade", "66-13/16", "ON GRADE", ""),
        ("08:31", "void", "strikes: rod stood on a clod", "", "", ""),
        ("08:34", "reading", "P3 subgrade", "67-11/16", "FILL 1/2", "FILL 1/2"),
        ("09:02", "reading", "P3 subgrade", "67 3/16", "ON GRADE", "ON GRADE"),
        ("13:20", "reading", "P1 base", "52 3/4", "CUT 7/16", "CUT 7/16"),
        ("13:31", "reading", "P1 base", "52 13/16", "ON GRADE", "ON GRADE"),
        ("13:35", "note", "rain, base stopped", "", "", ""),
    ]
    assert [row.time for row in told if row.struck] == ["07:10", "08:30"]
    assert {row.by for row in told} == {"MT"}
    assert {row.day for row in told} == {"2031-05-13"}
    soundness = evening.journal.verify()
    assert (soundness.entries, soundness.fault) == (14, None)
    evening.close()
