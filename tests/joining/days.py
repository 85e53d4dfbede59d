"""Made-up days of several crews: setups, turning points, readings, corrections and strikes, each its own laser."""

from __future__ import annotations

import random

from gradecheck.journal.chain import from_row
from gradecheck.journal.facts import (
    Backsight,
    Entry,
    Fact,
    InstrumentMoved,
    Judged,
    MarkMade,
    Reading,
    SetupMade,
    Void,
)
from gradecheck.measure.quantities import ZERO, Elevation, Length, inches
from gradecheck.measure.verdict_words import Word
from tests.joining.laptops import Laptop, Stored

POINTS = ("W1", "W2", "W3")
BENCHMARKS = {"DOOR": 0, "STEP": 2}
_JUDGED = Judged(Elevation(ZERO.metres), Elevation(ZERO.metres), ZERO, ZERO, Word.ON_GRADE)


def _rod(draw: random.Random) -> Length:
    return inches(draw.randint(30, 60))


def _setup(mark: str, rod: Length) -> SetupMade:
    return SetupMade("site rod", (Backsight(mark, rod, Elevation(ZERO.metres)),))


def _on_own_line(laptop: Laptop, kind: type[Fact]) -> list[Entry]:
    found = [from_row(row) for row in laptop.own]
    return [entry for entry in found if isinstance(entry.fact, kind) and entry.replaces is None]


def _marks(laptop: Laptop) -> list[str]:
    """The marks it may set up on, by the names it would write: plain for its own, by laptop for those of others."""
    names = [*BENCHMARKS, *(entry.fact.mark for entry in _on_own_line(laptop, MarkMade))]
    own = {row[-1] for row in laptop.own}
    for digest, row in laptop.theirs.items():
        entry = from_row(row)
        if isinstance(entry.fact, MarkMade) and digest not in own and entry.replaces is None:
            names.append(f"{entry.fact.mark} of {entry.laptop}")
    return names


def days(seed: int, length: int = 26, most: int = 5) -> list[Laptop]:
    """Two to so many crews that went on from one copy, the same for the same seed.

    Now and then an older copy is put back on a laptop, or its disk is copied and goes on under the same name.
    """
    draw = random.Random(seed)
    first = Laptop("A", 0)
    first.write(0, "begin", _setup("DOOR", _rod(draw)))
    laptops = [first]
    for name in "BCDE"[: draw.randint(1, most - 1)]:
        other = Laptop(name, draw.choice((0, 7, -24 * 60, 4 * 60)))
        other.own = list(first.own)
        laptops.append(other)
    copied = draw.random() < 0.4
    for step in range(length):
        here = draw.choice(laptops)
        _do(here, draw, step, f"{here.name} {laptops.index(here)} {step}", ("TP1",) if copied else ("TP1", "TP2"))
        if draw.random() < 0.35:
            here.take(draw.choice([each for each in laptops if each is not here]))
        if copied and draw.random() < 0.12:
            _copy_or_restore(here, draw, laptops)
    return laptops


def _copy_or_restore(here: Laptop, draw: random.Random, laptops: list[Laptop]) -> None:
    """Its disk is copied, or work goes on from an older copy; what others took of the rest stays with them."""
    copy = Laptop(here.name, here.ahead)
    copy.own, copy.theirs, copy.told = list(here.own), dict(here.theirs), set(here.told)
    if draw.random() < 0.5:
        if len(laptops) < 7:
            laptops.append(copy)
    elif len(here.own) > 2:
        lost = draw.randint(1, min(3, len(here.own) - 1))
        laptops.append(copy) if len(laptops) < 7 else None  # the one that goes on is what was there before
        here.own = here.own[: len(here.own) - lost]


def _do(here: Laptop, draw: random.Random, step: int, entry_id: str, marks: tuple[str, ...]) -> None:
    way, setup = draw.random(), _on_own_line(here, SetupMade)[-1].id
    if way < 0.05:
        here.write(step, entry_id, InstrumentMoved("spoil"))
    elif way < 0.35:
        here.write(step, entry_id, Reading("walk", draw.choice(POINTS), "finish", setup, _rod(draw), _JUDGED))
    elif way < 0.55:
        here.write(step, entry_id, _setup(draw.choice(_marks(here)[draw.choice((0, 2)) :] or ["DOOR"]), _rod(draw)))
    elif way < 0.8:
        # Two crews often use one name; the same crew takes it anew now and then.
        here.write(step, entry_id, MarkMade(draw.choice(marks), "", setup, _rod(draw)))
    else:
        _change(here, draw, step, entry_id)


def _change(here: Laptop, draw: random.Random, step: int, entry_id: str) -> None:
    """Corrects or strikes an entry that it knows, whoever made it."""
    known: dict[str, Stored] = here.all
    replaced = {from_row(row).replaces for row in here.own}
    entry = from_row(known[draw.choice(sorted(known))])
    if entry.id in replaced or entry.id == "begin" or isinstance(entry.fact, Void):
        return
    fact: Fact = Void("not so")
    if draw.random() < 0.7:
        if isinstance(entry.fact, Reading):
            fact = Reading("walk", entry.fact.point, "finish", entry.fact.setup, _rod(draw), _JUDGED)
        elif isinstance(entry.fact, SetupMade) and entry.fact.backsights[0].mark in BENCHMARKS:
            fact = _setup(entry.fact.backsights[0].mark, _rod(draw))
    here.write(step, entry_id, fact, entry.id)
