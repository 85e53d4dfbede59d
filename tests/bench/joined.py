"""Measured in a job of two laptops: taking in what the other one recorded, and a reading entered behind it."""

from __future__ import annotations

import contextlib
import gc
import shutil
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median

from gradecheck.session.joining import others_in
from gradecheck.session.session import Session
from gradecheck.sharing.share import share
from tests.bench.made import FEWEST, Job, worked_border
from tests.bench.measure import Measure, milliseconds, paired
from tests.pty.site import BACKSIGHT


def joining(folder: Path, entries: int, rounds: int) -> Measure:
    """Another laptop's entries read, held against their hashes, taken in and worked out, beside its job opened."""
    other, here = worked_border(folder / "other", 100, entries), worked_border(folder / "here", 100, FEWEST)
    joined, opened = [], []
    for turn in range(rounds):
        ours = folder / f"ours {turn}"
        shutil.copytree(here.folder, ours)
        with contextlib.closing(Session(ours)) as session:
            joined.append(_timed(lambda session=session: _joined(session, other.folder)))  # type: ignore[misc]
        opened.append(_timed(lambda: Session(other.folder).close()))
    note = f"{median(joined):.1f} s / {median(opened):.1f} s"
    what = f"{entries:,} entries of another laptop joined / its job opened"
    return Measure(19, what, paired(joined, opened), None, 3, note)


def sharing(folder: Path, entries: int, rounds: int) -> Measure:
    """The same entries put in a folder and taken from there by a new laptop, beside that job opened."""
    other, here = worked_border(folder / "other", 100, entries), worked_border(folder / "here", 100, FEWEST)
    taken, opened, put = [], [], []
    for turn in range(rounds):
        ours, meeting = folder / f"ours {turn}", folder / f"meeting {turn}"
        shutil.copytree(here.folder, ours)
        meeting.mkdir()
        with contextlib.closing(Session(other.folder)) as session:
            put.append(_timed(lambda session=session, meeting=meeting: share(session, meeting)))  # type: ignore[misc]
        with contextlib.closing(Session(ours)) as session:
            taken.append(_timed(lambda session=session, meeting=meeting: share(session, meeting)))  # type: ignore[misc]
        opened.append(_timed(lambda: Session(other.folder).close()))
    note = f"{median(taken):.1f} s / {median(opened):.1f} s; putting them there {median(put):.1f} s"
    what = f"{entries:,} entries taken from a folder / their job opened"
    return Measure(21, what, paired(taken, opened), None, 3, note)


def previews(jobs: Sequence[Job], entries: int, rounds: int) -> Measure:
    """What a correction of the last backsight would move, where half is joined and where all is its own."""
    with contextlib.ExitStack() as stack:
        work = [_preview(stack.enter_context(contextlib.closing(Session(job.folder)))) for job in jobs]
        for each in work:
            each()  # what is worked out once stays
        own, half = zip(*([_timed(each) for each in work] for _ in range(rounds)), strict=True)
    note = f"{milliseconds(half)} / {milliseconds(own)}"
    what = f"preview of a correction at {entries:,} entries, half of them joined, / all its own"
    return Measure(22, what, paired(half, own), None, 1.1, note)


def _preview(session: Session) -> Callable[[], object]:
    setup = session.state.setup
    assert setup is not None
    draft = session.correct(setup.id, f"{int(BACKSIGHT)} 1/16")
    return lambda: session.preview(draft)


def _joined(session: Session, other: Path) -> int:
    others = others_in(session, other)
    return session.take_in(others.rows, others.entries)


def _timed(work: Callable[[], object]) -> float:
    """Seconds of the processor."""
    gc.collect()
    gc.disable()
    began = time.process_time()
    work()
    took = time.process_time() - began
    gc.enable()
    return took


def pair(folder: Path, entries: int) -> list[Job]:
    """A job of one laptop with so many entries, and one that has half of as many of its own and half joined."""
    own, half = worked_border(folder / "own", 100, entries), worked_border(folder / "half", 100, entries // 2)
    other = worked_border(folder / "of another", 100, entries - entries // 2)
    with contextlib.closing(Session(half.folder)) as session:
        _joined(session, other.folder)
    return [own, half]
