"""Failing disks: an error at the n-th write, sync, truncate, delete, new file or new name, once or from then on."""

from __future__ import annotations

import dataclasses
import random
import re
from collections import Counter
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from gradecheck import actions
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Draft, Note, Reading
from gradecheck.journal.store import NotSavedError
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.faults.disk import in_use
from tests.faults.failing import DEEPEST, FAULTS, Failing, Fault
from tests.faults.figures import Figures
from tests.journal_strategies import JOB

NAME = "disk faults"
QUICK, LONG = 4, DEEPEST
BEHIND = 3
"""Readings taken after the disk is well again."""
LONG_NOTE = "dry, and " * 700
"""So long that the file grows with each of them, and is cut back when that fails."""


_SENTENCE = re.compile(r"NOT SAVED: [^\n]{10,400}\.")
_NOT_FOR_PEOPLE = re.compile(r"Traceback|[A-Za-z]Error\b|[Ss][Qq][Ll]|None|[<>]|\(\)| \.")


WRONG = ("lost", "doubled", "unsound", "unclear", "foreign", "late", "missed")
"""What must not be: `unclear` is a refusal nobody can read, `foreign` an exception that is no refusal, `late` a
reading refused although the cause is gone, `missed` a fault that never came."""


@dataclass(slots=True)
class Told:
    """What came of one run on a failing disk."""

    acknowledged: list[str]
    refused: list[str]
    foreign: list[str]
    hit: bool
    late: bool
    """Whether the cause was gone and the same reading was refused once more."""


def run(folder: Path, depth: int, seed: int) -> list[Figures]:
    """Each fault at that many places of the first 40 calls (at all of them, if so many), once and lasting."""
    rows = [_fail(folder, fault, depth, seed) for fault in FAULTS]
    return [*rows, _fail(folder, FAULTS[0], max(depth, 5), seed, careless=True)]


def _fail(folder: Path, fault: Fault, depth: int, seed: int, *, careless: bool = False) -> Figures:
    counts = Counter(dict.fromkeys(("runs", "acknowledged", "refused", *WRONG), 0))
    example = ""
    places = sorted(random.Random(f"{seed}/{fault}").sample(range(1, fault.deepest + 1), min(depth, fault.deepest)))
    for nth in places:
        for lasting in (False, True):
            home = folder / f"{FAULTS.index(fault)} {nth} {lasting} {careless}"
            home.mkdir(parents=True)
            told = on_failing_disk(home, fault, nth, lasting=lasting, careless=careless)
            found, unsound = recorded(home)
            lost = [each for each in told.acknowledged if each not in found]
            doubled = len(found) - len(set(found))
            unclear = [each for each in told.refused if not is_clear(each)]
            counts.update(
                runs=1,
                acknowledged=len(told.acknowledged),
                refused=len(told.refused),
                lost=len(lost),
                doubled=doubled,
                unclear=len(unclear),
                foreign=len(told.foreign),
                unsound=len(unsound),
                late=told.late,
                missed=not told.hit,
            )
            wrong = [*lost, *unclear, *told.foreign, *unsound]
            if wrong or doubled or told.late or not told.hit:
                example = example or f"seed {seed}, call {nth}, lasting {lasting}: {wrong[:2]} late {told.late}"
    wrong_ones = sum(counts[each] for each in WRONG)
    done = f", {fault.done} done" if fault.done else ""
    what = f"{fault.kind} {fault.name}{done}"
    if careless:
        what = "a refusal taken for saved"
    return Figures(NAME, what, dict(counts), wrong_ones, control=careless, example=example)


def on_failing_disk(home: Path, fault: Fault, nth: int, *, lasting: bool, careless: bool = False) -> Told:
    """Readings until the fault was met, tries while it lasts, and readings once its cause is gone."""
    (home / "job.yaml").write_text(JOB, encoding="utf-8")
    disk = Failing(fault, nth, lasting=lasting)
    told = Told([], [], [], hit=False, late=False)
    with in_use(disk):
        session = Session(home, by="RK", ids=(f"{number:04}" for number in count()).__next__)
        behind = 0
        for number in range(DEEPEST + 2):
            draft = _next(session, number, long=fault.kind == "truncate")
            # As a person would: the same figure again, twice while the disk fails, and once it is well.
            for _ in range(3):
                if _try(session, draft, told, careless=careless):
                    break
            else:
                disk.well = True
                told.late = not _try(session, draft, told, careless=careless)
            told.hit = told.hit or bool(disk.failed)
            if told.hit and lasting and not disk.well:
                _look_in(home, told)
            behind += told.hit
            if behind > BEHIND:
                break
        session.close()
    return told


def _next(session: Session, number: int, *, long: bool) -> Draft:
    if long:
        return dataclasses.replace(session.draft(actions.note("dry")), fact=Note(None, f"{number} {LONG_NOTE}"))
    if session.state.setup is None:
        return session.draft(actions.set_up(session.state, "DOOR", "48"))
    return session.draft(
        actions.reading(session.state, Surface("walk", "W1", "finish"), f"{48 + number % 9} {number % 16}/16")
    )


def _try(session: Session, draft: Draft, told: Told, *, careless: bool) -> bool:
    """Whether the person was told that it is saved."""
    try:
        session.record(draft)
    except NotSavedError as wrong:
        told.refused.append(str(wrong))
        if not careless:
            return False
    except JournalError as wrong:
        told.refused.append(f"NOT SAVED: {wrong}")
        return False
    except Exception as wrong:  # noqa: BLE001 - whatever it is, it is not for people
        told.foreign.append(repr(wrong))
        return False
    told.acknowledged.append(draft.id)
    return True


def _look_in(home: Path, told: Told) -> None:
    """Another window is opened while the disk fails: it may be refused, in a sentence."""
    try:
        Session(home).close()
    except JournalError:
        pass
    except Exception as wrong:  # noqa: BLE001
        told.foreign.append(repr(wrong))


def recorded(home: Path) -> tuple[list[str], list[str]]:
    """The ids in the journal as the next start finds it, and what is not sound in it."""
    try:
        session = Session(home)
    except JournalError as wrong:
        return [], [str(wrong)]
    fault = session.journal.verify().fault
    ids = [entry.id for entry in session.journal.entries()] if fault is None else []
    read = [entry.typed for entry in session.journal.entries() if isinstance(entry.fact, Reading)] if ids else []
    session.close()
    twice = [] if len(read) == len(set(read)) else ["the same figure stands there twice"]
    return ids, [fault] if fault else twice


def is_clear(sentence: str) -> bool:
    """Whether it is one line for people that begins with NOT SAVED and ends as sentences do."""
    return bool(_SENTENCE.fullmatch(sentence)) and sentence.isprintable() and not _NOT_FOR_PEOPLE.search(sentence)
