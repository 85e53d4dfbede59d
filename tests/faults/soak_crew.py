"""The soak's foreman at the keys: each thing is done through the terminal, and kept once the screen says so."""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path

from gradecheck.system import settings
from tests.faults.by_hand import MARK as MARK_ON_ROD
from tests.faults.by_hand import Row, keyed, rows_of
from tests.faults.soak_job import Ground, printed, typed
from tests.faults.soak_screen import (
    AT_THE_POINTS,
    BREATH,
    CAUTIONS,
    ESCAPE,
    SETTING_UP,
    STANDS,
    Screen,
    at,
    chosen_entry,
    first_line,
    flat,
    shows,
)

ENTER, UP = b"\r", b"\x1b[A"
STAGE, SET_UP, RECHECK, LOG = b"\x1bOR", b"\x1bOS", b"\x1b[15~", b"\x1b[17~"
MARK, STRIKE, DAY, TRUST, CORRECT = b"\x1b[18~", b"\x1b[19~", b"\x1b[20~", b"\x0e", b"\x12"
ASKED = "Enter again keeps"
HELD_BACK = re.compile(f"{ASKED}|was not taken|Not taken either")
"""What a burst ends in that was asked about: the question, or what became of the figures behind it."""
DISAGREE = re.compile(r"The marks disagree (by .+?)\. Read one again .* to use it anyway, type why\.")
SAVED = r"(?<!not )saved \d\d:\d\d"
CLOCK_SET = "The clock was set"
EMPTY = "rod reading, point name, ? help"
A_LONG_SHEET = 300.0
"""Seconds; the PDF of a day of two thousand readings takes some."""
NO_DOUBT = re.compile(r"^(?!.*(IN DOUBT|can they be trusted))")

STOOD = "set-up", ""
"""A setup as it is kept when it was made; one put right has the right figure as its text."""

Kept = tuple[str, str, str]
"""What the journal has to hold: the kind of an entry, its text as typed, and the point or mark it is about."""


class Crew(Screen):
    """One person at one program."""

    def __init__(self, folder: Path, ground: Ground, clock: Path, draw: random.Random) -> None:
        super().__init__(folder, clock)
        liked = settings.folder() / settings.FILE
        liked.parent.mkdir(parents=True, exist_ok=True)
        liked.write_text('"after a reading" = "go on"\n', encoding="utf-8")  # what is out is read again by name
        self.ground, self.draw = ground, draw
        self.kept: list[Kept] = []
        self.area, self.stage = "", ""
        self.waits: list[float] = []
        """Seconds from Enter to the word saved, of readings keyed one by one."""
        self.acknowledged = self.questions = 0

    def start(self) -> None:
        """Starts the program, and signs the cautions where it shows them."""
        self.area = ""
        super().start()
        self.read_cautions()

    def read_cautions(self) -> None:
        """Signs the cautions where they are shown."""
        if self.on(CAUTIONS):
            self.key("RK\r", SETTING_UP, AT_THE_POINTS)
            self.kept.append(("cautions", "", ""))
            self.terminal.settle(0.1)

    def entries(self) -> list[Row]:
        """The journal's entries, its chain worked out anew."""
        return rows_of(self.folder / "journal.db")

    def recorded(self) -> list[Kept]:
        """The journal's entries as they are kept here, without those the program makes by itself."""
        return [as_kept(row) for row in self.entries() if row.kind != "plan" and not row.typed.startswith(CLOCK_SET)]

    # -- the instrument

    def set_up(self, *marks: str, slip: bool = False) -> None:
        """Stands the instrument on these marks; with a slip the first figure is keyed wrong and struck."""
        self.ground.stand()
        if not self.on(SETTING_UP):
            self.to(SET_UP, SETTING_UP)
        else:
            self.terminal.settle(BREATH)  # it came by itself
        for number, mark in enumerate(marks):
            if slip and not number:
                self._backsight(mark, self.ground.rod_on(mark) + 1)
                self.key(STRIKE, f"Struck: {mark}=")
                self.kept.append(("void", "while setting up", ""))
                self.terminal.settle(BREATH)
            self._backsight(mark, self.ground.rod_on(mark))
        self.terminal.settle(BREATH)
        self.key(ENTER, STANDS, DISAGREE)
        if DISAGREE.search(flat(self.terminal.screen)):
            why = f"no time for another look {len(self.kept)}"
            self.key(f"{why}\r", STANDS)
        self.kept.append(("set-up", "", ""))
        self.terminal.settle(BREATH)

    def _backsight(self, mark: str, rod: Fraction) -> None:
        taken = re.compile(rf"^(?!.*\s{mark}: what does).*[Pp]ress Enter alone (?:to finish|and type why)")
        if self.on(taken):  # by the mark before; else it would be seen at once
            self.key(f"{mark}\r", f" {mark}: what does")
        # Then it asks about another mark, or about this one again; the list may be too long to show its row.
        self.key(f"{mark}\r{typed(rod)}\r", taken)
        stood = next((kind for kind, text, _ in reversed(self.kept) if kind == "moved" or (kind, text) == STOOD), "")
        if stood == STOOD[0]:
            self.kept.append(("moved", "a new setup was begun", ""))
        self.kept.append(("backsight", f"{mark}={typed(rod)}", mark))

    def new_mark(self, name: str = "") -> str:
        """Shoots a turning point: a new one, or one of that name anew."""
        self.to(MARK, re.compile(r"New mark \w+: what does"))
        if name:
            # It asks first where there is such a mark already, and Enter alone says that it is meant.
            self.key(f"{name}\r", re.compile(rf"New mark {name}: what does|{name} is a mark already"))
            if "is a mark already" in flat(self.terminal.screen):
                self.key("\r", f"New mark {name}: what does")
        found = re.search(r"New mark (\w+): what does", flat(self.terminal.screen))
        assert found is not None
        name = found[1]
        self.ground.new_mark(name)
        rod = typed(self.ground.rod_on(name))
        self.key(f"{rod}\r", f"{name} is a mark.")
        self.kept.append(("mark", f"{name}={rod}", name))
        self.back()
        return name

    def recheck(self, mark: str) -> bool:
        """Looks at a mark again; whether it was found where it should be."""
        self.to(RECHECK, "recheck a mark")
        rod = typed(self.ground.rod_on(mark))
        good, bad = f"{mark} is off by", f"{mark} is OFF BY"
        self.key(f"{mark}\r{rod}\r", good, bad, ASKED)
        if self.on(ASKED):
            self.key(ENTER, bad)
        self.kept.append(("recheck", f"{mark}={rod}", mark))
        was_good = self.on(good)
        self.back()
        return was_good

    def trust(self, why: str) -> None:
        """Trusts all that is in doubt, if anything is."""
        if "IN DOUBT" not in self.head:
            return
        self.to(TRUST, "Why can they be trusted?")
        self.key(f"{why}\r", NO_DOUBT)
        self.kept.append(("doubt", why, ""))
        self.terminal.settle(BREATH)

    def stands_not(self) -> bool:
        """Whether nothing may be read now: what was put right may show that the instrument was moved."""
        return self.on("NO SETUP")

    # -- the points

    def go_to(self, area: str, stage: str, point: str) -> None:
        """To that point at that stage."""
        if (area, point) != (self.area, self.at_point()):
            self.key(f"{point}\r", at(point))
            # The table may stand there a moment before the head does.
            self.terminal.wait_for(lambda screen: f" {area} " in f" {first_line(screen)} ")
        for _ in range(4):
            if f" {stage} " in f" {self.head} ":
                break
            self.change(STAGE, first_line)
        assert f" {area} {stage} " in f" {self.head} ", f"not {area}, {stage}: {self.head}"
        if self.at_point() != point:
            self.key(f"{point}\r", at(point))
        self.area, self.stage = area, stage

    def read(self, point: str, rod: Fraction) -> None:
        """One reading, and how long it took to be saved; a question is answered by Enter."""
        answered = self.answered(point, rod)
        took = self.key(f"{typed(rod)}\r", answered, ASKED)
        if self.on(answered):
            self.waits.append(took)
        else:
            self.questions += 1
            self.terminal.settle(BREATH)
            self.key(ENTER, answered)
            self.gone(ASKED)  # the answer is drawn first
        self._has_read(point, rod)

    def burst(self, points: Sequence[str]) -> None:
        """So many readings keyed without looking up; behind a question they are keyed anew."""
        rods = [self.ground.rod_at(point, self.stage) for point in points]
        self.terminal.send("".join(f"{typed(rod)}\r" for rod in rods).encode())
        last = self.answered(points[-1], rods[-1])
        self.see(last, HELD_BACK)
        if not self.on(last):
            self._after_question(points, rods)
            return
        for point, rod in zip(points, rods, strict=True):
            self._has_read(point, rod)

    def _after_question(self, points: Sequence[str], rods: Sequence[Fraction]) -> None:
        self.terminal.settle(0.3)
        asked = points.index(self.at_point())
        for point, rod in zip(points[:asked], rods[:asked], strict=True):
            self._has_read(point, rod)
        if not self.on(EMPTY):
            self.key(ESCAPE, EMPTY)
            self.gone(HELD_BACK)
        for point, rod in zip(points[asked:], rods[asked:], strict=True):
            self.terminal.settle(BREATH)
            self.read(point, rod)

    def killed_in_burst(self, points: Sequence[str]) -> int:
        """A burst in the midst of which the battery dies; returns how many of it were saved.

        Each that the screen had called saved is among them, or this fails.
        """
        rods = [self.ground.rod_at(point, self.stage) for point in points]
        self.terminal.send("".join(f"{typed(rod)}\r" for rod in rods).encode())
        time.sleep(self.draw.uniform(0, 0.02 * len(points)))  # chooses a place among the commits, or within one
        self.terminal.kill()
        self.terminal.text()
        called = [point for point in points if self._calls_saved(point)]
        self.end(by_kill=True)
        sent = [("reading", typed(rod), point) for point, rod in zip(points, rods, strict=True)]
        found = self.recorded()
        kept = len(found) - len(self.kept)
        assert found == [*self.kept, *sent[:kept]], "after a kill the journal holds something else than was keyed"
        lost = set(called) - set(points[:kept])
        assert not lost, f"the screen called {sorted(lost)} saved, and they are not there"
        self.acknowledged += len(called)
        self.kept = found
        return kept

    def _calls_saved(self, point: str) -> bool:
        """Whether the point's row has a verdict, or the panel is its own."""
        row = re.compile(rf"[> ] {point} .*(CUT|FILL|on grade|in doubt).*")
        answer = re.compile(rf"\s{point} {self.stage} .*{SAVED}")
        screen = self.terminal.screen
        return any(row.fullmatch(line) for line in screen.display) or shows(screen, answer)

    def answered(self, point: str, rod: Fraction) -> re.Pattern[str]:
        """The panel of that reading; where it says a slip or doubt instead, the figure stands in the table."""
        panel, read = rf"\s{point} {self.stage} .*{SAVED} .*", printed(rod)
        in_table = rf"\s{point} [0-9/ −]*\s{read} [+−=?] "
        return re.compile(rf"{panel}( read {read} in |{in_table})")

    def _has_read(self, point: str, rod: Fraction) -> None:
        self.acknowledged += 1
        self.kept.append(("reading", typed(rod), point))

    # -- what is put right

    def strike_last(self, point: str) -> None:
        """Strikes the last reading, which was there."""
        self.terminal.settle(BREATH)
        self.key(STRIKE, f"Struck: {point} {self.stage}")
        self.kept.append(("void", "struck at once", ""))
        self.terminal.settle(BREATH)

    def in_log(self, seq: int, act: Callable[[], None]) -> None:
        """Goes to that entry in the log, which lies not far back, and does something with it."""
        self.to(LOG, "Type a note, then Enter.")
        self.terminal.wait_for(lambda screen: chosen_entry(screen) is not None)
        for _ in range(80):
            if chosen_entry(self.terminal.screen) == seq:
                break
            self.change(UP, chosen_entry)
        else:
            raise AssertionError(f"entry {seq} is not in the log")
        act()
        self.back()

    def strike(self, seq: int, why: str) -> None:
        """Strikes an entry in the log."""

        def act() -> None:
            self.key(STRIKE, f"Why strike entry {seq}")
            self.key(f"{why}\r", "Type a note, then Enter.")
            self.kept.append(("void", why, ""))

        self.in_log(seq, act)

    def correct(self, seq: int, figure: str, about: str, kind: str) -> None:
        """Puts a figure right in the log."""

        def act() -> None:
            self.key(CORRECT, re.compile("Correct reading"))
            self.key(f"{figure}\r", "Enter accepts")
            self.key(ENTER, "Type a note, then Enter.")
            self.kept.append((kind, figure, about))

        self.in_log(seq, act)

    def figure_beside(self, figure: str) -> str:
        """Another figure, a mark or two beside that one."""
        return typed(keyed(figure) + MARK_ON_ROD * self.draw.choice((-2, -1, 1, 2)))

    def note(self, text: str) -> None:
        """A note in the log."""
        self.to(LOG, "Type a note, then Enter.")
        self.key(f"{text}\r", re.compile(rf"note {text}"))
        self.kept.append(("note", text, ""))
        self.back()

    def write_sheet(self) -> None:
        """Has the daily report written from the Day screen."""
        self.to(DAY, "F9 writes the daily report")
        self.terminal.send(DAY)
        self.terminal.wait_for(lambda screen: shows(screen, "Written: "), timeout=A_LONG_SHEET)
        self.back()


def as_kept(row: Row) -> Kept:
    """An entry as it is kept here."""
    about = row.fact.get("point") or row.fact.get("mark") or row.fact.get("sight", {}).get("mark", "")
    return row.kind, row.typed, about
