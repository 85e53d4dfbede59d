"""Terminals of every kind get the prompt or one sentence, and nothing in a job reaches them as a command."""

from __future__ import annotations

import re
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

from tests.pty.site import PROMPT, make_ready, ready_border
from tests.pty.terminal import Terminal, environment, gradecheck_command
from tests.thorough import some

REFUSED = "The app needs a terminal; the commands do the same without one: gradecheck --help"
# A whole sequence: a command with its parameters, a string with its end, or another escape.
_SEQUENCE = re.compile(
    r"\x1b\[[0-?]*[ -/]*[@-~]"
    r"|[\x1b][\]PX^_][^\x07\x1b]*(?:\x07|\x1b\\)?"
    r"|\x1b[ -/]*[0-~]"
)
_STYLE = re.compile(r"\x1b\[([0-9;:]*)m")
_POINTER = "\x1b]22;default\x07"
"""Sets the pointer back to the usual arrow, the one string command that is written at every start."""


def sequences(output: bytes) -> list[str]:
    """Every escape sequence in what was written."""
    return _SEQUENCE.findall(output.decode())


def colours(output: bytes) -> set[tuple[int, int, int]]:
    """Every colour of the sixteen million that was asked for."""
    found = re.findall(r"[34]8;2;(\d+);(\d+);(\d+)", " ".join(_STYLE.findall(output.decode())))
    return {(int(red), int(green), int(blue)) for red, green, blue in found}


@pytest.fixture
def job(tmp_path: Path) -> str:
    """A job that opens on its Check screen."""
    return str(ready_border(tmp_path / "job", 20).folder)


# -- kinds of terminal


def shown(job: str, changes: dict[str, str | None]) -> bytes:
    """What is written until the prompt stands and a reading is answered."""
    with Terminal(gradecheck_command("open", job), changes=changes) as terminal:
        terminal.wait_for(PROMPT)
        terminal.settle()
        terminal.send(b"50-1/16\r")
        terminal.wait_for("saved")
        terminal.wait_for("= on grade")  # the list is drawn behind the panel
        return terminal.output()


@pytest.mark.thorough
def test_a_terminal_with_all_colours_gets_the_prompt_in_colour(job: str) -> None:
    assert any(len(set(colour)) > 1 for colour in colours(shown(job, {"COLORTERM": "truecolor"})))


@pytest.mark.thorough
def test_with_no_color_the_prompt_comes_in_black_white_and_grey(job: str) -> None:
    output = shown(job, {"NO_COLOR": "1"})
    assert all(len(set(colour)) == 1 for colour in colours(output))
    codes = {code for style in _STYLE.findall(output.decode()) for code in style.split(";") if "8;" not in style}
    assert not codes & {str(code) for code in (*range(31, 37), *range(41, 47), *range(91, 97))}


def test_a_console_of_sixteen_colors_gets_none_it_does_not_know(job: str) -> None:
    output = shown(job, {"TERM": "linux", "COLORTERM": None})
    assert not any(style.startswith(("38;", "48;")) or ";38;" in style for style in _STYLE.findall(output.decode()))


@pytest.mark.parametrize("size", some([(80, 24), (60, 20), (200, 60)], [(60, 20)]), ids="{0[0]}x{0[1]}".format)
def test_the_prompt_and_the_box_are_in_sight_in_a_window_of_that_size(job: str, size: tuple[int, int]) -> None:
    columns, lines = size
    with Terminal(gradecheck_command("open", job), columns=columns, lines=lines) as terminal:
        terminal.wait_for(PROMPT)
        terminal.settle()
        terminal.send(b"51-1")
        terminal.wait_for("51-1")


@pytest.mark.thorough
def test_a_terminal_that_answers_what_it_is_asked_gets_the_prompt_too(job: str) -> None:
    with Terminal(gradecheck_command("open", job)) as terminal:
        terminal.wait_for(PROMPT)
        # It can show a whole picture at once, and does not tell its size by itself.
        terminal.send(b"\x1b[?2026;2$y\x1b[?2048;0$y")
        terminal.settle()
        terminal.send(b"50-1/16\r")
        terminal.wait_for("saved")
        assert b"\x1b[?2026h" in terminal.output()


def test_a_terminal_that_can_only_print_is_refused_with_one_sentence(job: str) -> None:
    with Terminal(gradecheck_command("open", job), changes={"TERM": "dumb"}) as terminal:
        assert terminal.wait() == 2
        terminal.kill()
        assert terminal.output().decode().splitlines() == [REFUSED]


@pytest.mark.parametrize("command", some([["open"], ["jobs"], []], [[]]), ids=["open", "jobs", "no command"])
def test_without_a_terminal_it_is_refused_with_one_sentence(job: str, command: list[str]) -> None:
    run = subprocess.run(
        gradecheck_command(*command, job), env=environment(), input="", capture_output=True, text=True, timeout=60
    )
    assert run.returncode == 2
    assert run.stderr.splitlines() == [REFUSED]
    assert run.stdout == ""


def test_the_sentence_names_the_commands_and_they_work_without_a_terminal(job: str) -> None:
    run = subprocess.run(
        [sys.executable, "-m", *REFUSED.rpartition(": ")[2].split()],
        env=environment(), capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    assert "open" in run.stdout


# -- text from a job is text

HOSTILE = """\
job: "[blink]Row[/] [@click=app.quit]x[/] {0} $says %s"
units: in
rods: {"[red]rod[/]": {kind: standard, graduation: 1/16 in}}
benchmarks: {"S[/]": {elevation: 0, what: "[link=https://x.example]sill[/link] 🏗️"}}
tolerances: {finish: 1/8 in}
areas:
  "[/] 池畔 [blink]":
    points:
      "A[/]": {elevation: -1/2, what: "[bold red on yellow]stake"}
      "B[@click=app.quit]": {elevation: -1, what: "\\\\x1b]0;x"}
      "池畔石": {elevation: -1 1/2, what: "ｗｉｄｅ 池畔石"}
      "E\u0301\u0302\u0303": {elevation: -2, what: "e\u0301\u0302\u0303\u0304"}
      "F$x{y}%s": {elevation: -2 1/2, what: "]8;;https://x.example"}
      "G🧱👷🏽": {elevation: -3, what: "[[/]]"}
"""
PLAIN = """\
job: Tillworth Row
units: in
rods: {rod: {kind: standard, graduation: 1/16 in}}
benchmarks: {SILL: {elevation: 0, what: sill}}
tolerances: {finish: 1/8 in}
areas:
  border:
    points:
      A1: {elevation: -1/2, what: stake}
      B1: {elevation: -1, what: stake}
      C1: {elevation: -1 1/2, what: stake}
      E1: {elevation: -2, what: stake}
      F1: {elevation: -2 1/2, what: stake}
      G1: {elevation: -3, what: stake}
"""


def walked(folder: Path, text: str, mark: str, name: str, unknown: str) -> tuple[bytes, str]:
    """Every screen of a job, each of its names shown; what was written, and all texts that stood on the screens."""
    folder.mkdir()
    (folder / "job.yaml").write_text(text, encoding="utf-8")
    make_ready(folder, mark)
    seen = []
    steps = (
        b"50-11/16\r", b"50-1\r", b"52\r", unknown.encode() + b"\r", b"\x15", name.encode() + b"\r",
        b"\x1bOR", b"\x1bOQ", b"\x1b[19~", b"\x1bOP", b"\x1b", b"\x1bOS", b"\x1b", b"\x1b[17~",
        unknown.encode() + b"\r", b"\x1b",
    )  # fmt: skip
    with Terminal(gradecheck_command("open", str(folder)), columns=99, lines=30) as terminal:
        terminal.wait_for(PROMPT)
        terminal.settle()
        for step in steps:
            terminal.send(step)
            terminal.settle(0.25)  # a lone Escape is not taken for one before a tenth of a second
            seen.append(terminal.text())
        terminal.send(b"\x1b[24~")
        assert terminal.wait() == 0, terminal.text()
        terminal.kill()
        return terminal.output(), "\n".join(seen)


@pytest.mark.thorough
def test_names_in_a_job_reach_the_terminal_as_text_and_never_as_a_command(tmp_path: Path) -> None:
    plain, _ = walked(tmp_path / "plain", PLAIN, "SILL", "C1", "Zz9")
    hostile, texts = walked(tmp_path / "[@click=app.quit]", HOSTILE, "S[/]", "池畔石", "Z[/]")
    assert set(sequences(hostile)) <= set(sequences(plain)) | moves(hostile)
    assert {found for found in sequences(hostile) if found[1] in "]PX^_"} == {_POINTER}
    rest = _SEQUENCE.sub("", hostile.decode())
    assert {c for c in rest if unicodedata.category(c) == "Cc"} <= set("\r\n\x07")
    for text in ("A[/]", "B[@clic", "[bold red on yellow]stake", "]8;;https://x.example", "[[/]]", "Z[/]", "S[/]"):
        assert text in texts


def moves(output: bytes) -> set[str]:
    """The sequences that only move the cursor: where names are longer, it goes to other places."""
    return {found for found in sequences(output) if re.fullmatch(r"\x1b\[[0-9;]*H", found)}


@pytest.mark.thorough
def test_a_folder_named_like_a_command_is_listed_as_text(tmp_path: Path) -> None:
    jobs = tmp_path / "jobs"
    for name, text in (("\x1b]0;x\x07[b]\x1b[31m", PLAIN), ("[@click=app.quit]\x9b5m\r\x08", "job: [")):
        (jobs / name).mkdir(parents=True)
        (jobs / name / "job.yaml").write_text(text, encoding="utf-8")
    with Terminal(gradecheck_command("jobs", str(jobs)), columns=120) as terminal:
        terminal.wait_for("Enter opens the job.")
        terminal.settle()
        assert "\ufffd]0;x\ufffd[b]\ufffd[31m: Tillworth Row" in terminal.text()
        terminal.send(b"\x1b[A\r")
        terminal.settle()
        terminal.send(b"\x1b[24~")
        assert terminal.wait() == 0
        terminal.kill()
        assert {found for found in sequences(terminal.output()) if found[1] in "]PX^_"} == {_POINTER}
        rest = _SEQUENCE.sub("", terminal.output().decode())
        assert {c for c in rest if unicodedata.category(c) == "Cc"} <= set("\r\n\x07")
