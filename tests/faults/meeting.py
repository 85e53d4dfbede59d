"""Laptops that share by a folder, cut at any step, with half files, two at once, a liar: what each has in the end."""

from __future__ import annotations

import contextlib
import errno
import json
import os
import random
import shutil
import zlib
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from gradecheck.actions import Action
from gradecheck.journal.chain import UnsoundEntryError
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Note
from gradecheck.journal.store import JOURNAL_NAME, Journal
from gradecheck.session.session import Session
from gradecheck.sharing import share as sharing
from gradecheck.sharing.meeting_place import MeetingPlace
from tests.faults.figures import Figures
from tests.sharing.by_hand import hashed, lay, rows_in

NAME = "meeting"
QUICK, LONG = 12, 1_000
CONTROLS = 12
LAPTOPS = ("north", "south", "west")
STEPS = 9
WRONG = ("lost", "doubled", "unsound", "apart", "lies taken", "lies unnamed", "waiting")
MOST_STEPS_OF_A_SHARE = 60
"""Opening, reading, writing, syncing, renaming of a share here; beyond the last of them nothing is cut."""
CUT_AT = ("open", "fdopen", "fsync", "link", "rename", "replace", "unlink", "listdir", "stat")
JOB = """\
job: Wickering Yard
units: in
benchmarks: {DOOR: 0, STEP: 2}
tolerances: {finish: 1/8 in}
areas: {walk: {points: {W1: -3, W2: -4}}}
"""
BEGAN = datetime(2026, 5, 12, 7, 30, tzinfo=UTC)


class FailedError(Exception):
    """The program itself failed."""


class Site:
    """One job on three laptops and the folder where they meet."""

    def __init__(self, root: Path, draw: random.Random) -> None:
        self.draw, self.root, self.place = draw, root, root / "meeting"
        self.place.mkdir(parents=True)
        self.said: list[str] = []
        """The ids of all entries that were called saved."""
        self.lies: list[Path] = []
        self.minutes = self.cut_short = 0
        first = root / LAPTOPS[0]
        first.mkdir()
        (first / "job.yaml").write_text(JOB, encoding="utf-8")
        self.record(LAPTOPS[0])
        for name in LAPTOPS[1:]:
            if draw.random() < 0.5:
                shutil.copytree(first, root / name)  # both go on from one copy
            else:
                (root / name).mkdir()
                (root / name / "job.yaml").write_text(JOB, encoding="utf-8")

    @contextlib.contextmanager
    def open(self, name: str) -> Iterator[Session]:
        """The job as it lies on that laptop."""
        self.minutes += 1
        session = Session(
            self.root / name, by="RK", laptop=name, clock=lambda: BEGAN + timedelta(minutes=self.minutes)
        )
        try:
            yield session
        finally:
            session.close()

    def record(self, name: str) -> None:
        """Somebody writes something down."""
        with self.open(name) as session:
            self.said.append(session.record(Action(Note(None, f"of {name} {len(self.said)}"))).id)

    def share(self, name: str) -> sharing.Shared:
        """A share that nothing goes wrong with."""
        with self.open(name) as session:
            return sharing.share(session, self.place)

    def forked(self, name: str, cut: Callable[[], None] = lambda: None) -> int:
        """Begins a share in a process of its own, in which `cut` was called before."""
        child = os.fork()
        if child:
            return child
        try:
            cut()
            self.share(name)
        except (OSError, JournalError):
            os._exit(1)
        except BaseException:  # noqa: BLE001 - seen by whoever waits for it
            os._exit(3)
        os._exit(0)


def killed_at(number: int) -> Callable[[], None]:
    """Ends the process at that step, as a power cut or a kill does: nothing is tidied up."""
    return lambda: _at(number, lambda: os._exit(9))


def failing_at(number: int, code: int, *, on: bool) -> Callable[[], None]:
    """Has that step fail, and where it goes `on` all that come behind it."""

    def fail() -> None:
        raise OSError(code, os.strerror(code))

    return lambda: _at(number, fail, on=on)


def gone_at(number: int, place: Path) -> Callable[[], None]:
    """Has the folder renamed at that step, as where a stick is pulled or a drive is let go."""

    def go() -> None:
        with contextlib.suppress(OSError):
            _renamed(place, place.with_name("elsewhere"))

    return lambda: _at(number, go)


_renamed = os.rename


def _at(number: int, act: Callable[[], None], *, on: bool = False) -> None:
    """In this process, which ends soon: counts the steps of whatever is done with files."""
    done = 0

    def counted(call: Callable[..., Any]) -> Callable[..., Any]:
        def counting(*arguments: Any, **named: Any) -> Any:
            nonlocal done
            done += 1
            if done == number or (on and done > number):
                act()
            return call(*arguments, **named)

        return counting

    for each in CUT_AT:
        setattr(os, each, counted(getattr(os, each)))
    Journal.take_in = counted(Journal.take_in)  # type: ignore[method-assign]
    zlib.compress = counted(zlib.compress)


def _clean(site: Site, name: str) -> None:
    site.share(name)


def _killed(site: Site, name: str) -> None:
    _ended(site, site.forked(name, killed_at(site.draw.randint(1, MOST_STEPS_OF_A_SHARE))))


def _failed(site: Site, name: str) -> None:
    code = site.draw.choice((errno.ENOSPC, errno.EIO, errno.ENOENT, errno.EACCES, errno.ESTALE, errno.EROFS))
    number = site.draw.randint(1, MOST_STEPS_OF_A_SHARE)
    _ended(site, site.forked(name, failing_at(number, code, on=site.draw.random() < 0.5)))


def _renamed_away(site: Site, name: str) -> None:
    _ended(site, site.forked(name, gone_at(site.draw.randint(1, MOST_STEPS_OF_A_SHARE), site.place)))
    away = site.place.with_name("elsewhere")
    if away.exists():
        if site.place.exists():
            raise FailedError("the folder was made anew where it had gone")
        away.rename(site.place)


def _two_at_once(site: Site, name: str) -> None:
    other = site.draw.choice(LAPTOPS)
    both = [site.forked(name), site.forked(other)]
    for each in both:
        _ended(site, each)


def _half_written(site: Site, name: str) -> None:
    """A file that a sync program is still bringing, in some stage of that; it may never come to its end."""
    if files := _files(site):
        path = site.draw.choice(files)
        content = path.read_bytes()
        cut = site.draw.randrange(len(content))
        path.write_bytes(site.draw.choice((content[:cut], content[:cut] + bytes(len(content) - cut))))
        site.share(name)
        if site.draw.random() < 0.5:
            path.write_bytes(content)


def _lied_to(site: Site, name: str) -> None:
    """Somebody puts a file there that has a right name and hash, and something else in it."""
    if files := _files(site):
        path = site.draw.choice(files)
        with contextlib.suppress(zlib.error):
            rows = rows_in(path)
            place = site.draw.randrange(len(rows))
            row = list(rows[place])
            row[7] = f"lie {len(site.lies)}"
            if site.draw.random() < 0.5:
                row = hashed([*row[:9], 10**20, *row[10:]])
            site.lies.append(lay(site.place, path, [*rows[:place], row, *rows[place + 1 :]]))


def _files(site: Site) -> list[Path]:
    return sorted(path for path in site.place.glob("gc1-*.rows") if path not in site.lies)


def _ended(site: Site, child: int) -> None:
    _, status = os.waitpid(child, 0)
    code = os.waitstatus_to_exitcode(status)
    site.cut_short += code in (1, 9)
    if code not in (0, 1, 9):
        raise FailedError("a share ended in none of the ways that it may")


HAPPENINGS = {
    "clean": _clean,
    "killed": _killed,
    "failed": _failed,
    "renamed": _renamed_away,
    "two at once": _two_at_once,
    "half written": _half_written,
    "lied to": _lied_to,
}


def run(folder: Path, runs: int, seed: int) -> list[Figures]:
    """So many histories, and as controls some without what keeps lies and half files out."""
    return [
        share_all(folder / "as it is", runs, seed, "histories of three laptops"),
        share_all(folder / "trusting", CONTROLS, seed, "no entry is held to its hash", _trusting, ("lied to",)),
        share_all(folder / "straight", CONTROLS, seed, "files are written under their own names", _straight,
                  ("killed", "half written")),
    ]  # fmt: skip


def _trusting(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(sharing, "row_in", lambda line, *_: tuple(json.loads(line)))


def _straight(patch: pytest.MonkeyPatch) -> None:
    def put(place: Any, name: str, content: bytes, _: str) -> None:
        with contextlib.suppress(FileExistsError), place._folder.create(name) as file:
            file.write(content[:-9])
            file.flush()
            os.fsync(file.fileno())
            file.write(content[-9:])

    patch.setattr(MeetingPlace, "put", put)


def share_all(
    root: Path,
    runs: int,
    seed: int,
    what: str,
    broken: Callable[[pytest.MonkeyPatch], None] | None = None,
    among: Sequence[str] = tuple(HAPPENINGS),
) -> Figures:
    """Lets laptops share under all that happens, and looks at what each has in the end."""
    counts = Counter(dict.fromkeys(("histories", *HAPPENINGS, "cut short", "entries", *WRONG), 0))
    example = ""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GRADECHECK_SETTINGS", str(root / "settings"))
        if broken is not None:
            broken(patch)
        else:
            patch.setattr(sharing, "MOST_SMALL", 2)  # so that in a short history files are put together too
        for number in range(runs):
            draw = random.Random(f"{seed}/{number}")
            before = counts.copy()
            names: list[str] = []
            try:
                _history(Site(root / str(number), draw), counts, names, among)
            except (FailedError, JournalError, OverflowError, UnsoundEntryError) as wrong:
                counts["unsound"] += 1
                example = example or f"seed {seed}, history {number} with {', '.join(names)}: {wrong}"
            if (wrong_now := _wrong(counts) - _wrong(before)) and not example:
                example = f"seed {seed}, history {number} with {', '.join(names)}: {wrong_now} wrong"
            shutil.rmtree(root / str(number), ignore_errors=True)
    return Figures(NAME, what, dict(counts), _wrong(counts), control=broken is not None, example=example)


def _wrong(counts: Counter[str]) -> int:
    return sum(counts[each] for each in WRONG)


def _history(site: Site, counts: Counter[str], names: list[str], among: Sequence[str]) -> None:
    counts["histories"] += 1
    for _ in range(STEPS):
        laptop = site.draw.choice(LAPTOPS)
        if site.draw.random() < 0.6:
            site.record(laptop)
        name = site.draw.choice([*among, "clean"])
        names.append(f"{name} ({laptop})")
        counts[name] += 1
        HAPPENINGS[name](site, laptop)
    counts["entries"] += len(site.said)
    counts["cut short"] += site.cut_short
    named = ""
    for _ in range(2):
        for laptop in LAPTOPS:
            named += " ".join(site.share(laptop).not_sound)
    counts["lies unnamed"] += sum(lie.name not in named for lie in site.lies)
    _look(site, counts)


def _look(site: Site, counts: Counter[str]) -> None:
    logs = []
    for laptop in LAPTOPS:
        with site.open(laptop) as session:
            entries = list(session.journal.entries())
            there = Counter(entry.id for entry in entries)
            counts["lost"] += sum(not there[each] for each in site.said)
            counts["doubled"] += sum(often - 1 for often in there.values())
            counts["lies taken"] += sum(entry.typed.startswith("lie ") for entry in entries)
            laptops = session.journal.joined
            counts["waiting"] += len(laptops.history.waiting) if laptops is not None else 0
            counts["doubled"] += len(laptops.doubles) if laptops is not None else 0
            logs.append([(entry.seq, entry.hash) for entry in entries])
        journal = Journal(site.root / laptop / JOURNAL_NAME)
        counts["unsound"] += journal.verify().fault is not None
        journal.close()
    counts["apart"] += sum(log != logs[0] for log in logs)
