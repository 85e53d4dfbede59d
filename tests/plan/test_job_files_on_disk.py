"""Whatever lies where a job file should: it is read as text or refused in one sentence, and never waited for."""

from __future__ import annotations

import os
import socket
import sys
from pathlib import Path

import pytest

from gradecheck.plan.load import load_plan, read_text, text_hash, understand
from gradecheck.plan.problems import PlanProblemsError, Problem
from tests.plan.sample import WALK, plan_of


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Where the job file should be."""
    return tmp_path / "job.yaml"


def _refused(path: Path) -> Problem:
    with pytest.raises(PlanProblemsError) as refused:
        read_text(path)
    [problem] = refused.value.problems
    return problem


def test_a_job_file_gives_its_plan_and_its_text(job: Path) -> None:
    job.write_text(WALK, encoding="utf-8")
    assert (load_plan(job).plan, load_plan(job).text) == (plan_of(WALK), WALK)


@pytest.mark.parametrize(
    "content",
    [
        WALK.encode(),
        b"\xef\xbb\xbf" + WALK.encode(),
        WALK.replace("\n", "\r\n").encode(),
        WALK.replace("\n", "\r").encode(),
        b"\xef\xbb\xbf" + WALK.replace("\n", "\r\n").encode(),
    ],
    ids=["plain", "byte-order-mark", "CRLF", "CR-alone", "byte-order-mark-and-CRLF"],
)
def test_a_byte_order_mark_and_any_line_ends_make_no_other_plan(job: Path, content: bytes) -> None:
    job.write_bytes(content)
    assert read_text(job) == WALK
    assert load_plan(job).plan == plan_of(WALK)


@pytest.mark.parametrize(
    ("content", "line", "byte"),
    [
        (WALK.replace("Fernhill", "Fernh\xfcgel").encode("latin-1"), 1, "0xfc"),
        (WALK.replace("threshold", "seuil \xe0 c\xf4t\xe9").encode("cp1252"), 6, "0xe0"),
        (WALK.encode() + b"# \xc3", 20, "0xc3"),
        (b"job: \xed\xa0\x80\n", 1, "0xed"),
        (b"job: a\nunits: \xc0\x80in\n", 2, "0xc0"),
        (WALK.encode("utf-16"), 1, "0xff"),
        (b"\xfe\xff" + WALK.encode("utf-16-be"), 1, "0xfe"),
        (WALK.replace("\n", "\r\n").encode() + b"\xff", 20, "0xff"),
    ],
    ids=[
        "latin-1",
        "windows-1252",
        "cut-in-a-character",
        "half-a-surrogate-pair",
        "NUL-in-disguise",
        "UTF-16",
        "UTF-16-the-other-way",
        "in-the-last-line",
    ],
)
def test_what_is_not_utf_8_is_told_with_its_line_and_byte(job: Path, content: bytes, line: int, byte: str) -> None:
    job.write_bytes(content)
    assert _refused(job) == Problem(
        "job.yaml", line, 1, f"Byte {byte} on this line is not UTF-8; save the file as UTF-8 text."
    )


def test_utf_16_without_its_mark_is_refused_for_what_is_in_it(job: Path) -> None:
    job.write_bytes(WALK.encode("utf-16-le"))
    with pytest.raises(PlanProblemsError) as refused:
        load_plan(job)
    [problem] = refused.value.problems
    assert (problem.line, problem.column) == (1, 2)
    assert "U+0000" in problem.says


def test_a_missing_file_is_told(job: Path) -> None:
    problem = _refused(job)
    assert (problem.file, problem.line, problem.column) == ("job.yaml", 1, 1)
    assert problem.says.startswith("This file can't be read (")
    assert problem.says.endswith("); check the name and the folder.")


def test_a_folder_is_no_job_file(job: Path) -> None:
    job.mkdir()
    assert "can't be read" in _refused(job).says or "not a plain file" in _refused(job).says


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_named_pipe_is_not_waited_for(job: Path) -> None:
    os.mkfifo(job)
    assert _refused(job).says == "This is not a plain file; put a text file in its place."


@pytest.mark.skipif(sys.platform == "win32", reason="no device files here")
@pytest.mark.parametrize("device", [os.devnull, "/dev/zero"])
def test_a_device_is_not_read(device: str) -> None:
    assert _refused(Path(device)).says == "This is not a plain file; put a text file in its place."


@pytest.mark.skipif(not hasattr(socket, "AF_UNIX") or sys.platform == "win32", reason="no such sockets here")
def test_a_socket_is_no_job_file(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # Its name must be short, so it is made from inside the folder.
    monkeypatch.chdir(job.parent)
    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(job.name)
        assert _refused(job).says.startswith("This file can't be read (")


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_links_are_followed_and_loops_of_them_end(job: Path) -> None:
    real = job.with_name("real.yaml")
    real.write_text(WALK, encoding="utf-8")
    job.symlink_to(real)
    assert read_text(job) == WALK
    job.unlink()
    job.symlink_to(job)
    assert _refused(job).says.startswith("This file can't be read (")


def test_a_file_up_to_the_limit_is_read_and_one_byte_more_is_not(job: Path) -> None:
    job.write_bytes(b"#" * 1_000_000)
    assert len(read_text(job)) == 1_000_000
    job.write_bytes(b"#" * 1_000_001)
    problem = _refused(job)
    assert problem.says == (
        "This file has 1,000,001 bytes, more than 1,000,000; put long lists into files of their own."
    )


def test_a_name_that_commands_a_terminal_is_shown_without_commands(tmp_path: Path) -> None:
    problem = _refused(tmp_path / "\x1b]0;title\x07job.yaml")
    assert str(problem).isprintable()


def test_the_hash_of_a_text_is_its_sha_256() -> None:
    """NIST FIPS 180-2, the published example for “abc”, from memory."""
    assert text_hash("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.mark.parametrize(
    ("kept", "says"),
    [
        (WALK + "# \ud800", "This text was kept with half a character in it; no file has that."),
        (WALK + "#" * 1_000_000, "bytes, more than 1,000,000; put long lists into files of their own."),
    ],
    ids=["half a character", "a megabyte"],
)
def test_a_plan_that_a_journal_kept_is_held_to_what_a_file_is(kept: str, says: str) -> None:
    with pytest.raises(PlanProblemsError) as refused:
        understand(kept, "job.yaml", {}.__getitem__)
    [problem] = refused.value.problems
    assert problem.says.endswith(says)
