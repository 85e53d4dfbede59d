"""What lies beside a journal, or in its place: looked at before SQLite sees it, and left as it is where said so."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.journal.errors import JournalError
from gradecheck.journal.recovery.backup import backups, keep_copy
from gradecheck.journal.recovery.health import examine
from gradecheck.journal.store import Journal, NotSavedError
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.session import Session
from gradecheck.system import settings
from tests.app.driving import write_job
from tests.faults.planted import cut_off, log_of, naming
from tests.faults.rows import only_readable
from tests.journal.damage import write
from tests.journal.drafts import notes
from tests.thorough import some
from tests.whole import has

OURS = pytest.mark.parametrize("ours", [True, False], ids=["our folder", "a stranger's"])


def tree(folder: Path) -> dict[str, str]:
    """Every file by the hash of its content."""
    return {str(each): hashlib.sha256(each.read_bytes()).hexdigest() for each in folder.rglob("*") if each.is_file()}


@pytest.fixture
def mailed(path: Path) -> Path:
    """Seven entries."""
    write(path, 7)
    return path


def ids(path: Path) -> list[str]:
    with contextlib.closing(Journal(path)) as journal:
        return [entry.id for entry in journal.entries()]


def plant(path: Path, what: str, tmp_path: Path) -> None:
    """Puts something beside the journal."""
    if what == "super-journal":
        (tmp_path / "victim").write_text("kept")
        rollback = cut_off(path, tmp_path / "meanwhile", written=False)
        path.with_name("journal.db-journal").write_bytes(naming(rollback, tmp_path / "victim"))
    elif what == "another job's":
        other = tmp_path / "elsewhere" / "journal.db"
        other.parent.mkdir()
        write(other, 4, first=50)
        shutil.move(str(_rollback_of(other, tmp_path)), path.with_name("journal.db-journal"))
    elif what == "log":
        path.with_name("journal.db-wal").write_bytes(log_of(path, tmp_path / "meanwhile"))
    elif what == "page size":
        rollback = bytearray(cut_off(path, tmp_path / "meanwhile", written=False))
        rollback[24:28] = (8192).to_bytes(4, "big")
        path.with_name("journal.db-journal").write_bytes(rollback)
    else:
        os.mkfifo(path.with_name("journal.db-shm"))


def _rollback_of(other: Path, tmp_path: Path) -> Path:
    cut_off(other, tmp_path / "meanwhile")
    return other.with_name("journal.db-journal")


PLANTED = pytest.mark.parametrize("what", ["super-journal", "another job's", "log", "page size", "pipe"])


@PLANTED
@OURS
def test_what_is_planted_beside_a_journal_is_obeyed_nowhere(
    mailed: Path, tmp_path: Path, what: str, *, ours: bool
) -> None:
    plant(mailed, what, tmp_path)
    if not ours:
        settings.forget(mailed.parent)
    before = tree(tmp_path)
    if ours:
        with pytest.raises(JournalError, match=r"all was left as it is\. Move that file out of the folder"):
            Journal(mailed)
        with pytest.raises(JournalError, match="left as it is"):
            examine(mailed)
    else:
        with contextlib.closing(Journal(mailed)) as journal:
            assert "beside the log; gradecheck didn't make that, so it was left out." in journal.said
            assert journal.verify().fault is None
            assert [entry.id for entry in journal.entries()] == [f"n{number}" for number in range(1, 8)]
        assert examine(mailed).fault is None
    assert tree(tmp_path) == before
    if not ours:
        with contextlib.closing(Journal(mailed)) as journal:
            assert journal.append(notes("new"))[0].seq == 8
        assert ids(mailed)[-1] == "new"
        assert {digest for name, digest in before.items() if "journal.db-" in name or "victim" in name} <= set(
            tree(tmp_path).values()
        ), "what was not believed is still there"


_OPENED = """\
import asyncio, sys
from pathlib import Path
from gradecheck.app.app import GradeApp
from gradecheck.cli import main
from tests.app.driving import running

async def in_the_app():
    app = GradeApp(Path("."), Path("court"))
    async with running(app):
        pass
    if app.session is not None:
        app.session.close()

for given in (["log", "court"], ["verify", "court"], ["read", "court", "P1=51"], ["copy", "court", "other"],
              ["rescue", "court", "-o", "new.db"], ["examine", "court"], ["log", "court"]):
    assert main(given) in (0, 1, 2), given
asyncio.run(in_the_app())
print("done")
"""
"""What opens a job, without a screen and with one."""

PIPED = (
    *("journal.db-journal", "journal.db-wal", "journal.db-shm", "journal.backup-1.db", "journal.db"),
    *("walk.csv", "x.tmp"),
)
"""What a pipe may be named."""


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
@pytest.mark.parametrize("name", some(PIPED, ["journal.db-journal"]))
def test_a_pipe_beside_a_journal_holds_nobody_up_who_opens_the_job(tmp_path: Path, name: str) -> None:
    job = write_job(tmp_path / "court")
    for given in (["setup", str(job), "DOOR=50"], ["read", str(job), "P1=51"]):
        assert main([*given, "--by", "RK"]) == 0
    pipe = job / name
    pipe.unlink(missing_ok=True)
    os.mkfifo(pipe)
    if name == "walk.csv":
        (job / "job.yaml").write_text((job / "job.yaml").read_text() + "  walk:\n    points: walk.csv\n")
    root = Path(__file__).parents[3]
    environment = {**os.environ, "PYTHONPATH": str(root), "GRADECHECK_BY": "RK"}
    # In a process of its own: one that waits for a pipe can't be told to stop waiting.
    run = subprocess.run([sys.executable, "-c", _OPENED], cwd=tmp_path, env=environment, timeout=60,
                         capture_output=True, text=True, check=False)  # fmt: skip
    assert run.stdout.splitlines()[-1:] == ["done"], run.stderr[-2_000:]


@OURS
def test_a_write_that_a_power_cut_left_half_is_taken_back(mailed: Path, tmp_path: Path, *, ours: bool) -> None:
    cut_off(mailed, tmp_path / "meanwhile")
    if not ours:
        settings.forget(mailed.parent)
    before = tree(tmp_path)
    assert ids(mailed) == [f"n{number}" for number in range(1, 8)]
    assert ours or tree(tmp_path) == before
    with contextlib.closing(Journal(mailed)) as journal:
        assert journal.append(notes("new"))[0].seq == 8


@OURS
def test_in_a_read_only_folder_it_is_taken_back_in_a_private_copy(
    mailed: Path, tmp_path: Path, *, ours: bool
) -> None:
    cut_off(mailed, tmp_path / "meanwhile")
    if not ours:
        settings.forget(mailed.parent)
    before = tree(tmp_path)
    with only_readable(mailed.parent):
        assert ids(mailed) == [f"n{number}" for number in range(1, 8)]
        assert examine(mailed).fault is None
        with contextlib.closing(Journal(mailed)) as journal:
            assert journal.said == f"View only: the folder {mailed.parent} may only be read; copy the job to go on."
            assert "may only be read" in journal.view_only
            with pytest.raises(NotSavedError, match="may only be read"):
                journal.append(notes("new"))
    assert tree(tmp_path) == before


def test_a_linked_journal_is_not_opened_or_only_looked_at(mailed: Path, tmp_path: Path) -> None:
    right = tmp_path / "right.db"
    mailed.rename(right)
    mailed.symlink_to(right)
    before = right.read_bytes()
    with pytest.raises(JournalError, match="is no file but a link"):
        Journal(mailed)
    mailed.unlink()
    mailed.hardlink_to(right)
    with contextlib.closing(Journal(mailed)) as journal:
        assert len([*journal.entries()]) == 7
        assert "more than one name" in journal.view_only
        with pytest.raises(NotSavedError, match="more than one name"):
            journal.append(notes("new"))
    assert right.read_bytes() == before


def test_a_journal_with_a_second_name_while_open_is_not_written_into(mailed: Path, tmp_path: Path) -> None:
    with contextlib.closing(Journal(mailed)) as journal:
        assert journal.append(notes("one"))[0].seq == 8
        (tmp_path / "theirs.db").hardlink_to(mailed)
        before = mailed.read_bytes()
        with pytest.raises(NotSavedError, match="more than one name"):
            journal.append(notes("two"))
        assert mailed.read_bytes() == before
        (tmp_path / "theirs.db").unlink()
        assert journal.append(notes("two"))[0].seq == 9


def test_a_name_left_by_a_killed_start_is_no_second_one(mailed: Path) -> None:
    mailed.with_name("journal.db.0a1b2c3d.new").hardlink_to(mailed)
    with contextlib.closing(Journal(mailed)) as journal:
        assert journal.append(notes("new"))[0].seq == 8


def test_hostile_names_in_a_mailed_folder_stay_until_something_is_saved(mailed: Path) -> None:
    settings.forget(mailed.parent)
    mailed.with_name("journal.db.0a1b2c3d.new").hardlink_to(mailed)
    before = tree(mailed.parent)
    for look in (ids, examine, lambda path: main(["log", str(path.parent)])):
        look(mailed)
        assert tree(mailed.parent) == before
    with contextlib.closing(Journal(mailed)) as journal:
        assert journal.append(notes("new"))[0].seq == 8


def test_an_index_on_the_table_s_page_is_refused(mailed: Path) -> None:
    with contextlib.closing(sqlite3.connect(mailed, isolation_level=None)) as connection:
        connection.execute("PRAGMA writable_schema=1")
        connection.execute(
            "UPDATE sqlite_master SET rootpage = (SELECT rootpage FROM sqlite_master WHERE name = 'entry') "
            "WHERE name = 'entry_replaced_once'"
        )
    before = mailed.read_bytes()
    for ours in (True, False):
        if not ours:
            settings.forget(mailed.parent)
        with pytest.raises(JournalError, match="left as it"):
            Journal(mailed)
        assert examine(mailed).fault is not None
    assert mailed.read_bytes() == before


# -- a journal that is gone


def test_nothing_is_begun_beside_copies_of_a_journal_that_is_gone(mailed: Path) -> None:
    keep_copy(mailed)
    mailed.unlink()
    before = tree(mailed.parent)
    for look in (Journal, examine):
        with pytest.raises(JournalError, match=r"journal\.backup-1\.db, a copy up to entry 7, is there; nothing new"):
            look(mailed)
    assert tree(mailed.parent) == before
    shutil.copy(mailed.with_name("journal.backup-1.db"), mailed)
    assert len(ids(mailed)) == 7


def test_a_journal_that_is_gone_with_all_its_copies_is_told(mailed: Path) -> None:
    mailed.unlink()
    with contextlib.closing(Journal(mailed)) as journal:
        assert f"The log that was kept in {mailed.parent} is gone" in journal.said


def test_copies_of_other_chains_never_push_out_the_longest(mailed: Path) -> None:
    keep_copy(mailed)
    longest = backups(mailed)[0].read_bytes()
    for number in range(5):
        mailed.unlink()
        whole = mailed.with_name("journal.backup-1.db").rename(mailed.with_name("aside"))
        others = [each.rename(each.with_suffix(".aside")) for each in backups(mailed)]
        write(mailed, 2, first=100 * (number + 1))
        whole.rename(mailed.with_name("journal.backup-1.db"))
        for each in others:
            each.rename(each.with_suffix(".db"))
        keep_copy(mailed)
    assert longest in [each.read_bytes() for each in backups(mailed)]


# -- going on elsewhere


@pytest.mark.parametrize("how", ["written over", "another file", "a link"])
@pytest.mark.parametrize("kept", [True, False], ids=["with a copy", "without"])
def test_a_copy_made_after_the_file_was_replaced_holds_what_is_known_here(
    mailed: Path, tmp_path: Path, how: str, *, kept: bool
) -> None:
    other = tmp_path / "other.db"
    write(other, 9, first=50)
    with contextlib.closing(Journal(mailed)) as journal:
        known = [*journal.entries()]
        if kept:
            keep_copy(mailed)
        known += journal.append(notes("mine"))
        if how == "written over":
            mailed.write_bytes(other.read_bytes())
        else:
            mailed.unlink()
            shutil.copy(other, mailed) if how == "another file" else mailed.symlink_to(other)
        for _ in range(2):
            with pytest.raises(NotSavedError):
                journal.append(notes("more"))
        says = journal.copy_to(tmp_path / "copy.db")
        assert how != "written over" or has(says, "up to entry 8")
    with contextlib.closing(Journal(tmp_path / "copy.db")) as copy:
        assert [*copy.entries()] == known


# -- a plan that a journal kept


@pytest.mark.parametrize(
    "name",
    [
        *(
            "../start-up",
            "/srv/start-up",
            "a/b.csv",
            "..",
            "C:x.csv",
            "job.yaml",
            "Job.YAML",
            "job.yaml.",
            "journal.db",
        ),
        *(
            "journal.db-journal",
            "journal.db-wal",
            "JOURNAL.DB",
            "journal.db ",
            "journal.backup-1.db",
            "CON",
            "nul.csv",
        ),
        *("a\nb.csv", "a\x1bb.csv", "\u202ea.csv", "x" * 300, "\ud800.csv"),
    ],
)
def test_a_kept_plan_that_names_its_list_by_a_path_is_no_plan(
    tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    from gradecheck.journal.facts import PlanRevised
    from gradecheck.plan.load import plan_hash, understand
    from tests.journal.drafts import draft

    text = "job: a\nunits: in\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 1/8}\n"
    text += f"areas: {{w: {{points: {json.dumps(name)}}}}}\n"
    files = {name: "name,elevation\nW1,-1\n"}
    with pytest.raises(PlanProblemsError):
        understand(text, "job.yaml", files.__getitem__)
    job = write_job(tmp_path / "in" / "court")
    half = any("\ud800" <= each <= "\udfff" for each in name)  # which no journal can hold
    with contextlib.closing(Journal(job / "journal.db")) as journal, contextlib.suppress(*[UnicodeError] * half):
        journal.append([draft(PlanRevised(plan_hash(text, files), text, files), "kept")])
    before = tree(tmp_path / "in")
    assert main(["copy", str(job), str(tmp_path / "in" / "away")]) == 0
    after = tree(tmp_path / "in")
    assert {each for each in after.keys() - before.keys() if Path(each).parent != tmp_path / "in" / "away"} == set()
    assert {each.name for each in (tmp_path / "in" / "away").iterdir()} - {"journal.db"} == {"job.yaml"}
    session = Session(job)
    assert session.plan.job == "Quillmere Court"
    session.close()
