"""Measured in a terminal: the first prompt, the memory, and the time from Enter to the new value."""

from __future__ import annotations

import contextlib
import itertools
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from statistics import median

import pyte

from tests.bench import bare_app
from tests.bench.measure import Measure, milliseconds, paired, percentile
from tests.pty.site import Site, ready_border, saved
from tests.pty.terminal import PATIENCE, Terminal

CONSOLE_SCRIPT = "import sys; from gradecheck.__main__ import main; sys.exit(main())"
"""What the installed command runs."""
Changes = Mapping[str, str | None]
"""To the variables a program is started with."""
_PLACEHOLDERS = (b"od reading", b" next, - back")
"""In the empty box of the bare app and of ours; the first letter stands under the cursor, in a style of its own."""
_PROBE = b"%"
"""A character that is nowhere on either screen until it is typed."""
_PROBES_APART = 0.01
SILENCE = 0.06
"""Seconds without output after which a picture is taken to be complete; shorter than a blink of the cursor."""


@dataclass
class Contender:
    """A program, how it is opened anew, what is typed into it, and what the answers look like."""

    command: Callable[[], list[str]]
    changes: Changes
    typed: Callable[[int], str]
    answered: Callable[[int], Callable[[pyte.Screen], bool]]
    starts: list[float] = field(default_factory=list)
    peaks: list[float] = field(default_factory=list)
    values: list[list[float]] = field(default_factory=list)

    def visit(self, enters: int) -> None:
        """Opens it, enters so many values, and keeps what that took."""
        with Terminal(self.command(), changes=self.changes) as terminal:
            self.starts.append(first_usable(terminal) - terminal.started)
            values = []
            for number in range(enters):
                terminal.send(self.typed(number).encode())
                terminal.settle(SILENCE)
                entered = terminal.send(b"\r")
                values.append(terminal.wait_for(self.answered(number), quiet=SILENCE) - entered)
            terminal.settle(SILENCE)
            self.values.append(values)
            self.peaks.append(peak(terminal.pid))


def first_usable(terminal: Terminal, patience: float = PATIENCE) -> float:
    """When a typed character was first echoed; what was typed to find out is taken back."""
    deadline = time.monotonic() + patience
    while not any(each in terminal.output() for each in _PLACEHOLDERS):
        assert time.monotonic() < deadline, terminal.text()
        terminal.next_output(terminal.pieces, _PROBES_APART)
    seen, probes = terminal.pieces, 0
    echoed: float | None = None
    while echoed is None:
        assert time.monotonic() < deadline, terminal.text()
        probes += 1
        until = terminal.send(_PROBE) + _PROBES_APART
        while echoed is None and (left := until - time.perf_counter()) > 0:
            news = terminal.next_output(seen, left)
            seen += len(news)
            echoed = next((when for when, piece in news if _PROBE in piece), None)
    terminal.settle(SILENCE)
    terminal.send(b"\x7f" * probes)
    terminal.settle(SILENCE)
    return echoed


def peak(pid: int) -> float:
    """The most memory the process has held so far, in MB; nothing where the system does not say."""
    with contextlib.suppress(OSError):
        for line in Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024
    return 0.0


def compiled(folder: Path) -> Changes:
    """Has every program keep its compiled modules in that folder, as an installed one keeps them beside it."""
    return {"PYTHONDONTWRITEBYTECODE": None, "PYTHONPYCACHEPREFIX": str(folder)}


# -- the contenders


def bare(changes: Changes) -> Contender:
    """The bare app."""
    return Contender(
        command=lambda: [sys.executable, "-c", f"from {bare_app.__name__} import main; main()"],
        changes=changes,
        typed=lambda number: f"{50 + number}.25",
        answered=lambda number: _in_row(f"P{number + 1:03}", f"{50 + number}.25"),
    )


def _in_row(name: str, value: str) -> Callable[[pyte.Screen], bool]:
    return lambda screen: any(name in line and value in line for line in screen.display)


def opened(site: Site, copies: Iterator[Path], changes: Changes) -> Contender:
    """The program on a fresh copy of the job."""
    return Contender(
        command=lambda: gradecheck("open", str(shutil.copytree(site.folder, next(copies)))),
        changes=changes,
        typed=lambda number: site.rods[number],
        answered=lambda number: saved(site.points[number]),
    )


def opened_changed(site: Site, copies: Iterator[Path], changes: Changes) -> Contender:
    """The program on a copy of the job whose text was never seen before."""
    same = opened(site, copies, changes)

    def command() -> list[str]:
        *program, folder = same.command()
        with (Path(folder) / "job.yaml").open("a", encoding="utf-8") as file:
            file.write(f"# {folder}\n")
        return [*program, folder]

    return replace(same, command=command, starts=[], peaks=[], values=[])


def gradecheck(*arguments: str) -> list[str]:
    """The program, started as its installed command starts it."""
    return [sys.executable, "-c", CONSOLE_SCRIPT, *arguments]


# -- the measurements


def measure(folder: Path, changes: Changes, rounds: int, enters: int) -> list[Measure]:
    """All that can be seen on a screen, the programs taking turns."""
    site = ready_border(folder / "border")
    copies = (folder / f"copy {number}" for number in itertools.count(1))
    plain, known = bare(changes), opened(site, copies, changes)
    changed = opened_changed(site, copies, changes)
    programs = [plain, known, changed]
    for program in programs:  # with everything compiled and in memory once
        program.visit(0)
        for kept in (program.starts, program.peaks, program.values):
            kept.clear()
    for turn in range(rounds):
        for program in programs[turn % 3 :] + programs[: turn % 3]:
            program.visit(enters)
    return [
        _start("plan known", known, plain),
        _start("plan changed", changed, plain),
        _memory("plan known", known, plain),
        _memory("plan changed", changed, plain),
        *_values(known, plain),
    ]


def _start(which: str, ours: Contender, plain: Contender) -> Measure:
    note = f"{milliseconds(ours.starts)} / {milliseconds(plain.starts)}"
    ratio = paired(ours.starts, plain.starts)
    return Measure(1, f"first usable prompt, 200 points, {which} / bare app", ratio, 1.6, 1.25, note)


def _memory(which: str, ours: Contender, plain: Contender) -> Measure:
    what = f"peak memory, 200 points, {which} / bare app"
    if not all(plain.peaks):
        return Measure(3, what, None, 1.5, 1.3, "this system does not say")
    note = f"{median(ours.peaks):.1f} MB / {median(plain.peaks):.1f} MB"
    return Measure(3, what, paired(ours.peaks, plain.peaks), 1.5, 1.3, note)


def _values(ours: Contender, plain: Contender) -> list[Measure]:
    every = [value for visit in ours.values for value in visit]
    others = [value for visit in plain.values for value in visit]
    ratio = paired([median(visit) for visit in ours.values], [median(visit) for visit in plain.values])
    slowest = percentile(every, 0.95)
    return [
        Measure(
            4, "Enter to new value / bare app", ratio, 1.5, 1.5, f"{milliseconds(every)} / {milliseconds(others)}"
        ),
        Measure(
            4,
            "Enter to new value, 95th percentile / median",
            slowest / median(every),
            None,
            3,
            f"{1000 * slowest:.1f} ms",
        ),
    ]


def burst(folder: Path, changes: Changes, count: int = 40) -> Measure:
    """Readings written at once: how many of them are booked right and in order."""
    site = ready_border(folder / "burst")
    with Terminal(gradecheck("open", str(site.folder)), changes=changes) as terminal:
        first_usable(terminal)
        sent = terminal.send(site.typing(0, count))
        try:
            took = f"{1000 * (terminal.wait_for(saved(site.points[count - 1]), quiet=SILENCE) - sent):.0f} ms"
        except AssertionError:
            took = "the time there was"  # the last one never came; those before it are counted
    right = sum(one == other for one, other in zip(site.recorded(), site.expected(count), strict=False))
    what = f"{count} readings written at once: share booked right, in order"
    return Measure(13, what, right / count, None, 1, f"{right} of {count} in {took}")
