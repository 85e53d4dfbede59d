"""One day on an invented site, recorded through the session: what the daily report's tests tell of."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from itertools import count
from pathlib import Path

from gradecheck import actions
from gradecheck.actions import Action
from gradecheck.journal.facts import Rehearsed
from gradecheck.report.daily_report import DailyReport, daily_report
from gradecheck.session.session import Session
from gradecheck.state.signing import questions
from gradecheck.state.state import Surface
from tests.first_things import CAUTIONS

DAY = date(2026, 5, 12)
JOB = """\
job: Quillmere Court
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
instrument: {beam: 10 arcsec, receiver: 1/32 in, longest shot: 60 ft}
benchmarks:
  DOOR: {elevation: 0, what: threshold of the hall, at: [0 ft, 0 ft]}
  PIN: {elevation: -4 3/8, what: brass pin by the gate, at: [20 ft, 0 ft]}
build-ups:
  yard: [{paver: 2 3/8 in}, {base: 6 in}]
tolerances: {subgrade: 1/2 in, base: 3/8 in, finish: 1/8 in}
areas:
  yard:
    what: between hall and gate
    build-up: yard
    points:
      Y1: {elevation: -1, at: [0 ft, 0 ft], what: by the hall}
      Y2: {elevation: -1, at: [10 ft, 0 ft], what: by the pump}
      Y3: {elevation: -3 1/2, at: [0 ft, 10 ft], what: by the gate}
      Y4: {elevation: -3 1/2, at: [10 ft, 10 ft]}
  path:
    points:
      P1: {elevation: -2}
layout:
  yard: {sides: [10 ft, 10 ft]}
"""


class Site:
    """A session whose clock goes a minute ahead with each entry, and which names its entries by number."""

    def __init__(self, folder: Path, text: str = JOB) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "job.yaml").write_text(text, encoding="utf-8")
        self.kept: DailyReport | None = None
        self.minutes = count()
        self.start = datetime(2026, 5, 12, 7, 30, tzinfo=timezone(timedelta(hours=-5)))
        numbers = count(1)
        self.session = Session(folder, by="RK", laptop="bench", clock=self.now, ids=lambda: f"id{next(numbers):05d}")

    def now(self) -> datetime:
        """A minute later than the last time."""
        return self.start + timedelta(minutes=next(self.minutes))

    def read(self, point: str, rod: str, stage: str = "base", area: str = "yard") -> str:
        """The rod at a point; gives the entry's id."""
        surface = Surface(area, point, stage)
        looks = self.session.question(surface, rod)
        asked = looks.says if looks is not None else ""
        return self.session.record(actions.reading(self.session.state, surface, rod, asked)).id

    def report(self, day: date = DAY) -> DailyReport:
        """The report of that day."""
        return daily_report(self.session.state, self.session.all_lines(), day)


def a_day(folder: Path, *, rehearsed: bool = False) -> Site:
    """Two setups, readings good and bad, a strike, a correction, a recheck, tapes, a change, a sign-off."""
    site = Site(folder)
    session = site.session
    if rehearsed:
        session.record(Action(Rehearsed(41)))
    session.record(actions.cautions(CAUTIONS))
    session.record(actions.describe_day("dry, 12 C", "Rosalind, Mateo"))
    session.record(actions.set_up_on(session.state, [("DOOR", "50"), ("PIN", "54-3/8")]))  # the plane lies at 50
    site.read("Y1", "53-3/8")  # base wanted at -3 3/8: found there
    site.read("Y2", "52-7/8")  # 1/2 high
    wrong = site.read("Y3", "56-3/8")  # 1/2 low, and keyed wrong
    struck = site.read("Y4", "55-7/8")
    session.record(session.strike(struck, "rod on a stone"))
    session.record(session.correct(wrong, "55-15/16"))  # 1/16 low
    for point, rod in (("Y1", "59-3/8"), ("Y2", "59-7/8"), ("Y3", "61-7/8"), ("Y4", "61-3/4")):
        site.read(point, rod, "subgrade")  # Y2 half an inch over-dug
    session.record(actions.recheck(session.state, "PIN", "54-7/16"))
    session.identify("MT")
    session.record(actions.mark(session.state, "TP1", "48-1/4", "nail in the curb"))
    session.record(actions.moved(session.state, "spoil in the way"))
    session.record(actions.set_up(session.state, "TP1", "40-1/4"))
    site.read("P1", "44", "finish", "path")
    for start, end, tape in (("A", "B", "120"), ("B", "C", "120"), ("C", "D", "120"), ("D", "A", "120"),
                             ("A", "C", "169-3/4"), ("B", "D", "169-11/16")):  # fmt: skip
        session.record(actions.tape(session.state, "yard", start, end, tape))
    session.record(actions.gauge(session.state, "lippage", "yard", "by Y3", "3/16"))
    session.record(actions.change_tolerance(session.state, "path", "finish", "1/4", "the owner agrees"))
    session.record(actions.add_point(session.state, "yard", "Y5", "-3 1/2", "by the new drain"))
    asked = questions(session.state, "yard", "base")
    session.record(actions.sign_off(session.state, "yard", "base", ["Y2", "Y4", "Y5"], "owner saw Y2", asked=asked))
    session.record(actions.note("gate left open", "yard"))
    return site
