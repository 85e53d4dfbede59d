"""Two crews, two laptops, one job, a folder between them: by evening both have the same report, and it is right."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta, timezone
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.cli.asides import answered
from tests.faults.soak_clock import CLOCK, set_clock
from tests.pty.site import YARD
from tests.pty.terminal import Terminal, environment
from tests.pty.test_day_of_moves import CORRECT, ENTER, LOG, MARK, SET_UP, choose, key, quit_by_key, taken
from tests.recomputed.crews import Work, inches

JOB = "job: Teasel Wharf, two crews\n" + YARD
TEN = datetime(2031, 4, 7, 10, tzinfo=timezone(timedelta(hours=-5)))


class Crew:
    """A laptop with its own home, settings, clock and copy of the job file."""

    def __init__(self, root: Path, name: str, shows: datetime) -> None:
        self.name, self.home, self.job = name, root / f"home of {name}", root / name
        self.job.mkdir()
        (self.job / "job.yaml").write_text(JOB, encoding="utf-8")
        settings = self.home / "config" / "gradecheck"
        settings.mkdir(parents=True)
        (settings / "settings.toml").write_text(f'laptop = "{name}"\n', encoding="utf-8")
        self.clock = root / f"clock of {name}"
        set_clock(self.clock, shows)
        self.own: dict[str, str | None] = {
            "HOME": str(self.home), "XDG_CONFIG_HOME": str(self.home / "config"),
            "XDG_CACHE_HOME": str(self.home / "cache"), "XDG_DATA_HOME": str(self.home / "data"),
            "XDG_STATE_HOME": str(self.home / "state"), "GRADECHECK_SETTINGS": None, "GRADECHECK_CACHE": None,
            CLOCK: str(self.clock), "TZ": None,
        }  # fmt: skip

    @contextmanager
    def opened(self, shows: str) -> Iterator[Terminal]:
        """The program in this crew's terminal, once it shows that; it is left by its key."""
        command = [sys.executable, "-m", "tests.faults.soak_clock", "open", str(self.job)]
        with Terminal(command, columns=100, lines=30, changes=self.own) as terminal:
            terminal.wait_for(shows)
            terminal.settle()
            yield terminal
            quit_by_key(terminal)

    def says(self, *words: str, code: int = 0) -> str:
        """What a command says on this laptop."""
        command = [sys.executable, "-m", "tests.faults.soak_clock", words[0], str(self.job), *words[1:]]
        done = subprocess.run(command, env=environment(self.own), capture_output=True, text=True, check=False)
        assert done.returncode == code, done.stdout + done.stderr
        return done.stdout

    def share(self, where: Path | str) -> dict[str, Any]:
        """Shares by the folder, or with the office; what came of it."""
        found: dict[str, Any] = answered(self.says("share", str(where), "--json"))
        return found


def worked_day(north: Crew, south: Crew, share: Callable[[Crew], object]) -> None:
    """A day of two crews with a move each and a turning point that both stand on, up to the evening."""
    # North begins at the door, reads two points, and leaves a turning point for the other crew.
    with north.opened("Read and understood?") as screen:
        key(screen, b"NK\r", "DOOR: what does the site rod")
        key(screen, b"50\r", "One benchmark only")
        key(screen, ENTER, "C1: the rod should read 51")
        key(screen, b"51\r", taken("51 in", "−1 in"))
        key(screen, b"51-1/2\r", taken("51 1/2 in", "−1 1/2 in"))
        key(screen, MARK, "New mark TP1: what does the rod read there?")
        key(screen, b"58\r", "TP1 is a mark.")
    share(north)

    # South can't see the door: it stands on North's turning point, then moves to the two benchmarks.
    share(south)
    with south.opened("Read and understood?") as screen:
        key(screen, b"SL\r", "what does the site rod")
        key(screen, b"tp1 of north\r", "TP1 of north: what does the site rod")
        key(screen, b"48\r", "One turning point only")
        key(screen, ENTER, "C3: the rod should read 42")
        key(screen, b"42\r", taken("42 in", "−2 in"))
        key(screen, b"42-5/8\r", taken("42 5/8 in", "−2 5/8 in"))
        key(screen, SET_UP, "what does the site rod")
        key(screen, b"door\r", "DOOR: what does the site rod")
        key(screen, b"47\r", "CURB: what does the site rod")
        key(screen, b"59-1/8\r", "They agree within 1/8 in")
        key(screen, ENTER, "C5: the rod should read 50")
        key(screen, b"50-3/8\r", "slip? * strikes it · read 50 3/8 in")

    # North moves too, onto its own turning point; it knows nothing of South, and reads a point that South has read.
    with north.opened("C3: the rod should read 52") as screen:
        key(screen, SET_UP, "what does the site rod")
        key(screen, b"tp1\r", "TP1: what does the site rod")
        key(screen, b"53\r", "One turning point only")
        key(screen, ENTER, "C3: the rod should read 47")
        key(screen, b"47-1/8\r", taken("47 1/8 in", "−2 1/8 in"))
        key(screen, b"c7\r", "C7: the rod should read 49")
        key(screen, b"49\r", taken("49 in", "−4 in"))

    # An hour later South hears that North's rod read 50 1/4 at the door, and puts that right in its own log.
    set_clock(north.clock, TEN + timedelta(hours=2))
    set_clock(south.clock, TEN + timedelta(hours=3))
    share(north)
    share(south)
    with south.opened("C5: the rod should read 50") as screen:
        key(screen, LOG, "log of yard")
        screen.settle()
        choose(screen, "setup on DOOR, site rod DOOR=50")
        key(screen, CORRECT, "Correct reading?")
        key(screen, b"50-1/4\r", "points move, at most by 1/4 in")
        key(screen, ENTER, "corrects ")


@pytest.mark.thorough
@pytest.mark.parametrize("first", ["north", "south"])
def test_two_crews_with_a_folder_between_them_have_one_right_report(tmp_path: Path, first: str) -> None:
    between = tmp_path / "on the stick"
    between.mkdir()
    # South's clock is an hour ahead, and nobody knows.
    north, south = Crew(tmp_path, "north", TEN), Crew(tmp_path, "south", TEN + timedelta(hours=1))

    worked_day(north, south, lambda crew: crew.share(between))

    # In the evening they share, in whichever order, until nothing is new.
    crews = (north, south) if first == "north" else (south, north)
    for crew in (*crews, crews[0]):
        crew.share(between)
    assert [crew.share(between)["taken in"] for crew in crews] == [0, 0]

    reports = [report_of(crew) for crew in crews]
    assert reports[0] == reports[1]
    assert crews[0].says("log", "--json") == crews[1].says("log", "--json")
    # Four points are too high, so the review asks for an answer.
    reviews = [answered(crew.says("review", "--json", code=1)) for crew in crews]
    assert reviews[0] == reviews[1]
    for crew in crews:
        crew.says("verify")

    is_right(reports[0], reviews[0], keyed())


def keyed() -> Work:
    """What the two crews keyed, with the door as it was put right."""
    points = {"C1": "-1", "C2": "-1 1/2", "C3": "-2", "C4": "-2 1/2", "C5": "-3", "C6": "-3 1/2", "C7": "-4"}
    work = Work({"DOOR": "0", "CURB": "-12"}, points, "1/8")
    work.setups = {
        "at the door": [("DOOR", "50-1/4")],
        "on the turning point": [("TP1 of north", "48")],
        "between": [("DOOR", "47"), ("CURB", "59-1/8")],
        "moved on": [("TP1 of north", "53")],
    }
    work.made = {"TP1 of north": ("at the door", "58")}
    # By the clocks, which is the order that all agree on: South's is an hour ahead.
    work.readings = [
        ("north", "at the door", "C1", "51"),
        ("north", "at the door", "C2", "51-1/2"),
        ("north", "moved on", "C3", "47-1/8"),
        ("north", "moved on", "C7", "49"),
        ("south", "on the turning point", "C3", "42"),
        ("south", "on the turning point", "C4", "42-5/8"),
        ("south", "between", "C5", "50-3/8"),
    ]
    return work


def report_of(crew: Crew) -> dict[str, Any]:
    target = crew.job.parent / f"day of {crew.name}.json"
    crew.says("report", "-o", str(target))
    found: dict[str, Any] = json.loads(target.read_text(encoding="utf-8"))
    return found


def is_right(report: dict[str, Any], review: dict[str, Any], work: Work) -> None:
    """Every figure of the report is what the plain sums say."""
    stood = sorted(
        (
            [(each["mark"], inches(each["rod"])) for each in setup["marks"]],
            inches(setup["stands"].rpartition("HI ")[2]),
        )
        for setup in report["instrument"]["set_ups"]
    )  # fmt: skip
    assert stood == sorted(
        ([(mark, inches(rod)) for mark, rod in sights], work.beam(name)) for name, sights in work.setups.items()
    )
    [made] = report["instrument"]["marks"]
    assert made["what"].startswith("TP1 of north = ")
    assert inches(made["what"].rpartition(" = ")[2]) == work.mark("TP1 of north") == Fraction(-31, 4)

    [stage] = report["areas"][0]["stages"]
    rows = {
        (row["point"], row["by"].rpartition(", ")[2], inches(row["rod"]["text"])): row for row in stage["readings"]
    }
    assert len(rows) == len(stage["readings"]) == len(work.readings)
    verdicts, last = [], work.last()
    for crew, setup, point, rod in work.readings:
        row = rows[point, crew, inches(rod)]
        found, off = work.found(setup, rod), work.off(setup, point, rod)
        told = {name: _exact(row[name]) for name in ("target", "rod", "found", "off")}
        assert told == {"target": inches(work.wanted[point]), "rod": inches(rod), "found": found, "off": off}
        assert row["now"] == work.verdict(off)
        verdicts.append(row["now"])
    assert verdicts == ["CUT 1/4", "CUT 1/4", "ON GRADE", "CUT 1/4", "CUT 1/4", "ON GRADE", "FILL 5/16"]
    assert {point for point, crew, _ in rows if rows[point, crew, _]["latest"]} == set(last)

    counts = {word: sum(each.startswith(word) for each in last.values()) for word in ("ON GRADE", "CUT", "FILL")}
    for row in (*report["summary"], *review["stages"]):
        assert (row["points"], row["read"]) == (len(work.wanted), len(last))
        assert (row["within"], row["cut"], row["fill"]) == (counts["ON GRADE"], counts["CUT"], counts["FILL"])
        assert row["doubt"] == 0
    [lasers] = review["lasers"]
    apart = work.apart("north", "south")
    assert (lasers["laptops"], lasers["points"]) == (["north", "south"], len(apart))
    assert _exact(lasers["mean"]) == sum(apart, Fraction(0)) / len(apart) == Fraction(1, 8)


def _exact(length: dict[str, Any]) -> Fraction:
    """The inches of a figure, whose millimetres must say the same."""
    told = inches(length["text"])
    assert Fraction(str(length["mm"])) == told * Fraction("25.4")
    return told
