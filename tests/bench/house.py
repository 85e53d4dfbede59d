"""Files that a reading and a plan value pass through, and lines of the package. It prints, it judges nothing."""

from __future__ import annotations

import asyncio
import contextlib
import io
import os
import sys
import tempfile
import threading
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

import gradecheck
from gradecheck.app.app import GradeApp
from gradecheck.checks.verdict import judge
from gradecheck.cli import main as program
from gradecheck.plan.load import load_plan
from gradecheck.plan.targets import target
from tests.app.driving import Clock, press, readings, ready_job, running, write_job

PACKAGE = Path(gradecheck.__file__).parent


@contextlib.contextmanager
def passed_through() -> Iterator[set[str]]:
    """The files of the package in which anything is run meanwhile, in any thread but the one that copies the log."""
    files: set[str] = set()

    def note(frame: FrameType, event: str, _: object) -> None:
        # The copy of the log is kept beside the work and may or may not fall into this moment.
        if event == "call" and frame.f_code.co_name != "<module>" and threading.current_thread().name != "copy":
            files.add(frame.f_code.co_filename)

    threading.setprofile(note)
    sys.setprofile(note)
    try:
        yield files
    finally:
        sys.setprofile(None)
        threading.setprofile(None)
        inside = {str(Path(file).relative_to(PACKAGE)) for file in files if Path(file).is_relative_to(PACKAGE)}
        files.clear()
        files.update(inside)


async def reading_shown(job: Path, clock: Clock) -> set[str]:
    """Files between the keys of the second reading and its saved verdict on the screen."""
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "51", "enter")
        before = len(readings(job))
        with passed_through() as files:
            await press(pilot, "51-1/2", "enter")
        assert len(readings(job)) == before + 1
    return files


def reported(job: Path) -> set[str]:
    """Files that make the daily report, what each loads once not counted."""
    for _ in range(2):
        with passed_through() as files:
            _program("report", str(job), "-o", str(job.parent / "day.pdf"))
        (job.parent / "day.pdf").unlink()
    return files


def judged(folder: Path) -> set[str]:
    """Files between a value of the job file and the verdict on a reading."""
    load_plan(write_job(folder) / "job.yaml")
    # What each module does once is done; the plan itself is read anew.
    os.environ["GRADECHECK_CACHE"] = str(folder / "cache")
    with passed_through() as files:
        plan = load_plan(folder / "job.yaml").plan
        area = plan.areas["path"]
        wanted = target(area, area.points[0], "finish")
        assert wanted.tolerance is not None
        assert judge(wanted.wanted, wanted.wanted, wanted.tolerance).word
    return files


def lines() -> dict[str, int]:
    """Files and lines of Python in the package."""
    sources = [file.read_text(encoding="utf-8") for file in PACKAGE.rglob("*.py")]
    return {"files": len(sources), "lines": sum(text.count("\n") for text in sources)}


def _program(*words: str) -> None:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        status = program([*words])
    assert status == 0, words


def main() -> None:
    """Counts and prints."""
    with tempfile.TemporaryDirectory() as named:
        folder = Path(named)
        os.environ["GRADECHECK_CACHE"] = str(folder / "cache")
        os.environ["GRADECHECK_SETTINGS"] = str(folder / "settings")
        clock = Clock()
        job = ready_job(folder / "court", clock)
        counts = {
            "a reading, from its keys to the saved verdict": asyncio.run(reading_shown(job, clock)),
            "the same to the daily report": reported(job),
            "a plan value to a verdict": judged(folder / "plan"),
        }
    for what, files in counts.items():
        rooms = Counter(file.split("/")[0] for file in files)
        print(f"{len(files):4} files  {what}: {', '.join(f'{room} {n}' for room, n in rooms.most_common())}")
        if "--names" in sys.argv:
            print("".join(f"       {file}\n" for file in sorted(files)), end="")
    print("".join(f"{n:6} {what}\n" for what, n in lines().items()), end="")


if __name__ == "__main__":
    main()
