"""`line`: the same day by lines as by commands; what is said, saved and refused, through a pipe and in a terminal."""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.cli.line import WORDS, LineCheck
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import CautionsRead, Entry, Reading
from gradecheck.session.session import Session
from gradecheck.system.settings import Settings
from tests.app.driving import JOB, Clock, readings, ready_job, write_job
from tests.pty.terminal import Terminal, gradecheck_command

Out = pytest.CaptureFixture[str]


class Told(list[str]):
    """What was said, a prompt and its line together; with the journal's length when each was said."""

    def __init__(self, job: Path) -> None:
        super().__init__()
        self.job = job
        self.saved: list[int] = []

    def say(self, text: str, *, end: str = "\n") -> None:
        self.append(text)
        self.saved.append(len(readings(self.job)))

    def about(self, beginning: str) -> list[str]:
        return [text for text in self if text.startswith(beginning)]


def typed(job: Path, *lines: str, by: str = "RK", clock: Callable[..., object] | None = None) -> Told:
    """What the loop says to those lines, which end there."""
    told, rest = Told(job), iter([f"{line}\n" for line in lines])
    session = Session(job, by=by, clock=clock or Clock())  # type: ignore[arg-type]
    with closing(session):
        LineCheck(session, Settings(), lambda: next(rest, ""), told.say).run()
    return told


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return ready_job(tmp_path / "court", Clock())


def rods(job: Path) -> list[str]:
    """What was typed of each reading."""
    return [typed for _point, _stage, typed in readings(job)]


def facts(job: Path) -> list[str]:
    """The entries but for times, ids and the signature under the cautions, which commands only tell."""
    with closing(Session(job)) as session:
        entries = list(session.journal.entries())
    kept = [entry for entry in entries if not isinstance(entry.fact, CautionsRead)]
    told = [f"{entry.by} {entry.typed} {entry.replaces} {entry.fact}" for entry in kept]
    for place, entry in enumerate(kept):
        told = [each.replace(entry.id, f"entry {place}") for each in told]
    return told


def test_a_day_by_lines_through_a_pipe_is_the_same_day_by_commands(tmp_path: Path, capsys: Out) -> None:
    lines, commands = (write_job(tmp_path / name) for name in ("lines", "commands"))
    day = (
        "RK\nback\nsetup DOOR=50 PIN=54-3/8\nyard\nsubgrade\nY1\n60-5/8\n61\nstage\nY2\n53-1/4\n*\n53\nundo\n"
        "recheck DOOR=50-1/16\nmark TP1=49\narea\nP1\n51-1/2\nrecheck DOOR=52\ndoubt the rod stood on a stone\n"
    )
    ran = subprocess.run(
        [sys.executable, "-m", "gradecheck", "line", str(lines), "--by", "RK"],
        input=day, capture_output=True, text=True, check=False, encoding="utf-8",
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "\x1b" not in ran.stdout
    done = [
        ["setup", "DOOR=50", "PIN=54-3/8"],
        ["read", "Y1=60-5/8", "--stage", "subgrade"],
        ["read", "Y2=61", "--stage", "subgrade"],
        ["read", "Y2=53-1/4", "--stage", "base"],
        ["strike", "5", "--why", "struck at once"],
        ["read", "Y2=53", "--stage", "base"],
        ["undo"],
        ["recheck", "DOOR=50-1/16"],
        ["mark", "TP1=49"],
        ["read", "P1=51-1/2", "--stage", "finish"],
        ["recheck", "DOOR=52"],
    ]
    for verb, *given in done:
        assert main([verb, str(commands), *given, "--by", "RK"]) in (0, 1), (verb, capsys.readouterr().err)
    by_lines, by_commands = facts(lines), facts(commands)
    assert len(by_commands) == len(done) + 1, "and the plan's text"
    assert by_lines[: len(by_commands)] == by_commands
    [answered] = by_lines[len(by_commands) :]
    assert "the rod stood on a stone" in answered


def test_what_is_said_to_a_reading_is_what_the_screen_says_and_is_saved_by_then(job: Path) -> None:
    told = typed(job, "51", "51-1/2", "51-3/4", "?", "")
    assert told[:3] == ["Quillmere Court. Type ? for what can be typed; quit or Ctrl+D leaves.",
                        "Local code and the drawings decide.", "path, finish: 0 of 3 read."]  # fmt: skip
    assert told[3:9] == [
        "P1 (by the hall): the rod should read 51",
        "P1 reads: ",
        "P1 finish: ON GRADE",
        "  read 51 in, off 0, found −1 in, allowed ±1/8, saved 07:30",
        "P2 (half way): the rod should read 51 1/2",
        "P2 reads: ",
    ]
    assert told.about("P3 finish: ") == ["P3 finish: CUT 1/4"]
    assert told.about("All 3 checked at finish, 1 out. F3 next stage, F2 next area; P3 (at the gate): 52")
    saved = [count for text, count in zip(told, told.saved, strict=True) if ": ON GRADE" in text or ": CUT" in text]
    assert saved == [1, 2, 3], "each was on the disk when its verdict was said"
    assert "P3 is the only one left." in told
    assert all(any(text.startswith(f"  {word}, ") for text in told) for word in WORDS)
    assert told[-1] == "Everything entered is saved."


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (["51/0"], "51/0 is on no tape; "),
        (["51 ½½"], "“51 ½½”"),
        (["zz"], "There is no point “zz” in this job."),
        (["DOOR"], "DOOR is a benchmark; press F4 to set up on it."),
        (["f6"], "F6 is on the screen alone; the command is: gradecheck log "),
        (["ctrl+t"], "Ctrl+T is on the screen alone. Type ? for what can be typed."),
        (["doubt"], "Nothing is in doubt."),
        (["*"], "There is no reading to strike."),
        (["undo"], "RK has no reading or strike to undo."),
        (["recheck XX=50"], "There is no mark “XX”"),
        (["setup DOOR"], "“DOOR” is not NAME=READING"),
        (["setup DOOR=50 PIN=60"], "The marks disagree"),
        (["mark P1=50"], "“P1” is a point or benchmark of the plan already"),
        (["5" * 201], "Too long: 200 characters at most. Nothing was taken."),
        (["51\x1b[2J"], "That has a character in it that can't be seen; "),
        (["person", "R$K", "RK"], "Initials are one to 8 letters, for example RK."),
    ],
)  # fmt: skip
def test_what_can_not_be_done_is_one_sentence_and_changes_nothing(job: Path, lines: list[str], says: str) -> None:
    with closing(Session(job)) as session:
        before = session.seq
    told = typed(job, *lines)
    assert any(text.startswith(says) for text in told), told
    assert readings(job) == []
    with closing(Session(job)) as session:
        assert session.seq == before + (lines[0] == "person")


def test_a_figure_that_stops_is_kept_by_enter_alone_and_by_nothing_else(job: Path) -> None:
    typed(job, "51", "120", "P2", "120", "")
    assert rods(job) == ["51", "120"]
    typed(job, "P3", "125", "52")
    assert rods(job) == ["51", "120", "52"]


def test_what_could_not_be_written_is_written_by_enter_alone_once(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    record, fails = Session.record, iter([True, True, False])

    def sometimes(self: Session, *given: object) -> Entry:
        if any(isinstance(getattr(each, "fact", None), Reading) for each in given) and next(fails, False):
            raise JournalError("The disk is full.")
        return record(self, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(Session, "record", sometimes)
    told = typed(job, "51", "", "", "52")
    assert told.count("NOT SAVED. Press Enter alone to save it again.") == 2
    assert told.about("P1 finish: ") == ["P1 finish: ON GRADE"]
    assert rods(job) == ["51", "52"]


def test_a_setup_is_asked_for_mark_by_mark_and_a_failed_recheck_leaves_doubt_to_answer(tmp_path: Path) -> None:
    job = write_job(tmp_path / "court")
    morning = ("x9$", "", "50", "*", "50", "PIN=54-3/8", "PIN", "54-3/8", "", "51")
    kicked = ("f5", "49", "51-1/2", "doubt", "read before the kick", "51")
    told = typed(job, *morning, *kicked, "f4", "DOOR", "50", "60", "", "", "the peg is bent", "52")
    assert "Initials are one to 8 letters, for example RK." in told
    assert told.about("Struck: DOOR=50. It stays in the log.")
    assert any("read already; to replace that, what does" in text for text in told)
    assert "site rod on DOOR 50 in, PIN 54 3/8 in; HI 50 in" in told
    assert told.about("DOOR is OFF BY 1 in")
    assert "The laser may have moved; set up again before you read on." in told
    assert "In doubt: P1 finish." in told
    assert "Trusted: read before the kick." in told
    assert told.about("The marks disagree by")
    with closing(Session(job)) as session:
        assert session.state.setup is not None
        assert session.state.setup.fact.why == "the peg is bent"
    assert rods(job) == ["51", "52"]


def test_ctrl_c_says_how_to_leave_and_goes_on(job: Path) -> None:
    lines: Iterator[object] = iter([KeyboardInterrupt(), "51\n", "quit\n", "52\n"])

    def read() -> str:
        each = next(lines)
        if isinstance(each, BaseException):
            raise each
        return str(each)

    told = Told(job)
    with closing(Session(job, by="RK", clock=Clock())) as session:
        LineCheck(session, Settings(), read, told.say).run()
    assert "quit or Ctrl+D leaves; everything entered is saved." in told
    assert rods(job) == ["51"]


def test_bytes_that_are_no_text_and_lines_of_windows_are_taken_as_lines(
    job: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    stdin = io.TextIOWrapper(
        io.BytesIO("RK\r\nDOOR=50\r\n\r\n51\r\n\xff\xfe\r\n".encode("latin-1")), encoding="utf-8"
    )
    monkeypatch.setattr("sys.stdin", stdin)
    assert main(["line", str(job), "--by", "RK"]) == 0
    assert "P1 reads: 51\nP1 finish: ON GRADE\n" in capsys.readouterr().out
    assert rods(job) == ["51"]


def test_in_a_terminal_nothing_is_drawn_and_ctrl_d_leaves(tmp_path: Path) -> None:
    job = write_job(tmp_path / "court", JOB)
    with Terminal(gradecheck_command("line", str(job), "--by", "RK"), changes={"TERM": "dumb"}) as terminal:
        answers = {"initials:": b"\n", "DOOR reads:": b"50\n", "PIN reads:": b"\n", "P1 reads:": b"51\n"}
        for question, answer in answers.items():
            terminal.wait_for(question)
            terminal.send(answer)
        terminal.wait_for("P2 reads:")
        terminal.send(b"\x04")
        assert terminal.wait() == 0
        terminal.kill()
        assert "P1 finish: ON GRADE" in terminal.text()
        assert b"\x1b" not in terminal.output()
    assert rods(job) == ["51"]


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("help", "A reading, as on the screen"),
        ("next", "P2 "),
        ("skip", "P2 "),
        ("save", "Everything entered is saved."),
        ("report", "That is a command of its own: gradecheck report "),
        ("read P2=51", "That is a command of its own: gradecheck read "),
        ("P2 51", "Type P2 alone to go there, then the reading. Nothing was recorded."),
        ("P2=51", "Type P2 alone to go there, then the reading. Nothing was recorded."),
        ("strik", "There is no point “strik” in this job. Did you mean “strike”?"),
        ("xyzzy", "There is no point “xyzzy” in this job. Type ? for what can be typed."),
    ],
)
def test_a_word_that_people_try_is_understood_or_says_what_to_type(job: Path, word: str, says: str) -> None:
    before = rods(job)
    told = typed(job, "P1", word, "quit")
    assert told.about(says), told
    assert rods(job) == before


def test_back_goes_to_the_point_before_and_exit_leaves(job: Path) -> None:
    told = typed(job, "P2", "back", "exit", "51")
    assert [text for text in told if text.endswith("reads: ")][-1] == "P1 reads: "
    assert told[-1] == "Everything entered is saved."
    assert rods(job) == []


@pytest.mark.parametrize("question", ["recheck", "mark", "setup"])
def test_what_is_not_understood_in_a_question_is_asked_again_and_never_goes_to_the_point(
    job: Path, question: str
) -> None:
    told = typed(job, "P1", question, "help", "fifty ?", "hello", "back", "quit")
    asked = [text for text in told if text.endswith(" reads: ")]
    assert len([text for text in asked if not text.startswith("P")]) == 4
    assert told.about("A reading")
    assert rods(job) == []


def test_undo_while_setting_up_strikes_the_last_backsight(tmp_path: Path) -> None:
    job = write_job(tmp_path / "court")
    typed(job, "RK", "50", "undo", "49", "", "quit")
    with closing(Session(job)) as session:
        assert session.state.setup is not None
        assert [sight.rod.mm for sight in session.state.setup.fact.backsights] == [1244.6]  # 49 in
