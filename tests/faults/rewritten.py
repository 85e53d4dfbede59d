"""Journals rewritten whole, each hash built anew: sound by themselves, found by what was kept somewhere else."""

from __future__ import annotations

import contextlib
import random
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from datetime import timedelta
from pathlib import Path

import pytest

from gradecheck.journal.chain import START, Row, to_row
from gradecheck.journal.facts import Draft, Note
from gradecheck.journal.file import create
from gradecheck.journal.recovery import health
from gradecheck.journal.recovery.against import Comparison, Outcome, ReadChain
from gradecheck.journal.recovery.backup import keep_copy
from gradecheck.journal.short_hash import Given, grouped_hash
from gradecheck.journal.store import JOURNAL_NAME, Journal
from tests.cli.asides import answered
from tests.faults.figures import Figures
from tests.faults.rows import command
from tests.journal.drafts import draft

NAME = "rewritten"
QUICK, LONG = 36, 5_000
CONTROLS = 24
MEANS = ("its copies", "a hash read out", "another folder")

Drafts = list[Draft]
Rewrite = Callable[[Drafts, int, random.Random], Drafts]
"""Makes other entries of those there are; that at that place, datum 0, is the first not the same."""


def note(number: int, draw: random.Random) -> Draft:
    """Something that was recorded."""
    return draft(Note("walk", f"{number} {draw.random()}"), f"n{draw.getrandbits(64):x}", minutes=number)


def _changed(there: Drafts, at: int, draw: random.Random) -> Drafts:
    old = there[at]
    new: Draft = draw.choice(
        (
            replace(old, typed=f"{old.typed} more"),
            replace(old, by="MT"),
            replace(old, at=old.at + timedelta(milliseconds=1)),
            replace(old, offset=old.offset - 60),
            replace(old, fact=Note(None, "as it should have been")),
            replace(old, id=f"{old.id}x"),
            replace(old, version="1"),
            replace(old, laptop="another"),
        )
    )
    return [*there[:at], new, *there[at + 1 :]]


def _rescued(at: int) -> Draft:
    """What a rescue writes where something is lost."""
    says = f"Rescued: entry {at + 1}: missing"
    return replace(draft(Note(None, says), f"rescued {at}", minutes=at), window="rescue")


def _later(there: Drafts, draw: random.Random) -> Drafts:
    return [note(len(there) + each, draw) for each in range(draw.randint(1, 9))]


REWRITES: dict[str, Rewrite] = {
    "an entry changed": _changed,
    "an entry left out": lambda there, at, draw: [*there[:at], *there[at + 1 :], *_later(there, draw)],
    "an entry put in": lambda there, at, draw: [*there[:at], note(at, draw), *there[at:]],
    "two entries swapped": lambda there, at, _: [*there[:at], there[at + 1], there[at], *there[at + 2 :]],
    "cut": lambda there, at, _: there[:at],
    "put back and gone on with": lambda there, at, draw: [*there[:at], *_later(there, draw)],
    "made anew to the end": lambda there, at, draw: [
        *there[:at],
        *(note(each, draw) for each in range(len(there) - at)),
    ],
    "under a rescue's note": lambda there, at, draw: [*there[:at], _rescued(at), *_changed(there, at, draw)[at:]],
    "left out under a rescue's note": lambda there, at, draw: [*there[:at], _rescued(at), *there[at + 1 :]],
    "all in the other order": lambda there, at, _: [*there[:at], *reversed(there[at:])],
}


def rows_of(drafts: Drafts) -> Iterator[Row]:
    """Their rows, chained from the first on as if nothing had been there before."""
    previous = START
    for seq, each in enumerate(drafts, 1):
        yield (row := to_row(each, seq, previous))
        previous = row[-1]


def rewrite(path: Path, drafts: Drafts) -> None:
    """Puts a journal of these entries in the place of the one there."""
    path.unlink()
    create(path, rows_of(drafts))


def drafts_of(path: Path) -> Drafts:
    """What is recorded in the journal there."""
    with contextlib.closing(Journal(path)) as journal:
        return [
            Draft(**{each.name: getattr(entry, each.name) for each in fields(Draft)}) for entry in journal.entries()
        ]


@dataclass
class Kept:
    """A job of some entries, and what was kept of it after fewer of them: copies, a hash, a folder elsewhere."""

    job: Path
    elsewhere: Path
    read_out: str
    entries: int
    kept: int


def made(root: Path, draw: random.Random) -> Kept:
    """A job in which something was recorded, kept, and gone on with."""
    job, elsewhere = root / "job", root / "elsewhere"
    job.mkdir(parents=True)
    path = job / JOURNAL_NAME
    count, kept = draw.randint(6, 30), 0
    with contextlib.closing(Journal(path)) as journal:
        first = journal.append([note(each, draw) for each in range(draw.randint(3, count - 2))])
        keep_copy(path)
        kept, digest = first[-1].seq, first[-1].hash
        shutil.copytree(job, elsewhere)
        journal.append([note(each, draw) for each in range(kept, count)])
    number = f"{kept}: " if draw.random() < 0.5 else ""
    return Kept(job, elsewhere, f"{number}{grouped_hash(digest)}", count, kept)


def run(folder: Path, runs: int, seed: int) -> list[Figures]:
    """That many journals, and as controls looks that compare less."""
    return [
        hold_all(folder / "as it is", runs, seed),
        hold_all(
            folder / "lengths", CONTROLS, seed, "only the numbers of entries are compared", (_by_length, _by_number)
        ),
        hold_all(
            folder / "ends", CONTROLS, seed, "only a copy that goes on from the end says anything", (_by_end, None)
        ),
    ]


def _by_length(name: str, ours: ReadChain, theirs: ReadChain) -> Comparison:
    first = ours.last + 1
    outcome = Outcome.ENDS_EARLIER if theirs.last > ours.last else Outcome.AGREES
    return Comparison(name, outcome, theirs.last, first if outcome is Outcome.ENDS_EARLIER else 0)


def _by_end(name: str, ours: ReadChain, theirs: ReadChain) -> Comparison:
    if theirs.hashes.get(ours.last) == ours.hashes.get(ours.last) and theirs.last > ours.last:
        return Comparison(name, Outcome.ENDS_EARLIER, theirs.last, ours.last + 1)
    return Comparison(name, Outcome.AGREES, theirs.last)


def _by_number(given: Given, _: str) -> bool:
    return given.seq is not None


def hold_all(
    root: Path, runs: int, seed: int, blind: str = "", instead: tuple[object, object] = (None, None)
) -> Figures:
    """Rewrites journals and has each held against what was kept; `instead` compares in place of what does."""
    counts = Counter(journals=0, looks=0, found=0, named=0, missed=0, misnamed=0, blamed=0)
    example = ""
    with pytest.MonkeyPatch.context() as patch:
        if instead[0] is not None:
            patch.setattr(health, "hold", instead[0])
        if instead[1] is not None:
            patch.setattr(Given, "is_of", instead[1])
        for number in range(runs):
            draw = random.Random(f"{seed}/{number}")
            kept = made(root / str(number), draw)
            name = list(REWRITES)[number % len(REWRITES)] if number % 9 else ""
            first = draw.randint(1, kept.kept) if name else 0
            if name:
                there = drafts_of(kept.job / JOURNAL_NAME)
                rewrite(kept.job / JOURNAL_NAME, REWRITES[name](there, first - 1, draw))
            counts["journals"] += 1
            for means in MEANS:
                counts["looks"] += 1
                if (wrong := _look(kept, means, first, counts)) and not example:
                    example = f"seed {seed}, journal {number}, {name or 'as it was'}, by {means}: {wrong}"
            shutil.rmtree(root / str(number))
    bad = sum(counts[each] for each in ("missed", "misnamed", "blamed"))
    return Figures(NAME, blind or "journals rewritten, cut, put back", dict(counts), bad, bool(blind), example)


def _look(kept: Kept, means: str, first: int, counts: Counter[str]) -> str:
    """Holds it against what was kept in one way; 0 is `first` where nothing was done to it."""
    aside = [(path, path.read_bytes()) for path in kept.job.glob("journal.backup-*") if means != MEANS[0]]
    for path, _ in aside:
        path.unlink()
    options = {MEANS[1]: ("--hash", kept.read_out), MEANS[2]: ("--against", kept.elsewhere)}.get(means, ())
    said = command("verify", kept.job, *options, "--json")
    for path, content in aside:
        path.write_bytes(content)
    answer = answered(said.out)
    named = [each["first"] for each in answer["compared"]]
    if not first:
        if said.code == 0 and answer["fault"] is None and not any(named):
            return ""
        counts["blamed"] += 1
        return f"ended with {said.code}: {answer['fault']}"
    if said.code != 1 or answer["fault"] is None:
        counts["missed"] += 1
        return f"ended with {said.code}: {answer['fault']}"
    counts["found"] += 1
    if means == MEANS[1]:
        return ""
    if named != [first]:
        counts["misnamed"] += 1
        return f"entry {first} is the first that is another, and {named} was named"
    counts["named"] += 1
    return ""
