"""An answer that can't be written never looks like a reading that was not saved."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.journal.damage import without_guards
from tests.thorough import some

Y1 = Surface("yard", "Y1", "finish")

JOB = """\
job: Larkmoor Court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8 in}
areas: {yard: {points: {Y1: -2, Y2: -3}}}
"""

HOW = ("full", "closed", "nobody reads")
"""What may have become of the stream that a command answers on."""

CHANGES = {
    "setup": ("setup", "court", "DOOR=50"),
    "read": ("read", "court", "Y1=52", "Y2=53 1/2", "--json"),
    "recheck": ("recheck", "court", "DOOR=50"),
    "mark": ("mark", "court", "TP1=48"),
    "strike": ("strike", "court", "3", "--why", "try"),
    "day": ("day", "court", "dry", "RK and a mason"),
    "new": ("new", "mews", "--example", "--in", "jobs", "--units", "in", "--zero", "DOOR", "--area", "yard:patio"),
    "copy": ("copy", "court", "other"),
    "rescue": ("rescue", "court", "-o", "rescued.db"),
    "report": ("report", "court", "-o", "day.json"),
    "plan": ("plan", "court", "-o", "plan.txt"),
}
READS = {
    "targets": ("targets", "court"),
    "log": ("log", "court", "--csv"),
    "verify": ("verify", "court", "--json"),
    "review": ("review", "court"),
}


def run(words: Sequence[str], lost: str, stream: int, folder: Path) -> tuple[int, str]:
    """Runs a command whose stream is lost in that way; its exit code and what the other stream says."""
    environment = {**os.environ, "GRADECHECK_BY": "RK", "PYTHONPATH": str(Path(__file__).parents[2])}
    read_end, write_end = os.pipe()
    os.close(read_end)
    where = {"full": os.open("/dev/full", os.O_WRONLY), "nobody reads": write_end}
    streams = {1: "stdout", 2: "stderr"}
    told = {streams[3 - stream]: subprocess.PIPE, streams[stream]: where.get(lost, subprocess.DEVNULL)}
    command = [sys.executable, "-m", "gradecheck", *words]
    if lost == "closed":
        command = ["sh", "-c", f'exec "$@" {stream}>&-', "sh", *command]
    done = subprocess.run(command, cwd=folder, env=environment, check=False, **told)  # type: ignore[call-overload]
    for each in where.values():
        os.close(each)
    return done.returncode, (done.stderr if stream == 1 else done.stdout).decode()


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A folder with a job in it that is set up and has one reading."""
    (tmp_path / "court").mkdir()
    (tmp_path / "court" / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(tmp_path / "court", by="RK")
    session.record(actions.set_up(session.state, "DOOR", "50"))
    session.record(actions.reading(session.state, Y1, "52"))
    session.close()
    return tmp_path


def everything(folder: Path) -> set[str]:
    """What was made in the folder, and how many entries the journal has."""
    session = Session(folder / "court")
    try:
        return {str(each.relative_to(folder)) for each in folder.rglob("*.*") if each.parent.name != "crashes"} | {
            f"{session.seq} entries"
        }
    finally:
        session.close()


@pytest.mark.parametrize("lost", HOW)
@pytest.mark.parametrize("verb", some(sorted(CHANGES), ["read"]))
def test_what_is_saved_though_its_answer_is_lost_ends_with_4(site: Path, verb: str, lost: str) -> None:
    before = everything(site)
    code, told = run(CHANGES[verb], lost, 1, site)
    assert code == 4
    assert "Saved; the answer could not be written" in told
    assert everything(site) != before


@pytest.mark.parametrize("lost", HOW)
@pytest.mark.parametrize("verb", some(sorted(READS), ["review"]))
def test_a_look_whose_answer_is_lost_never_ends_as_if_something_was_saved(site: Path, verb: str, lost: str) -> None:
    before = everything(site)
    code, told = run(READS[verb], lost, 1, site)
    # Whoever stopped reading, as `head` does, has seen enough; what is still open is open all the same.
    assert code == (3 if lost != "nobody reads" else 1 if verb == "review" else 0)
    assert ("could not be written" in told) == (code == 3)
    assert everything(site) == before


@pytest.mark.parametrize("options", [(), ("--json",)])
def test_a_journal_that_is_not_sound_is_never_called_sound_unread(site: Path, options: tuple[str, ...]) -> None:
    with without_guards(site / "court" / "journal.db") as connection:
        connection.execute("UPDATE entry SET typed = '51' WHERE typed = '52'")
    assert run(("verify", "court", *options), "nobody reads", 1, site) == (1, "")


@pytest.mark.parametrize("lost", HOW)
def test_what_can_not_be_said_beside_the_answer_changes_nothing_of_it(site: Path, lost: str) -> None:
    with (site / "court" / "job.yaml").open("a", encoding="utf-8") as file:
        file.write("walls: {house: [[0, 0], [9, 0]]}\n")  # so that there is something to say beside it
    code, told = run(("read", "court", "Y2=53"), lost, 2, site)
    assert code == 0
    assert "ON GRADE" in told
    code, told = run(("read", "court", "Y9=53"), lost, 2, site)
    assert (code, told) == (2, "")
