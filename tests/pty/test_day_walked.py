"""A foreman's day in a terminal of 80 by 24, from the first reading to the last name: one story, told by its screens.

Each step is named after what it shows, and goes on where the one before it ended. The beam stands 50 in over the
threshold and, once the laser was moved, 40 in: so the rod should read 50 (or 40) less the target.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pyte
import pytest

from gradecheck import actions
from gradecheck.session.session import Session
from tests.first_things import CAUTIONS
from tests.pty.terminal import Terminal, environment, gradecheck_command

JOB = """\
job: Sallow Court, dig
units: in
rods: {site rod: {kind: standard, graduation: 1/16 in}}
benchmarks:
  DOOR: {elevation: 0, what: threshold of the hall, at: [0 ft, 0 ft]}
  CURB: {elevation: -12, what: cross on the curb, at: [40 ft, 0 ft]}
  PIN: {elevation: -6, what: pin in the wall, at: [0 ft, 30 ft]}
build-ups: {paved: [{paver: 2 in}, {bedding: 1 in}, {base: 7 in}]}
tolerances: {subgrade: 1/2 in, base: 3/8 in, bedding: 1/4 in, finish: 1/8 in}
rechecks: {readings: 999, minutes: 999}
areas:
  yard:
    build-up: paved
    points:
      T1: {elevation: -1, at: [0 ft, 10 ft], what: gate left}
      T2: {elevation: -1 1/2, at: [10 ft, 10 ft], what: gate right}
      T3: {elevation: -2, at: [20 ft, 10 ft], what: middle}
      T4: {elevation: -2 1/2, at: [30 ft, 10 ft], what: drain}
      T5: {elevation: -3, at: [40 ft, 10 ft], what: hedge}
  lane:
    build-up: paved
    points:
      L1: {elevation: -3, at: [40 ft, 20 ft], what: lane near}
      L2: {elevation: -4, at: [40 ft, 30 ft], what: lane far}
"""

AREA, STAGE, SET_UP, RECHECK = "\x1bOQ", "\x1bOR", "\x1bOS", "\x1b[15~"
LOG, STRIKE, DAY, LEAVE = "\x1b[17~", "\x1b[19~", "\x1b[20~", "\x1b[24~"
FIND, GO_ON, PERSON, LEFT, UNDO, ESCAPE, ENTER = "\x06", "\x07", "\x0b", "\x0c", "\x1a", "\x1b", "\r"

ON_GRADE, CUT, FILL, NOT_SAVED = "━━ ", "  ", "█▀ ", "▚▚ "
"""What the upper edge of the panel begins with."""
SLIP_LARGE = "██████  ██      ██  ██████  ██████"
NOT_SAVED_LARGE = "██    ██  ██████  ██████        ██████  ██████  ██  ██  ██████  ████"
DISAGREE_LARGE = "██  █ ███ ███ ████ ██  ███ ███"
"""The uppermost row of the large letters, as they were looked at."""


class Walk:
    """The terminal, and the job's folder; every key waits for what it shows, and for what it must not show."""

    def __init__(self, terminal: Terminal, folder: Path, zone: str) -> None:
        self.terminal, self.folder, self.zone = terminal, folder, zone

    def keys(self, keys: str, *shows: str, never: tuple[str, ...] = ()) -> None:
        """Types that and waits until each of the texts is on the screen; then none of the others may be."""
        self.terminal.settle(0.1)
        self.terminal.send(keys.encode())

        def each_text(screen: pyte.Screen) -> bool:
            return all(" ".join(text.split()) in _flowing(screen) for text in shows)

        self.terminal.wait_for(each_text)
        self.terminal.settle(0.1)
        found = [text for text in never if text in _flowing(self.terminal.screen)]
        assert not found, f"{found} on the screen:\n{self.terminal.text()}"

    def panel(self, keys: str, edge: str, about: str, *shows: str) -> None:
        """Types that; the upper edge of the panel has the shape of the answer, and tells what that is about."""
        self.keys(keys, about, *shows)
        line = self.terminal.screen.display[1]
        assert line.startswith(edge), self.terminal.text()
        assert about in " ".join(line.split()), self.terminal.text()

    def command(self, *arguments: str) -> str:
        """What a command answers, at the place and hour of this site."""
        ran = subprocess.run(
            gradecheck_command(*arguments), env=environment({"TZ": self.zone}), capture_output=True, text=True,
            check=True,
        )  # fmt: skip
        return " ".join(ran.stdout.split())

    def typed(self) -> list[str]:
        """Every text in the journal, which must be sound."""
        session = Session(self.folder)
        try:
            assert session.journal.verify().fault is None
            return [entry.typed for entry in session.journal.entries() if entry.typed]
        finally:
            session.close()


def _flowing(screen: pyte.Screen) -> str:
    return " ".join(" ".join(screen.display).split())


@contextmanager
def opened(folder: Path) -> Iterator[Walk]:
    """The job as it was left at seven: cautions signed by RK, the laser set up on two marks, nothing read."""
    folder.mkdir()
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    # Wherever and whenever this runs, on site it is about ten in the morning: no midnight comes between.
    ahead = datetime.now(UTC).hour - 10
    zone = timezone(timedelta(hours=-ahead))
    at_seven = Session(folder, by="RK", clock=lambda: (datetime.now(UTC) - timedelta(hours=3)).astimezone(zone))
    at_seven.record(actions.cautions(CAUTIONS))
    for mark, rod in (("DOOR", "50"), ("CURB", "62")):
        at_seven.record(*actions.backsight(at_seven.state, mark, rod))
    at_seven.record(actions.finish_setup(at_seven.state))
    at_seven.close()
    with Terminal(gradecheck_command("open", str(folder)), changes={"TZ": f"SITE{ahead:+d}"}) as terminal:
        terminal.wait_for("T1 (gate left): the rod should read 61")
        yield Walk(terminal, folder, f"SITE{ahead:+d}")


@pytest.mark.thorough
def test_a_day_walked_in_a_terminal(tmp_path: Path) -> None:
    with opened(tmp_path / "sallow-court") as walk:
        a_point_stays_until_it_is_on_grade(walk)
        the_verdict_comes_first_and_the_hint_beside_it(walk)
        what_is_asked_or_refused_stands_in_the_panel_and_no_verdict(walk)
        a_refused_figure_is_replaced_and_half_a_figure_gone_on_with(walk)
        nothing_typed_across_a_change_of_screen_is_lost_in_silence(walk)
        a_slip_on_setup_gives_the_setup_back_and_asks_for_a_recheck(walk)
        a_recheck_an_inch_off_counts_and_is_struck_where_it_was_made(walk)
        a_reading_and_a_strike_are_undone(walk)
        marks_that_disagree_fill_the_panel_until_a_third_tells(walk)
        what_is_left_is_one_key_and_a_work_order(walk)
        points_areas_and_entries_are_found_as_they_are_typed(walk)
        a_spot_on_a_string_has_its_target_and_verdict(walk)
        signs_alone_do_the_rest_and_signed_figures_stay_readings(walk)
        an_offset_is_counted_until_it_is_taken_off(walk)
        readings_from_paper_come_in_late_under_the_setup_of_then(walk)
        another_person_reads_the_cautions_first(walk)


def a_point_stays_until_it_is_on_grade(walk: Walk) -> None:
    """Read, cut, scrape, read the same spot again; Enter alone goes on without."""
    walk.panel("59\r", CUT, "T1 subgrade gate left", "T1 (gate left): the rod should read 61", "59 + CUT 2")
    walk.panel("60\r", CUT, "T1 subgrade gate left", "was CUT 2, now CUT 1", "last read 60")
    walk.panel("61\r", ON_GRADE, "T1 subgrade gate left", "was CUT 1, now ON GRADE", "T2 (gate right): the rod")
    # T1's verdict is kept with its name until the next key; with it T2's own stands there, which has none yet.
    walk.keys("6", "No reading at T2 yet", "T2 reads 6", never=("T1 subgrade",))
    walk.panel("0\r", CUT, "T2 subgrade gate right", "60 + CUT 1 1/2")
    walk.keys(ENTER, "T3 (middle): the rod should read 62", "No reading at T3 yet")
    walk.keys(GO_ON, "yard subgrade GO ON")
    walk.keys(GO_ON, "yard subgrade", never=("GO ON",))
    walk.keys("t2\r", "T2 (gate right): the rod should read 61 1/2", "read 60 in")
    walk.panel("61-1/2\r", ON_GRADE, "T2 subgrade gate right", "T3 (middle): the rod should read 62")
    assert walk.typed()[-5:] == ["59", "60", "61", "60", "61-1/2"]


def the_verdict_comes_first_and_the_hint_beside_it(walk: Walk) -> None:
    """A likely slip is saved and said; the figure that would have passed is not."""
    slip = "1 in more than its neighbors: slip? * strikes it"
    walk.panel("63\r", FILL, "T3 subgrade middle", slip, "63 − FILL 1")
    assert walk.typed()[-1] == "63"


def what_is_asked_or_refused_stands_in_the_panel_and_no_verdict(walk: Walk) -> None:
    """A foot off is asked about, a fraction that is none is refused; T3's FILL 1 is not shown meanwhile."""
    walk.panel("50\r", NOT_SAVED, "T3 subgrade", SLIP_LARGE, "50 is a foot or more from its neighbors: slip?")
    walk.panel(ESCAPE, FILL, "T3 subgrade middle", "“50” was not entered.")
    walk.panel("62-5/3\r", NOT_SAVED, "T3 subgrade", NOT_SAVED_LARGE)
    assert walk.typed()[-1] == "63"


def a_refused_figure_is_replaced_and_half_a_figure_gone_on_with(walk: Walk) -> None:
    """The next digit begins anew; behind a stroke it goes on. Escape and a digit sent together are both keys."""
    walk.keys("61-13", "T3 reads 61-13", "“62-5/3” was not entered.")
    walk.keys("/\r", "T3 reads 61-13/", NOT_SAVED_LARGE)
    walk.keys("16", "T3 reads 61-13/16")
    walk.panel(f"{ESCAPE}62\r", ON_GRADE, "T3 subgrade middle", "was FILL 1, now ON GRADE", "T4 (drain)")
    assert walk.typed()[-1] == "62"


def nothing_typed_across_a_change_of_screen_is_lost_in_silence(walk: Walk) -> None:
    """What is typed behind the key to another screen, up to Enter, stands in the box there; what follows is named."""
    walk.keys(f"{RECHECK}50\r61\r7", "recheck a mark", "50", "Ignored, typed before this screen was up: “61”, “7”.")
    assert "50" in walk.terminal.screen.display[-2]
    walk.keys("\x15", "what the rod reads")
    walk.keys(ESCAPE, "T4 (drain): the rod should read 62 1/2")
    assert walk.typed()[-1] == "62"


def a_slip_on_setup_gives_the_setup_back_and_asks_for_a_recheck(walk: Walk) -> None:
    """A figure in the wrong screen is a backsight, saved as taken; only “no” brings the old setup back."""
    walk.keys(SET_UP, "SETTING UP", "It is replaced by the first backsight entered here.")
    walk.keys("62-1/2\r", "NOT FINISHED", "Setup isn't finished; no readings until it is.")
    assert walk.typed()[-1] == "DOOR=62-1/2"
    walk.keys(ESCAPE, "Was the laser moved?")
    walk.keys("no\r", "T4 (drain): The previous setup is back; recheck a mark first (F5).")
    walk.panel("62\r", NOT_SAVED, "T4 subgrade", "recheck a mark first (F5)")
    walk.keys(ESCAPE, "“62” was not entered.")


def a_recheck_an_inch_off_counts_and_is_struck_where_it_was_made(walk: Walk) -> None:
    """The rod stood on CURB: the doubt comes at once, and goes with the strike."""
    walk.keys(RECHECK, "DOOR: what does the rod read there now?")
    walk.keys("62\r", "DOOR is OFF BY −12 in", "readings in doubt", "Or was that CURB? F8 strikes it.")
    walk.keys(STRIKE, "Struck: DOOR=62.", "since the last recheck", never=("in doubt",))
    walk.keys("50\r", "DOOR is off by 0 in (allowed 1/8 in): setup OK.")
    walk.keys(ESCAPE, "T4 (drain): the rod should read 62 1/2")


def a_reading_and_a_strike_are_undone(walk: Walk) -> None:
    """One's own last reading, then one's own last strike; both by one key, both logged."""
    walk.keys("61-1/2\r", "61 1/2 + CUT 1")
    walk.keys(
        UNDO, "Undone: the reading at T4 subgrade no longer counts. It stays in the log.", "No reading at T4 yet"
    )
    walk.keys("62\r", "T4 subgrade drain", "T5 (hedge)")
    walk.keys(STRIKE, "Struck: T4 subgrade, rod 62. It stays in the log.")
    walk.keys(UNDO, "Undone: the reading at T4 subgrade counts again.", "62 = on grade")


def marks_that_disagree_fill_the_panel_until_a_third_tells(walk: Walk) -> None:
    """The laser is moved; two marks disagree, a third shows which is odd, and a key drops that one."""
    walk.keys(f"{SET_UP}", "SETTING UP")
    walk.keys("40\r", "DOOR rod 40 in: HI 40 in")
    walk.keys("52-7/16\r", "CURB and DOOR disagree", DISAGREE_LARGE, "THEY DISAGREE by 7/16 in (allowed 1/8 in).")
    walk.keys(ENTER, "to use it anyway, type why")
    walk.keys("wind on the rod\r", "SETUP DISAGREES 7/16", never=("SETTING UP",))
    walk.keys(SET_UP, "SETTING UP")
    walk.keys("40\r", "DOOR rod 40 in: HI 40 in")
    walk.keys("52-7/16\r", "CURB and DOOR disagree")
    walk.keys("46\r", "CURB is the odd one: F8 drops it.")
    walk.keys(STRIKE, "They agree exactly", "Struck: CURB=52-7/16.", never=("DISAGREE",))
    walk.keys(ENTER, "the rod should read 5", "should read", never=("SETTING UP", "NO SETUP", "DISAGREE"))


def what_is_left_is_one_key_and_a_work_order(walk: Walk) -> None:
    """It stands in the header when the area is nearly done, is told by a key, and is written to take along."""
    walk.keys("t5\r", "T5 (hedge): the rod should read 53")
    walk.keys("52\r", "1 left: T5 CUT 1")
    walk.keys(LEFT, "1 left: T5 CUT 1. Press Enter alone to go through them. On F9, Ctrl+L prints them.")
    walk.keys(DAY, "T5 CUT 1", "1 not on grade (T5)")
    walk.keys(LEFT, "1 point left, to take along. Written:")
    assert [file.suffix for file in walk.folder.glob("left-*")] == [".pdf"]
    walk.keys(ESCAPE, "T5 reads", "last read 52")


def points_areas_and_entries_are_found_as_they_are_typed(walk: Walk) -> None:
    """A word of where it is, digits alone, an area with its progress; and the entries of a point in the log."""
    walk.keys("gate", "Enter goes to T1 gate left, T2 gate right.")
    walk.keys(ENTER, "▌ T1 gate left the rod should read 51")
    walk.keys(FIND, "Find: yard (subgrade, 5 of 5 read), lane (subgrade, 0 of 2 read).")
    walk.keys("4", "Enter goes to T4 drain.")
    walk.keys(ENTER, "▌ T4 drain the rod should read 52 1/2")
    walk.keys("lan", "Enter goes to lane (subgrade, 0 of 2 read)")
    walk.keys(ENTER, "▌ L1 lane near the rod should read 53")
    walk.keys(LOG, "log of lane")
    walk.keys(AREA, "log of all areas")
    walk.keys(f"{FIND}t3", "2 entries. Enter goes to 12 reading T3 subgrade.", never=("T4 subgrade",))
    walk.keys(ENTER, ">")
    walk.keys(ESCAPE, "▌ L1 lane near")


def a_spot_on_a_string_has_its_target_and_verdict(walk: Walk) -> None:
    """T1 to T5 falls 2 in over 40 ft: at 3 ft 0.15 in, so 51.15 in on the rod."""
    walk.keys("T1 to T5 at 3 ft\r", "T1 to T5 at 3 ft: the rod should read 51 1/8")
    walk.panel("51\r", ON_GRADE, "T1 to T5 at 3 ft subgrade", "saved")


def signs_alone_do_the_rest_and_signed_figures_stay_readings(walk: Walk) -> None:
    """A number pad is enough: next, previous, strike, next area; `+22` is a figure, and asked about as one."""
    walk.keys("t1\r", "▌ T1 gate left the rod should read 51")
    walk.keys("+\r", "▌ T2 gate right the rod should read 51 1/2")
    walk.keys("-\r", "▌ T1 gate left the rod should read 51")
    walk.panel("+22\r", NOT_SAVED, "T1 subgrade", "+22 is a foot or more from its neighbors")
    walk.keys(ESCAPE, "“+22” was not entered.")
    walk.keys("50\r", "50 + CUT 1")
    walk.keys("*\r", "Struck: T1 subgrade, rod 50.")
    walk.keys("/\r", "▌ L1 lane near the rod should read 53")


def an_offset_is_counted_until_it_is_taken_off(walk: Walk) -> None:
    """A string three inches and a quarter above the target: L1's 53 is 49 3/4 there."""
    walk.keys("offset 3 1/4 above\r", "OFFSET 3 1/4 in above", "the rod should read 49 3/4 (offset 3 1/4 in above)")
    walk.panel("49-3/4\r", ON_GRADE, "L1 subgrade lane near", "read 49 3/4 in, offset 3 1/4 in above", "off 0")
    walk.keys("offset off\r", "▌ L2 lane far the rod should read 54", never=("OFFSET", "(offset"))


def readings_from_paper_come_in_late_under_the_setup_of_then(walk: Walk) -> None:
    """JM read L2 before the laser was moved, when its rod should have read 10 in more; the office enters it now."""
    told = walk.command("read", str(walk.folder), "L2=64", "--time", "08:05", "--person", "JM", "--stage", "subgrade")
    assert told.startswith("L2 subgrade ON GRADE found −14 in, rod 64 in entered later, read ")
    assert told.endswith(" 08:05 by JM")
    # Taken before the offset reading at L1 was, but entered after it: it stands last, and is marked.
    walk.keys(LOG, "log of lane", "> 42", "RK read late L2 subgrade")
    walk.panel(ESCAPE, ON_GRADE, "L2 subgrade lane far", "entered later, read 08:05 by JM", "read 64 in", "off 0")


def another_person_reads_the_cautions_first(walk: Walk) -> None:
    """The title names who checks from here on, and so does each entry."""
    walk.keys(PERSON, "Read and understood?", "or type other initials", "dig by hand beside them")
    walk.keys("jm\r", "setup on DOOR 10:", "JM", never=("RK",))
    walk.panel("54\r", ON_GRADE, "L2 subgrade lane far", "read 54 in")
    walk.keys(LOG, "JM reading L2 subgrade 54 ON GRADE")
    walk.keys(LEAVE)
    assert walk.terminal.wait() == 0
    assert walk.typed()[-1] == "54"
