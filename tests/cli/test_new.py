"""`gradecheck new`: a job begun by options or by questions; whole or not at all, and never over anything."""

from __future__ import annotations

import errno
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from gradecheck.actions import Refusal
from gradecheck.cli import main
from gradecheck.cli.new import as_keyed
from gradecheck.files.new_job import begin_job, cannot_begin
from gradecheck.plan.load import load_plan
from gradecheck.plan.starter import Answers, starter_text
from tests.thorough import some

if sys.platform != "win32":
    from tests.pty.terminal import Terminal, gradecheck_command

Out = pytest.CaptureFixture[str]
CTRL_C, CTRL_D = b"\x03", b"\x04"
QUESTIONS = (
    "Job name, as printed on reports? [Alder yard]",
    "Which unit are lengths entered and shown in? [in]",
    "Which benchmark is elevation zero? [DOOR]",
    "What is that mark, so that anyone finds it? [threshold of the door]",
    "What is the first area called? [patio]",
    "What kind of area is “patio”? [patio]",
    "Name another area, or Enter for no more.",
    "What layers go under the patio? [pavers]",
    "Tolerance for finish, plus or minus? [3/16 in]",
    "Tolerance for bedding, plus or minus? [1/4 in]",
    "Tolerance for base, plus or minus? [3/8 in]",
    "Tolerance for subgrade, plus or minus? [1/2 in]",
    "Smallest division on the rod? [1/16 in]",
    "Which codes do the drawings name? One or several, with commas. [none]",
)


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder in which the command is given."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def everything(folder: Path) -> set[str]:
    """Every file and folder below, by its path from there."""
    return {each.relative_to(folder).as_posix() for each in folder.rglob("*")}


def refused(capsys: Out, *arguments: str) -> str:
    """What the command says when it begins nothing."""
    before = everything(Path())
    assert main(["new", *arguments]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.splitlines()) == 1
    assert everything(Path()) == before
    return told.err.rstrip("\n")


# -- by options


def test_a_job_is_begun_and_what_comes_next_is_said(capsys: Out) -> None:
    assert main(["new", "alder-yard"]) == 0
    job = Path("jobs", "alder-yard")
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith(f"{job / 'job.yaml'} is written.")
    assert [line.split("#")[0].rstrip() for line in lines[2:]] == [
        f"  gradecheck examine {job}",
        f"  gradecheck targets {job}",
        f"  gradecheck open {job}",
    ]
    assert everything(Path()) == {
        "jobs",
        job.as_posix(),
        f"{job.as_posix()}/job.yaml",
        f"{job.as_posix()}/job.schema.json",
    }
    assert load_plan(job / "job.yaml").plan.job == "Alder yard"


def own_figures(job: Path) -> None:
    """Takes the marks of examples out, as if somebody had looked at each line."""
    text = (job / "job.yaml").read_text(encoding="utf-8")
    (job / "job.yaml").write_text(re.sub("<--$", "", text, flags=re.MULTILINE), encoding="utf-8")


def test_a_new_job_is_at_fault_only_for_its_examples(capsys: Out) -> None:
    assert main(["new", "yard"]) == 0
    capsys.readouterr()
    assert main(["examine", "jobs/yard"]) == 1
    first, *lines = capsys.readouterr().out.splitlines()
    faults = [line for line in lines if ": fault: " in line]
    assert first == f"Yard: 25 points in 1 area, {len(faults)} faults."
    assert len(faults) == (Path("jobs/yard/job.yaml").read_text(encoding="utf-8")).count("  # <--\n")
    own_figures(Path("jobs/yard"))
    assert main(["examine", "jobs/yard"]) == 0
    told, unchecked = capsys.readouterr().out.splitlines()
    assert told == "Yard: 25 points in 1 area, no issues found."
    assert "NOT CHECKED: patio: no code is named for the slope near a building; name what the drawings" in unchecked
    assert main(["new", "court", "--codes", "us-residential"]) == 0
    own_figures(Path("jobs/court"))
    capsys.readouterr()
    assert main(["examine", "jobs/court"]) == 0
    assert capsys.readouterr().out == "Court: 25 points in 1 area, no issues found.\n"


def test_every_option_is_in_the_plan(capsys: Out) -> None:
    options = ["--in", "office", "--title", "Mill Lane", "--units", "mm", "--zero", "KERB = cross on the kerb"]
    options += ["--area", "north: court:Driveway", "--area", "deck:pool  deck", "--json"]
    options += ["--codes", "us-accessible, us-res"]
    assert main(["new", "mill lane", *options]) == 0
    job = Path("office", "mill lane")
    assert json.loads(capsys.readouterr().out) == {
        "job": str(job),
        "file": str(job / "job.yaml"),
        "title": "Mill Lane",
        "areas": [{"name": "north: court", "kind": "driveway"}, {"name": "deck", "kind": "pool deck"}],
    }
    plan = load_plan(job / "job.yaml").plan
    assert (plan.job, plan.notation.units) == ("Mill Lane", "mm")
    assert plan.benchmarks["KERB"].what == "cross on the kerb"
    assert plan.codes == ("us-accessible", "us-residential")
    assert {name: area.use for name, area in plan.areas.items()} == {
        "north: court": "driveway",
        "deck": "pool deck",
    }


@pytest.mark.parametrize("name", ["mill lane", "R&D", "it's", "$HOME", "`ls`", "a;b", "(b)", "庭", "a#b", "!1"])
@pytest.mark.skipif(os.name == "nt", reason="there is no sh there")
def test_what_comes_next_can_be_keyed_as_it_is_shown(name: str, capsys: Out) -> None:
    assert main(["new", name]) == 0
    shown = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("  gradecheck open "))
    told = shown.replace("gradecheck open", "printf %s")
    assert subprocess.run(["sh", "-c", told], capture_output=True, check=True).stdout.decode() == f"jobs/{name}"


@pytest.mark.parametrize(
    ("path", "keyed"),
    [
        (r"jobs\alder-yard", r"jobs\alder-yard"),
        (r"C:\jobs\庭", r"C:\jobs\庭"),
        (r"jobs\mill lane", r'"jobs\mill lane"'),
        (r"jobs\R&D", r'"jobs\R&D"'),
    ],
)
def test_on_windows_a_path_is_put_in_its_own_quotes(path: str, keyed: str) -> None:
    assert as_keyed(path, windows=True) == keyed


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["con.txt"], "“con.txt” is a name that Windows keeps for itself; take another."),
        (["yard."], "“yard.” begins or ends with a space, or ends with a dot; write it without."),
        (["a\x1bb"], "This name has a character in it that can't be seen; write it without."),
        (["../yard"], "“../yard” is not a plain folder name, it has a / in it; write it without."),
        (["yard", "--zero", "1A"], "“1A” could be taken for a reading; begin a point or mark with a letter."),
        (["yard", "--title", "a\nb"], "This title has a character in it that can't be seen; write it without."),
        (
            ["yard", "--area", "terrace"],
            "“terrace” is not NAME:KIND, for example terrace:patio; "
            "KIND is patio, walk, driveway, steps, ramp or pool deck.",
        ),
        (
            ["yard", "--area", "a:walk", "--area", "A:patio"],
            "Two areas are called “A”; give each a name of its own.",
        ),
    ],
)
def test_what_can_not_be_begun_is_refused_and_nothing_is_written(
    capsys: Out, arguments: list[str], says: str
) -> None:
    assert refused(capsys, *arguments) == says


# -- never over anything


def test_a_job_that_is_there_is_not_touched(capsys: Out) -> None:
    job = Path("jobs", "yard")
    job.mkdir(parents=True)
    (job / "job.yaml").write_text("mine", encoding="utf-8")
    says = f"There is a job.yaml in {job} already; nothing is written over it, so take another name."
    assert refused(capsys, "yard") == says
    assert (job / "job.yaml").read_text(encoding="utf-8") == "mine"


def test_a_journal_without_its_job_file_is_not_given_another_plan(capsys: Out) -> None:
    job = Path("jobs", "yard")
    job.mkdir(parents=True)
    (job / "journal.db").write_bytes(b"kept")
    says = f"There is a journal in {job} already, of another plan; take another name."
    assert refused(capsys, "yard") == says


def test_a_folder_of_drawings_takes_the_job_file_beside_them(capsys: Out) -> None:
    job = Path("jobs", "yard")
    job.mkdir(parents=True)
    (job / "plan.pdf").write_bytes(b"kept")
    assert main(["new", "yard"]) == 0
    assert everything(job) == {"plan.pdf", "job.yaml", "job.schema.json"}
    assert (job / "plan.pdf").read_bytes() == b"kept"


@pytest.mark.parametrize("file", ["jobs", "jobs/yard"])
def test_a_file_in_the_place_of_a_folder_is_said_and_kept(capsys: Out, file: str) -> None:
    Path(file).parent.mkdir(exist_ok=True)
    Path(file).write_bytes(b"kept")
    assert refused(capsys, "yard") == f"{Path(file)} is a file, not a folder; take another name."
    assert Path(file).read_bytes() == b"kept"


def test_a_link_that_leads_nowhere_is_not_written_through() -> None:
    job = Path("jobs", "yard")
    job.mkdir(parents=True)
    try:
        (job / "job.yaml").symlink_to("elsewhere.yaml")
    except OSError:
        pytest.skip("links are not to be had here")
    with pytest.raises(Refusal, match="already"):
        begin_job(Path("jobs"), "yard", "text")
    assert everything(job) == {"job.yaml"}


def test_a_job_begun_by_another_in_the_same_moment_is_not_written_over(monkeypatch: pytest.MonkeyPatch) -> None:
    linked = os.link

    def after_another(source: str, target: str, **where: Any) -> None:
        Path("jobs", "yard", target).write_bytes(b"theirs")
        linked(source, target, **where)

    monkeypatch.setattr(os, "link", after_another)
    with pytest.raises(Refusal, match="could not be written"):
        begin_job(Path("jobs"), "yard", "mine")
    assert Path("jobs", "yard", "job.yaml").read_bytes() == b"theirs"
    assert everything(Path("jobs")) == {"yard", "yard/job.yaml"}


# -- whole or not at all


@pytest.mark.parametrize("call", ["fsync", "link"])
@pytest.mark.parametrize("interrupted", [False, True], ids=["disk full", "interrupted"])
def test_what_can_not_be_written_leaves_no_trace(
    monkeypatch: pytest.MonkeyPatch, call: str, interrupted: bool
) -> None:
    wrong = KeyboardInterrupt() if interrupted else OSError(errno.ENOSPC, "No space left on device")

    def fails(*_: object, **__: object) -> None:
        raise wrong

    monkeypatch.setattr(os, call, fails)
    monkeypatch.setattr(os, "rename", fails)  # where a file can't have two names
    with pytest.raises(KeyboardInterrupt if interrupted else Refusal):
        begin_job(Path("jobs", "2026"), "yard", "text")
    assert everything(Path()) == set()


def test_where_a_file_can_have_one_name_only_the_job_is_begun_too(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", fails)
    job = begin_job(Path("jobs"), "yard", "text")
    assert everything(job) == {"job.yaml", "job.schema.json"}
    assert (job / "job.yaml").read_text(encoding="utf-8") == "text"
    assert cannot_begin(Path("jobs"), "yard")


def test_the_file_is_utf_8_with_plain_line_ends() -> None:
    text = starter_text(Answers(title="Höfe 庭"))
    job = begin_job(Path("jobs"), "hof", text)
    assert (job / "job.yaml").read_bytes() == text.encode()
    assert b"\r" not in text.encode()


# -- the questions


@pytest.fixture
def terminal(here: Path, monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """The command at a terminal, in the folder of the test."""
    if sys.platform == "win32":
        pytest.skip("terminals of this kind are there on Linux and macOS")
    return Terminal(gradecheck_command("new", "alder-yard"), columns=100, lines=60)


def test_each_question_shows_its_default_and_enter_takes_it(terminal: Terminal, here: Path) -> None:
    with terminal:
        for question in QUESTIONS:
            terminal.wait_for(question)
            terminal.send(b"\r")
        assert terminal.wait() == 0
        assert "is written." in terminal.text()
    written = (here / "jobs" / "alder-yard" / "job.yaml").read_text(encoding="utf-8")
    assert written == starter_text(Answers(title="Alder yard"))


def test_a_wrong_answer_is_asked_again_with_one_sentence(terminal: Terminal, here: Path) -> None:
    with terminal:
        terminal.wait_for(QUESTIONS[0])
        terminal.send("Höfe: “north” #2\r".encode())
        terminal.wait_for(QUESTIONS[1])
        terminal.send(b"yards\r")
        terminal.wait_for("“yards” is not a choice here; write in, ft-in, ft, mm, cm or m.")
        terminal.wait_for(lambda screen: sum(QUESTIONS[1] in line for line in screen.display) == 2)
        terminal.send(b"cm\r" + b"\r" * (len(QUESTIONS) - 2))
        assert terminal.wait() == 0
    plan = load_plan(here / "jobs" / "alder-yard" / "job.yaml").plan
    assert (plan.job, plan.notation.units) == ("Höfe: “north” #2", "cm")


@pytest.mark.parametrize("key", [CTRL_C, CTRL_D], ids=["Ctrl+C", "end of input"])
@pytest.mark.parametrize("answered", some([0, 5, len(QUESTIONS) - 1], [5]))
def test_giving_up_writes_nothing(terminal: Terminal, here: Path, key: bytes, answered: int) -> None:
    with terminal:
        for question in QUESTIONS[:answered]:
            terminal.wait_for(question)
            terminal.send(b"\r")
        terminal.wait_for(QUESTIONS[answered])
        # Between a question and the waiting for its answer Python takes no notice of a Ctrl+C until the next key;
        # nobody presses it within those microseconds.
        terminal.settle()
        terminal.send(key)
        assert terminal.wait() == 2
        assert "Not begun; nothing was written." in terminal.text()
        assert "Traceback" not in terminal.text()
    assert everything(here) == set()


def test_with_an_answer_among_the_options_nothing_is_asked(here: Path) -> None:
    if sys.platform == "win32":
        pytest.skip("terminals of this kind are there on Linux and macOS")
    with Terminal(gradecheck_command("new", "yard", "--in", "office", "--units", "m"), columns=100) as terminal:
        assert terminal.wait() == 0
        assert "?" not in terminal.text()
    assert load_plan(here / "office" / "yard" / "job.yaml").plan.notation.units == "m"


def test_without_a_terminal_nothing_is_asked(capsys: Out, monkeypatch: pytest.MonkeyPatch) -> None:
    def asked(_: str) -> str:
        raise AssertionError("a question without anyone to answer it")

    monkeypatch.setattr("builtins.input", asked)
    assert main(["new", "yard"]) == 0
    assert load_plan(Path("jobs", "yard", "job.yaml")).plan.job == "Yard"
