"""No network: a whole day's use, every command and the app, in which Python reports nothing that goes out."""

from __future__ import annotations

import shlex
import subprocess
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.app.driving import write_job
from tests.faults.figures import Figures
from tests.faults.watched import HANDSHAKE
from tests.pty.site import PROMPT, ready_border, saved
from tests.pty.terminal import Terminal, environment

NAME = "network"
QUICK, LONG = 1, 50
DAY = """\
examine {job}
targets {job} --working --json
plan {job}
plan {job} --svg {out}/plan.svg
plan {job} --csv -o {out}/points.csv
plan {job} --geojson -o {out}/points.geojson
setup {job} DOOR=50 --by RK
read {job} P1=51 P2=51-9/16 P3=52
recheck {job} DOOR=50
mark {job} TP1=48 --what nail
mark {job} P1
add {job} path P4 from P3 fall 2% over 4 ft --what edge
change {job} P3=-2-1/8 --why lowered
change {job} path=1/4 --stage finish --why agreed
read {job} P4=53
correct {job} 4 51-1/2 --dry
correct {job} 4 51-1/2
strike {job} 5 --why slip
move {job}
setup {job} PIN=54
datum {job} job
circuit {job}
circuit {job} --adjust
instrument {job} two-peg 4.1 5.2 4.3 5.4 1 30
checks {job}
stone {job}
gauge {job} lippage path P1 1/16
layout {job} --sides 12,20
changes {job}
changes {job} --as-text
day {job} dry RK,MT
review {job} --entries
sign {job} path finish --accept P1 P2 P3 P4 --accept-open
log {job}
log {job} --csv
report {job}
report {job} -o {out}/day.pdf
report {job} -o {out}/day.html
report {job} -o {out}/day.csv
report {job} -o {out}/day.json
verify {job}
rescue {job} -o {out}/rescued.db
rehearse {job} -o {out}/rehearsed --readings 40
new slate-yard --example --in {out} --units in --zero SILL --area terrace:patio
"""
SIGHTS = 5
KEYS = (b"\x1b[17~", b"\x05", b"\x19", b"\x1bOP", b"\x1b[15~", b"\x1b[18~", b"\x12", b"\x1bOS")
"""The log, the map, the plan, the keys, a recheck, a mark, what is put right, a setup: each left again by Escape."""
QUIET = 0.05
"""Seconds without a new picture, after which a screen is all there."""
DAY_SCREEN, WRITE, QUIT = b"\x1b[20~", b"\x1b[20~", b"\x1b[24~"


def run(folder: Path, days: int, seed: int) -> list[Figures]:
    """So many days, and as a control one of a program that calls home as it starts."""
    folder.mkdir(parents=True, exist_ok=True)
    counts, example = Counter(dict.fromkeys(("days", "commands", "events", "wakes itself", "out", "blind"), 0)), ""
    with ThreadPoolExecutor() as beside:  # each is a program of its own, in a folder of its own
        control = beside.submit(_control, folder / "calling")
        for day in range(days):
            counts["days"] += 1
            commands = beside.submit(_commands, folder / f"{day}", counts)
            for log in (_app(folder / f"{day}-app"), commands.result()):
                out = _read(log, counts)
                example = example or (out[0] if out else "")
    bad = counts["out"] + counts["blind"]
    return [Figures(NAME, "a day's use", dict(counts), bad, example=example), control.result()]


def _commands(folder: Path, counts: Counter[str]) -> Path:
    """Every command there is, one after the other; all have to be understood, or the day was not had."""
    job, out = write_job(folder / "court"), folder / "out"
    out.mkdir()
    lines = DAY.format(job=shlex.quote(str(job)), out=shlex.quote(str(out)))
    (folder / "day").write_text(lines, encoding="utf-8")
    ended = subprocess.run(
        watched(folder / "log", "each", str(folder / "day")), env=environment(), capture_output=True, text=True,
        encoding="utf-8", check=False,
    )  # fmt: skip
    assert ended.returncode == 0, ended.stderr
    counts["commands"] += len(lines.splitlines())
    return folder / "log"


def _app(folder: Path) -> Path:
    """A few readings in the app, a look at its screens, and the daily report written from there."""
    site = ready_border(folder / "border", 20)
    log = folder / "log"
    with Terminal(watched(log, "open", str(site.folder))) as terminal:
        terminal.wait_for(PROMPT)
        terminal.send(site.typing(0, SIGHTS))
        terminal.wait_for(saved(site.points[SIGHTS - 1]))
        terminal.settle(QUIET)
        head = terminal.screen.display[0]
        for key in KEYS:
            terminal.send(key)
            terminal.wait_for(lambda screen: screen.display[0] != head)
            terminal.settle(QUIET)
            terminal.send(b"\x1b")
            terminal.wait_for(lambda screen: screen.display[0] == head)
            terminal.settle(QUIET)
        terminal.send(DAY_SCREEN)
        terminal.wait_for(lambda screen: screen.display[0] != head)
        terminal.settle(QUIET)
        terminal.send(WRITE)
        terminal.wait_for("Written: ")
        terminal.settle(QUIET)
        terminal.send(QUIT)
        assert terminal.wait() == 0
    return log


def _control(folder: Path) -> Figures:
    job = write_job(folder / "court")
    counts = Counter(dict.fromkeys(("events", "wakes itself", "out", "blind"), 0))
    subprocess.run(
        watched(folder / "log", "calling", "examine", str(job)), env=environment(), capture_output=True, check=False
    )
    _read(folder / "log", counts)
    return Figures(NAME, "a program that calls home", dict(counts), counts["out"], control=True)


def _read(log: Path, counts: Counter[str]) -> list[str]:
    """The events that lead out; a log that does not end with how many there were is blind, and counted so."""
    lines = log.read_text(encoding="utf-8").splitlines()
    out = [line for line in lines if line != HANDSHAKE and not line.startswith("events ")]
    total = sum(int(line.split()[1]) for line in lines if line.startswith("events "))
    counts["events"] += total
    counts["wakes itself"] += lines.count(HANDSHAKE)
    counts["out"] += len(out)
    counts["blind"] += not total
    return out


def watched(log: Path, *arguments: str) -> list[str]:
    """The program as a command, every way out of it watched."""
    return [sys.executable, "-m", "tests.faults.watched", str(log), *arguments]
