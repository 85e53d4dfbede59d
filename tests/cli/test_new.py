"""`gradecheck new`: a job begun by options or by questions; whole or not at all, and never over anything."""

from __future__ import annotations

import errno
import os
import re
import subprocess
import sys
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from gradecheck.actions import Refusal
from gradecheck.cli import main
from gradecheck.cli.new import as_keyed
from gradecheck.files.new_job import begin_job, cannot_begin
from gradecheck.plan.load import load_plan
from gradecheck.plan.starter import JobAnswers, starter_text
from tests.cli.asides import answered
from tests.thorough import some

if sys.platform != "win32":
    from tests.pty.terminal import Terminal, gradecheck_command

Out = pytest.CaptureFixture[str]
CTRL_C, CTRL_D = b"\x03", b"\x04"
ASKED = (
    ("Job name, as printed on reports? [Alder yard]", ""),
    ("Which unit are lengths entered and shown in? [in]", ""),
    ("Which benchmark is elevation zero? [DOOR]", ""),
    ("What is that mark, so that anyone finds it? [threshold of the door]", ""),
    ("How far is DOOR from the left end of the house side? Enter: not taped.", "8 ft"),
    ("Name that zero, or Enter for no.", ""),
    ("Which codes do the drawings name? One or several, with commas. [none]", ""),
    ("Smallest division on the rod? [1/16 in]", ""),
    ("What is the first area called? [patio]", ""),
    ("What kind of area is “patio”? [patio]", ""),
    ("How wide, across the way it goes? Or “taped”: its sides and diagonals.", "20 ft"),
    ("How long, the way it goes?", "12 ft"),
    ("How far below DOOR is its finish there? 0 where it is level with it.", "1 1/4"),
    ("How much does it fall the way it goes? A minus rises. [2%]", "1/4 in/ft"),
    ("And across, from left to right? A minus falls to the left. [0%]", ""),
    ("How far apart are the points that are checked? [5 ft]", ""),
    ("What lies under patio, from the finish down?", ""),
    ("Name another area, or Enter for no more.", ""),
    ("Tolerance for finish, plus or minus? [3/16 in]", ""),
    ("Tolerance for bedding, plus or minus? [1/4 in]", ""),
    ("Tolerance for base, plus or minus? [3/8 in]", ""),
    ("Tolerance for subgrade, plus or minus? [1/2 in]", ""),
    (f"Enter writes {Path('jobs', 'alder-yard', 'job.yaml')}", ""),
)
"""Each question as it stands at the terminal, and what is typed."""


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
    assert main(["new", "--example", *arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert len(printed.err.splitlines()) == 1
    assert everything(Path()) == before
    return printed.err.rstrip("\n")


# -- by options


def test_a_job_is_begun_and_what_comes_next_is_said(capsys: Out) -> None:
    assert main(["new", "alder-yard", "--example"]) == 0
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
    assert main(["new", "yard", "--example"]) == 0
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
    assert main(["new", "court", "--example", "--codes", "us-residential"]) == 0
    own_figures(Path("jobs/court"))
    capsys.readouterr()
    assert main(["examine", "jobs/court"]) == 0
    assert capsys.readouterr().out == "Court: 25 points in 1 area, no issues found.\n"


def test_every_option_is_in_the_plan(capsys: Out) -> None:
    options = ["--in", "office", "--title", "Mill Lane", "--units", "mm", "--zero", "KERB = cross on the kerb"]
    options += ["--area", "north: court:Driveway", "--area", "deck:pool  deck", "--json"]
    options += ["--codes", "us-accessible, us-res"]
    assert main(["new", "mill lane", "--example", *options]) == 0
    job = Path("office", "mill lane")
    assert answered(capsys.readouterr().out) == {
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
    assert main(["new", name, "--example"]) == 0
    shown = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("  gradecheck open "))
    text = shown.replace("gradecheck open", "printf %s")
    assert subprocess.run(["sh", "-c", text], capture_output=True, check=True).stdout.decode() == f"jobs/{name}"


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
    assert main(["new", "yard", "--example"]) == 0
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
    text = starter_text(JobAnswers(title="Höfe 庭"))
    job = begin_job(Path("jobs"), "hof", text)
    assert (job / "job.yaml").read_bytes() == text.encode()
    assert b"\r" not in text.encode()


# -- the questions


@pytest.fixture
def terminal(here: Path, monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """The command at a terminal, in the folder of the test."""
    return at_a_terminal(here, monkeypatch)


def at_a_terminal(here: Path, monkeypatch: pytest.MonkeyPatch, *options: str) -> Terminal:
    """The command with those options, its settings in the folder of the test."""
    if sys.platform == "win32":
        pytest.skip("terminals of this kind are there on Linux and macOS")
    monkeypatch.setenv("GRADECHECK_SETTINGS", str(here / "settings"))
    return Terminal(gradecheck_command("new", "alder-yard", *options), columns=120, lines=200)


def answer(terminal: Terminal, asked: Sequence[tuple[str, str]]) -> None:
    """Types an answer to each of these."""
    for question, text in asked:
        terminal.wait_for(question)
        terminal.send(text.encode() + b"\r")


def test_a_plan_is_asked_for_with_its_heights_and_nothing_in_it_is_made_up(terminal: Terminal, here: Path) -> None:
    with terminal:
        answer(terminal, ASKED)
        assert terminal.wait() == 0
        assert "is written; every number in it is one of your answers." in terminal.text()
        assert "patio: 18 points, highest −1 1/4 in, lowest −4 1/4 in" in terminal.text()
    job = here / "jobs" / "alder-yard"
    assert "<--" not in (job / "job.yaml").read_text(encoding="utf-8")
    plan = load_plan(job / "job.yaml").plan
    assert (plan.job, plan.examples) == ("Alder yard", ())
    # By hand: 1 1/4 below the door, and 12 ft of 1/4 in a foot is 3 in more.
    low = min(point.finish.height.metres / Fraction("0.0254") for point in plan.areas["patio"].points)
    assert low == Fraction("-4.25")


def test_a_wrong_answer_is_asked_again_and_any_is_gone_back_to(terminal: Terminal, here: Path) -> None:
    at = [text for text, _ in ASKED].index("How long, the way it goes?")
    with terminal:
        answer(terminal, [ASKED[0], (ASKED[1][0], "yards")])
        terminal.wait_for("“yards” is not a choice here; write in, ft-in, ft, mm, cm or m.")
        answer(terminal, [(ASKED[1][0], ""), *ASKED[2:at], ("How long, the way it goes?", "?")])
        terminal.wait_for(" 11  width: 20 ft")
        answer(terminal, [("How long, the way it goes?", "<11"), ("[20 ft]", "<"), ("What kind", "<99")])
        terminal.wait_for("There are 11 answers so far; ? shows them.")
        answer(terminal, [("What kind", ""), *ASKED[at:-5], ("Tolerance for finish", "6")])
        terminal.wait_for("look at: advice: patio, finish: the tolerance is 6 in")
        for stage in ("bedding", "base", "subgrade"):
            answer(terminal, [(f"Tolerance for {stage}", "")])
        answer(terminal, [(ASKED[-1][0], "<12"), ("[12 ft]", "15 ft")])
        answer(terminal, [(ASKED[-1][0], "")])
        assert terminal.wait() == 0
    plan = load_plan(here / "jobs" / "alder-yard" / "job.yaml").plan
    outline = plan.areas["patio"].outline
    assert outline is not None
    assert outline.area == Fraction("0.3048") ** 2 * 300


@pytest.mark.parametrize("key", [CTRL_C, CTRL_D], ids=["Ctrl+C", "end of input"])
@pytest.mark.parametrize("answered", some([0, 5, len(ASKED) - 1], [5]))
def test_giving_up_writes_nothing_and_is_taken_up_again(
    here: Path, monkeypatch: pytest.MonkeyPatch, key: bytes, answered: int
) -> None:
    with at_a_terminal(here, monkeypatch) as terminal:
        answer(terminal, ASKED[:answered])
        terminal.wait_for(ASKED[answered][0])
        # Between a question and the waiting for its answer Python takes no notice of a Ctrl+C until the next key;
        # nobody presses it within those microseconds.
        terminal.settle()
        terminal.send(key)
        assert terminal.wait() == 2
        says = "Not written yet; the answers are kept, and the same command takes them up again."
        assert (says if answered else "Not started; nothing was written.") in terminal.text()
        assert "Traceback" not in terminal.text()
    assert not (here / "jobs").exists()
    with at_a_terminal(here, monkeypatch) as terminal:
        answer(terminal, ASKED[answered:])
        assert terminal.wait() == 0
        assert (f"Taken up again with {answered} answers." in terminal.text()) is (answered > 0)
    assert load_plan(here / "jobs" / "alder-yard" / "job.yaml").plan.job == "Alder yard"


def test_what_is_given_as_options_is_answered_already(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    given = ("--title", "Mill Lane", "--units", "m", "--zero", "KERB=cross on the kerb", "--codes", "us-comm",
             "--area", "court:patio")  # fmt: skip
    with at_a_terminal(here, monkeypatch, *given) as terminal:
        terminal.wait_for("How far is KERB from the left end of the house side?")
        assert "Job name" not in terminal.text()
        terminal.send(b"\r\r\r")
        terminal.wait_for("How wide, across the way it goes?")
        terminal.send(CTRL_C)
        assert terminal.wait() == 2


def test_without_a_terminal_nothing_is_asked_and_nothing_made_up(
    capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    def asked(_: str) -> str:
        raise AssertionError("a question without anyone to answer it")

    monkeypatch.setattr("builtins.input", asked)
    for more in ((), ("--json",), ("--units", "m", "--area", "yard:patio")):
        assert main(["new", "yard", *more]) == 2
        printed = capsys.readouterr()
        assert "There is no terminal to ask at; --example writes a file of examples" in printed.out + printed.err
    assert everything(Path()) == set()
    assert main(["new", "yard", "--example"]) == 0
    assert load_plan(Path("jobs", "yard", "job.yaml")).plan.examples != ()
