"""Each fault that comes from people, windows, clocks and ourselves: what is seen of it, and what is kept."""

from __future__ import annotations

import contextlib
import dataclasses
import os
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import timedelta, timezone
from pathlib import Path

from gradecheck import actions
from gradecheck.app.app import CATCHES_UP_EVERY, GradeApp
from gradecheck.app.screens.problems import ProblemsScreen
from gradecheck.files import crash
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.report.instrument import look_again
from gradecheck.session.clock_watch import ClockWatch
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from gradecheck.system import settings
from tests.app.driving import JOB, Clock, press, readings, ready_job, resize, settle, shown, typed, words
from tests.faults.rows import command, named, row, site_with, window
from tests.pty.site import AREA, PROMPT, Site, saved
from tests.pty.terminal import ROOT, Terminal, environment, gradecheck_command

ENDED = "gradecheck closed unexpectedly; everything marked saved is here."
SCREEN_TAKEN, SCREEN_LEFT, F12, UP = b"\x1b[?1049h", b"\x1b[?1049l", b"\x1b[24~", b"\x1b[A"


def opened(site: Site, *program: str) -> Terminal:
    """The program in a terminal, ready for a reading."""
    terminal = Terminal([*(program or gradecheck_command()), "open", str(site.folder)])
    terminal.wait_for(PROMPT)
    terminal.settle()
    return terminal


def read(terminal: Terminal, site: Site, at: int) -> None:
    """Keys that reading, and waits until it is called saved."""
    terminal.send(site.typing(at, at + 1))
    terminal.wait_for(saved(site.points[at]))


async def test_second_window_on_the_same_job(tmp_path: Path) -> None:
    assert CATCHES_UP_EVERY < 2
    site = site_with(tmp_path / "job", 1)
    async with window(site.folder) as (app, pilot):
        assert command("read", site.folder, *named(site, 1, 2), "--by", "ME").code == 0
        while "2 of 20" not in words(app, "counts"):  # its own look, by its own timer
            await pilot.pause(0.05)
        await press(pilot, site.points[1], "enter", site.rods[1], "enter")
        said = f"{site.points[1]}: also just read in another window ({site.rods[1]}, ME). * strikes it."
        assert words(app).startswith(said)
        await press(pilot, site.rods[2], "enter")
    assert site.recorded() == [*site.expected(2), site.expected(2)[1], site.expected(3)[2]]
    assert command("verify", site.folder).code == 0


def test_killed(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 1)
    with opened(site) as terminal:
        assert ENDED not in " ".join(terminal.text().split())
        read(terminal, site, 1)
        terminal.send(site.rods[2].encode())
        terminal.kill()
    assert site.recorded() == site.expected(2)
    assert command("verify", site.folder).code == 0
    with opened(site) as terminal:
        assert ENDED in " ".join(terminal.text().split()), "told beside the prompt, nothing is asked"
        read(terminal, site, 2)
        terminal.settle()
        assert ENDED not in " ".join(terminal.text().split())
        terminal.send(F12)
        assert terminal.wait() == 0
    with opened(site) as terminal:
        assert ENDED not in " ".join(terminal.text().split()), "that run was closed"
    assert site.recorded() == site.expected(3)


async def test_job_file_changed_while_open(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 1)
    plan = site.folder / "job.yaml"
    first = plan.read_text(encoding="utf-8")
    async with window(site.folder) as (app, pilot):
        plan.write_text(first.replace(f"      {site.points[0]}: ", "      Q1: "), encoding="utf-8")
        await app._look_at_plan()
        assert "The job file has changed" in words(app)
        await press(pilot, site.rods[1], "enter")
        plan.write_text("job: [", encoding="utf-8")
        await app._look_at_plan()
        assert "The job file has changed and can't be read; Ctrl+Y shows why." in words(app)
        await press(pilot, site.rods[2], "enter")
    said = command("read", site.folder, *named(site, 3, 4))
    assert (said.code, "The job file has changed and can't be read" in said.err) == (0, True)
    told = command("changes", site.folder)
    assert (told.code, "job.yaml:" in told.err) == (2, True)
    plan.write_text(first.replace(f"      {site.points[0]}: ", "      Q1: "), encoding="utf-8")
    said = command("read", site.folder, *named(site, 4, 5))
    assert (said.code, "The job file has changed" in said.err) == (0, True)
    assert site.recorded() == site.expected(5), "work went on with the plan that was taken over"
    assert command("changes", site.folder, "--accept").code == 0
    assert command("read", site.folder, *named(site, 5, 6)).code == 0
    log = command("log", site.folder).out
    assert [line for line in log.splitlines() if site.points[0] in line and "not in the plan now" in line]
    with contextlib.closing(sqlite3.connect(site.folder / JOURNAL_NAME)) as connection:
        plans = connection.execute("SELECT plan FROM entry WHERE kind = 'reading' ORDER BY seq").fetchall()
    assert len(set(plans[:5])) == 1
    assert plans[5] != plans[4], "each reading says which plan it was judged by"
    assert site.recorded() == site.expected(6)


async def test_job_file_not_utf_8_or_with_a_mark_and_other_line_ends(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 0)
    plan = site.folder / "job.yaml"
    text = plan.read_text(encoding="utf-8").replace("sill of the garden room", "café's sill")
    plan.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert command("changes", site.folder, "--accept").code == 0
    async with window(site.folder) as (_, pilot):
        await press(pilot, site.rods[0], "enter")
    assert site.recorded() == site.expected(1)
    line = text[: text.index("café")].count("\n") + 1
    for encoding, byte, where in (("latin-1", "0xe9", line), ("utf-16", "0xff", 1)):
        other = tmp_path / encoding
        other.mkdir()
        (other / "job.yaml").write_bytes(text.encode(encoding))
        says = f"Byte {byte} on this line is not UTF-8; save the file as UTF-8 text."
        told = row(command("targets", other))
        assert says in told
        assert f":{where}:" in told or f"line {where}" in told
        async with window(other) as (app, _):
            assert isinstance(app.screen, ProblemsScreen)
            assert f"line {where}, column 1: {says}" in " ".join(shown(app).split())


async def test_terminal_too_small(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 0)
    async with window(site.folder) as (app, pilot):
        await press(pilot, site.rods[0])
        for width, height in ((39, 24), (80, 11), (20, 5), (1, 1)):
            await resize(pilot, width, height)
            if width > 1:
                says = f"Make the window larger: need 40 x 12, have {width} x {height}."
                assert says in " ".join(shown(app).split())
            assert typed(app) == site.rods[0]
        await resize(pilot, 40, 12)
        assert "larger" not in shown(app)
        assert site.rods[0] in shown(app)
        await resize(pilot, 1, 1)
        await press(pilot, "enter")
    assert site.recorded() == site.expected(1)
    with Terminal(gradecheck_command("open", str(site.folder)), columns=1, lines=1) as terminal:
        while SCREEN_TAKEN not in terminal.output():
            time.sleep(0.01)
        terminal.settle(0.6)
        terminal.send(site.typing(1, 2))
        terminal.settle()
        terminal.send(F12)
        assert terminal.wait() == 0
        terminal.kill()
        assert b"Traceback" not in terminal.output()
    assert site.recorded() == site.expected(2)


def test_terminal_closed(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 0)
    with opened(site) as terminal:
        read(terminal, site, 0)
        terminal.send(site.rods[1].encode())
        terminal.hang_up()
        terminal.wait()
    assert site.recorded() == site.expected(1)
    assert command("read", site.folder, *named(site, 1, 2)).code == 0, "nothing holds the journal"
    assert site.recorded() == site.expected(2)


def test_told_to_end_by_sigterm(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 0)
    with opened(site) as terminal:
        read(terminal, site, 0)
        terminal.signal(signal.SIGTERM)
        assert terminal.wait() == 0, "without waiting for a key"
        terminal.kill()
        assert SCREEN_LEFT in terminal.output()
    assert site.recorded() == site.expected(1)


def test_ctrl_c_and_ctrl_backslash_keys(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 0)
    with opened(site) as terminal:
        terminal.send(site.rods[0].encode())
        for key in (b"\x03", b"\x1c"):
            terminal.send(key)
            terminal.settle()
            assert terminal.screen.display[-2].partition("reads")[2].strip() == site.rods[0]
        terminal.send(b"\x11")  # Ctrl+Q asks first
        terminal.wait_for(f"“{site.rods[0]}” is typed but not entered.")
        terminal.send(b"\r")
        terminal.wait_for(saved(site.points[0]))
        terminal.send(b"\x11")
        assert terminal.wait() == 0
    assert site.recorded() == site.expected(1)


def test_stopped_and_gone_on_with(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 0)
    plan = site.folder / "job.yaml"
    with opened(site) as terminal:
        terminal.send(site.rods[0].encode())
        terminal.settle()
        terminal.signal(signal.SIGTSTP)
        os.waitid(os.P_PID, terminal.pid, os.WSTOPPED | os.WNOWAIT)
        terminal.settle()
        assert terminal.output().rstrip().endswith(b"\x1b[?25h") or SCREEN_LEFT in terminal.output()
        # Nothing is held meanwhile: another window records, and the office sends a new plan.
        assert command("read", site.folder, *named(site, 1, 2), "--by", "ME").code == 0
        plan.write_text(plan.read_text(encoding="utf-8").replace("stake 9}", "stake nine}"), encoding="utf-8")
        terminal.signal(signal.SIGCONT)
        terminal.wait_for("The job file has changed")
        assert any(line.partition("reads")[2].strip() == site.rods[0] for line in terminal.screen.display)
        terminal.send(b"\r")
        terminal.wait_for(saved(site.points[0]))
    assert sorted(site.recorded()) == site.expected(2)
    assert command("verify", site.folder).code == 0


async def test_clock_set_on_or_back_another_zone_and_summer_time(tmp_path: Path) -> None:
    clock, seconds = Clock(), [0.0]
    job = ready_job(tmp_path / "jobs" / "court", clock)
    app = GradeApp(job.parent, job, clock=clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert app.session is not None
        app.session.clock.watch = ClockWatch(clock, lambda: seconds[0])
        for name, rod, jump, says in (
            ("p1", "51", timedelta(seconds=1), ""),
            (
                "p2",
                "51-1/2",
                timedelta(hours=-1, seconds=-5),
                "The clock was set back by 1 h 5 s. That is in the log.",
            ),
            ("p3", "52", timedelta(minutes=20), "The clock was set on by 20 min. That is in the log."),
            ("p1", "51", timedelta(), ""),
        ):
            clock.time += timedelta(seconds=30) + jump
            seconds[0] += 30
            await press(pilot, name, "enter", rod, "enter")
            assert words(app).count("The clock was set") == bool(says), words(app)
            assert says in words(app)
        # The same moments in another zone, or behind the change to summer time.
        clock.time = clock.time.astimezone(timezone(timedelta(hours=-4)))
        await press(pilot, "p2", "enter", "51-1/2", "enter")
        assert "clock" not in words(app)
    # None was refused, and their order is that of the work.
    assert [name for name, _, _ in readings(job)] == ["P1", "P2", "P3", "P1", "P2"]
    log = command("log", job).out.splitlines()
    noted = [at for at, line in enumerate(log) if "The clock was set" in line]
    assert len(noted) == 2
    assert [" P2 " in log[noted[0] + 1], " P3 " in log[noted[1] + 1]] == [True, True]


def test_a_start_with_the_clock_behind_what_was_written_says_so_once(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 1)
    _written_tomorrow(site)
    said = [command("read", site.folder, *named(site, at, at + 1)) for at in (2, 3)]
    assert [each.code for each in said] == [0, 0]
    assert ["The clock was set back by " in each.err for each in said] == [True, False]
    assert command("log", site.folder).out.count("The clock was set back by ") == 1


def _written_tomorrow(site: Site) -> None:
    """Adds a reading of this laptop at the time that a clock a day ahead would show."""
    session = Session(site.folder, laptop=settings.laptop_id())
    with contextlib.closing(session):
        draft = session.draft(actions.reading(session.state, Surface(AREA, site.points[1], "finish"), site.rods[1]))
        session.record(dataclasses.replace(draft, at=draft.at + timedelta(days=1)))


def test_after_the_clock_went_back_the_reminder_of_minutes_still_comes(tmp_path: Path) -> None:
    clock, seconds = Clock(), [0.0]
    job = ready_job(tmp_path / "job", clock, JOB + "rechecks: {readings: 50, minutes: 60}\n")
    session = Session(job, clock=clock, watch=ClockWatch(clock, lambda: seconds[0]))
    with contextlib.closing(session):
        session.record(actions.reading(session.state, Surface("path", "P1", "finish"), "51"))
        told = []
        for passed, jump in ((50, 0), (0, -40), (9, 0), (1, 0)):
            assert session.since_look is not None
            clock.pass_by(minutes=passed + jump)
            seconds[0] += passed * 60
            told.append(look_again(session.state, clock(), session.since_look))
        assert told == ["", "", "", "60 minutes since the last recheck. Press F5."]
    again = Session(job, clock=clock)
    with contextlib.closing(again):
        clock.pass_by(minutes=-90)
        says = "The clock was set back since the last recheck. Press F5."
        assert look_again(again.state, clock(), again.since_look) == says


def test_crash_in_our_own_code(tmp_path: Path) -> None:
    site = site_with(tmp_path / "job", 1)
    program = (sys.executable, "-m", "tests.faults.crashing")
    says = "gradecheck failed and had to end. {} readings on this job are saved. The details are in {}."
    with opened(site, *program) as terminal:
        read(terminal, site, 1)
        terminal.send(site.rods[2].encode() + UP)
        assert terminal.wait() == 3
        terminal.kill()
        _, _, after = terminal.output().partition(SCREEN_LEFT)
    plain = after.decode().replace("\r\n", "\n")
    [details] = crash.reports()
    assert says.format(2, details) in plain
    assert "Traceback" not in plain
    assert site.recorded() == site.expected(2)
    _holds_the_mistake(details)
    details.unlink()
    ran = subprocess.run(
        [*program, "log", str(site.folder)], cwd=ROOT, env=environment(), capture_output=True, text=True, check=False
    )
    [details] = crash.reports()
    assert (ran.returncode, ran.stdout, ran.stderr) == (3, "", says.format(2, details) + "\n")
    _holds_the_mistake(details)
    assert command("verify", site.folder).code == 0


def _holds_the_mistake(details: Path) -> None:
    """Where it happened and what, and nothing of what people keyed."""
    text = details.read_text(encoding="utf-8")
    assert "ZeroDivisionError: a mistake, 21" in text
    assert "crashing.py:" in text
    assert "53-5/16" not in text
