"""Flipped bits: one bit of a finished journal, or of what is kept between runs beside it, is another.

That is noticed, or it is a bit that holds nothing.
"""

from __future__ import annotations

import contextlib
import os
import random
import sqlite3
import uuid
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path

from gradecheck import actions
from gradecheck.codec import CodecError, decode
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Entry, Note
from gradecheck.journal.store import JOURNAL_NAME, Journal, LogLine, NotSavedError
from gradecheck.plan import cache
from gradecheck.plan.load import text_hash
from gradecheck.plan.model import Plan
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from gradecheck.system import settings
from tests.faults.figures import Figures
from tests.journal.drafts import draft
from tests.journal_strategies import JOB

NAME = "bit flips"
QUICK, LONG = 400, 10_000
HEAD = 100
"""Bytes of the file's head, where each bit is worth a try of its own."""

ANOTHER = draft(Note(None, "another"), "another")

Contents = tuple[list[Entry], list[LogLine]]
Look = Callable[[Path], Contents | None]
"""Opens a journal and gives all that it shows; None where it finds that something is wrong with it."""


def run(folder: Path, flips: int, seed: int) -> list[Figures]:
    """That many bits, each in a copy of its own, and as a control a look that leaves the chain out."""
    folder.mkdir(parents=True, exist_ok=True)
    journal = finished(folder / "job")
    fewer = max(200, flips // 10)
    return [
        flip(journal, folder, flips, seed, NAME, look),
        flip(journal, folder, fewer, seed, "SQLite's check without the chain", look_without_chain),
        *beside(folder / "beside", max(QUICK, flips // 5), fewer, seed),  # small files
    ]


def beside(folder: Path, flips: int, fewer: int, seed: int) -> list[Figures]:
    """Bits of what is kept between runs: the plan understood before, and this laptop's id."""
    kept_before = {name: os.environ.get(name) for name in ("GRADECHECK_CACHE", "GRADECHECK_SETTINGS")}
    os.environ.update(GRADECHECK_CACHE=str(folder / "cache"), GRADECHECK_SETTINGS=str(folder / "settings"))
    try:
        finished(folder / "job")
        [plan] = cache.folder().glob("*.json")
        settings.laptop_id()
        laptop = settings.folder() / settings.LAPTOP
        return [
            flip_kept(plan, flips, seed, "the plan kept", lambda: cache.recall(text_hash(JOB))),
            flip_kept(plan, fewer, seed, "the plan without its hash", lambda: plan_without_hash(plan), control=True),
            flip_kept(laptop, flips, seed, "the laptop's id", settings.laptop_id),
            flip_kept(laptop, fewer, seed, "the id without its hash", lambda: id_without_hash(laptop), control=True),
        ]
    finally:
        for name, value in kept_before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def flip_kept(
    path: Path, flips: int, seed: int, what: str, looked: Callable[[], object], *, control: bool = False
) -> Figures:
    """Flips bits of a file beside the journal: it is made anew then, never believed.

    An id made anew has nothing to do with the one before; one that differs by a single digit was believed.
    """
    content, whole = path.read_bytes(), looked()
    draw = random.Random(f"{seed} {what}")
    counts = Counter(flips=0, noticed=0, harmless=0, silent=0, foreign=0)
    example = ""
    for _ in range(flips):
        place, bit = draw.randrange(len(content)), draw.randrange(8)
        flipped = bytearray(content)
        flipped[place] ^= 1 << bit
        path.write_bytes(flipped)
        counts["flips"] += 1
        came = _what_came_of(looked, whole)
        counts[came] += 1
        if came in ("silent", "foreign"):
            example = example or f"seed {seed}: bit {bit} of byte {place} is {came}"
    path.write_bytes(content)
    wrong = counts["silent"] + counts["foreign"]
    return Figures(NAME, what, dict(counts), wrong, control=control, example=example)


def _what_came_of(looked: Callable[[], object], whole: object) -> str:
    try:
        found = looked()
    except Exception:  # noqa: BLE001 - whatever it is, nobody could do anything about it
        return "foreign"
    if found == whole:
        return "harmless"
    if isinstance(found, str) and isinstance(whole, str):
        alike = sum(one == other for one, other in zip(found, whole, strict=False))
        return "silent" if alike >= len(whole) - 1 else "noticed"
    return "noticed" if found is None else "silent"


def plan_without_hash(path: Path) -> Plan | None:
    """As a program would that believes whatever can be read as a plan."""
    try:
        return decode(Plan, path.read_bytes().partition(b"\n")[2].decode())
    except (UnicodeDecodeError, CodecError):
        return None


def id_without_hash(path: Path) -> str:
    """As a program would that believes whatever can be read as an id."""
    with contextlib.suppress(ValueError):
        return str(uuid.UUID(path.read_bytes().partition(b"\n")[2].decode("ascii")))
    return str(uuid.uuid4())


def flip(journal: Path, folder: Path, flips: int, seed: int, what: str, looked: Look) -> Figures:
    """Flips bits drawn from all over the file, a third of them in places where an entry's figures are."""
    content = journal.read_bytes()
    whole = looked(journal)
    assert whole is not None, "the journal was to be sound"
    draw = random.Random(f"{seed}")
    counts = Counter(flips=0, noticed=0, harmless=0, refused=0, silent=0, spoiled=0, touched=0, foreign=0)
    example = ""
    copy = folder / "flipped" / JOURNAL_NAME
    copy.parent.mkdir(exist_ok=True)
    for number in range(flips):
        place, bit = _drawn(draw, content, number)
        flipped = bytearray(content)
        flipped[place] ^= 1 << bit
        for each in copy.parent.iterdir():
            each.unlink()
        copy.write_bytes(flipped)
        counts["flips"] += 1
        came = _what_came(copy, looked, whole)
        counts[came] += 1
        counts["touched"] += copy.read_bytes() != flipped
        if came == "harmless" and looked is look:
            came = _gone_on(copy, whole)
            counts[came] += came != "harmless"
        if came in ("silent", "foreign", "spoiled"):
            example = example or f"seed {seed}: bit {bit} of byte {place} is {came}"
    wrong = sum(counts[each] for each in ("silent", "spoiled", "touched", "foreign"))
    return Figures(NAME, what, dict(counts), wrong, control=looked is not look, example=example)


def _drawn(draw: random.Random, content: bytes, number: int) -> tuple[int, int]:
    if number % 10 == 0:
        return draw.randrange(HEAD), draw.randrange(8)
    place = draw.randrange(len(content))
    if number % 3 == 0:
        while not content[place]:  # much of a file is nothing but zeros
            place = draw.randrange(len(content))
    return place, draw.randrange(8)


def _what_came(copy: Path, looked: Look, whole: Contents) -> str:
    try:
        found = looked(copy)
    except Exception:  # noqa: BLE001 - whatever it is, nobody could do anything about it
        return "foreign"
    if found is None:
        return "noticed"
    return "harmless" if found == whole else "silent"


def _gone_on(copy: Path, whole: Contents) -> str:
    """What comes of one more reading in a journal in which nothing was found wrong."""
    journal = Journal(copy)
    try:
        journal.append([ANOTHER])
    except NotSavedError:
        return "refused" if look(copy) == whole else "spoiled"
    finally:
        journal.close()
    found = look(copy)
    good = found is not None and found[0][:-1] == whole[0] and found[0][-1].id == ANOTHER.id
    return "harmless" if good else "spoiled"


def look(path: Path) -> Contents | None:
    """As the program does: opening, then verify, then all entries, and the log that the screen shows."""
    try:
        journal = Journal(path)
    except JournalError:
        return None
    with contextlib.closing(journal):
        if journal.verify().fault is not None:
            return None
        try:
            return [*journal.entries()], journal.lines(limit=10**6)
        except JournalError:
            return None


def look_without_chain(path: Path) -> Contents | None:
    """As a program would that leaves all to SQLite: its own check, and whatever the rows hold then."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        try:
            if connection.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
                return None
            rows: Sequence[object] = connection.execute("SELECT * FROM entry ORDER BY seq").fetchall()
        except (sqlite3.Error, UnicodeDecodeError):
            return None
    return list(rows), []  # type: ignore[arg-type]


def finished(folder: Path) -> Path:
    """A day's journal with readings, some of them struck or put right, looks, marks and notes."""
    folder.mkdir(parents=True)
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(folder, by="RK")
    session.record(actions.set_up(session.state, "DOOR", "48"))
    for number in range(40):
        point = Surface("walk", ("W1", "W2")[number % 2], ("finish", "base")[number // 2 % 2])
        read = session.record(actions.reading(session.state, point, f"{48 + number % 6} {number % 16}/16"))
        if number % 9 == 4:
            session.record(session.strike(read.id, "read on the string, not on the paver"))
        if number % 9 == 7:
            session.record(session.correct(read.id, "49 1/2"))
        if number % 13 == 6:
            session.record(actions.recheck(session.state, "DOOR", "48"))
            session.record(actions.mark(session.state, f"TP{number}", "50", "nail in the curb"))
            session.record(actions.note("rain since noon, the base is soft", "walk"))
    session.close()
    return folder / JOURNAL_NAME
