"""Made-up days of several crews, each its own laser: all that a foreman records, and what is put right afterwards."""

from __future__ import annotations

import random

from gradecheck.journal.facts import (
    Backsight,
    DoubtAnswered,
    Entry,
    Fact,
    InstrumentMoved,
    Judged,
    MarkGiven,
    MarkMade,
    Note,
    PointAdded,
    Reading,
    Rechecked,
    SetupMade,
    TargetChanged,
    Void,
)
from gradecheck.measure.quantities import ZERO, Elevation, Length, inches
from gradecheck.measure.verdict_words import Word
from tests.joining.inches import BENCHMARKS, POINTS, Inches, at
from tests.joining.laptops import Laptop, Stored, entry_of

_JUDGED = Judged(Elevation(ZERO.metres), Elevation(ZERO.metres), ZERO, ZERO, Word.ON_GRADE)


def _rod(draw: random.Random) -> Length:
    return inches(draw.randint(30, 60))


def _setup(mark: str, rod: Length) -> SetupMade:
    return SetupMade("site rod", (Backsight(mark, rod, Elevation(ZERO.metres)),))


def _on_own_line(laptop: Laptop, kind: type[Fact]) -> list[Entry]:
    found = [entry_of(row) for row in laptop.own]
    return [entry for entry in found if isinstance(entry.fact, kind) and entry.replaces is None]


def _marks(laptop: Laptop) -> list[str]:
    """The marks it may set up on, by the names it would write: plain for its own, by laptop for those of others."""
    now = _copy(laptop)
    now.write(0, "now", Note(None, ""))
    by = now.own[-1][-1]
    plain = sorted({entry.fact.mark for entry in _on_own_line(laptop, MarkMade)})
    own = {row[-1] for row in laptop.own}
    names = Inches(now.all).whole_names(by)
    return [*BENCHMARKS, *plain, *(name for name, made in names.items() if made not in own)]


def days(seed: int, length: int = 26, most: int = 5, *, calm: bool = False) -> list[Laptop]:
    """Two to so many crews that went on from one copy, the same for the same seed; on calm days nobody corrects.

    Now and then an older copy is put back on a laptop, or its disk is copied and goes on under the same name.
    """
    draw = random.Random(seed)
    first = Laptop("A", 0)
    first.write(0, "begin", _setup("DOOR", _rod(draw)))
    for number in range(draw.choice((0, 0, 1, 2))):  # before anybody copied it
        mark = MarkMade(draw.choice(("TP1", "TP2")), "", "begin", _rod(draw))
        first.write(0, f"before {number}", mark)
    laptops, late = [first], []
    for name in "BCDE"[: draw.randint(1, most - 1)]:
        other = Laptop(name, draw.choice((0, 7, -24 * 60, 4 * 60)))
        if draw.random() < 0.75:
            other.own = list(first.own)
            laptops.append(other)
        else:  # it has the plan alone, and begins once it has taken in what another one did
            late.append(other)
    copied = draw.random() < 0.4
    for step in range(length):
        if late and (len(laptops) == 1 or draw.random() < 0.15):
            other = late.pop()
            other.take(draw.choice(laptops))
            other.write(step, f"begin {other.name}", _setup(draw.choice(_marks(other)), _rod(draw)))
            laptops.append(other)
        here = draw.choice(laptops)
        _do(
            here,
            draw,
            step,
            f"{here.name} {laptops.index(here)} {step}",
            ("TP1", "W1") if copied else ("TP1", "TP2", "W1"),
            calm=calm,
        )
        if draw.random() < 0.35:
            here.take(draw.choice([each for each in laptops if each is not here]))
        if copied and draw.random() < 0.12:
            _copy_or_restore(here, draw, laptops)
    return laptops


def _copy_or_restore(here: Laptop, draw: random.Random, laptops: list[Laptop]) -> None:
    """Its disk is copied, or work goes on from an older copy; what others took of the rest stays with them."""
    copy = _copy(here)
    if draw.random() < 0.5:
        if len(laptops) < 7:
            laptops.append(copy)
    elif len(here.own) > 2:
        lost = draw.randint(1, min(3, len(here.own) - 1))
        laptops.append(copy) if len(laptops) < 7 else None  # the one that goes on is what was there before
        here.own = here.own[: len(here.own) - lost]


def _copy(laptop: Laptop) -> Laptop:
    copy = Laptop(laptop.name, laptop.ahead)
    copy.own, copy.theirs, copy.told = list(laptop.own), dict(laptop.theirs), set(laptop.told)
    return copy


def _do(here: Laptop, draw: random.Random, step: int, entry_id: str, marks: tuple[str, ...], *, calm: bool) -> None:
    way, setup = draw.random() * (0.82 if calm else 1), _on_own_line(here, SetupMade)[-1].id
    if way < 0.05:
        here.write(step, entry_id, InstrumentMoved("spoil"))
    elif way < 0.3:
        point = draw.choice([*POINTS, *_added(here)])
        here.write(step, entry_id, Reading("walk", point, "finish", setup, _rod(draw), _JUDGED))
    elif way < 0.45:
        here.write(step, entry_id, _setup(draw.choice(_marks(here)[draw.choice((0, 2)) :] or ["DOOR"]), _rod(draw)))
    elif way < 0.6:
        # Two crews often use one name; the same crew takes it anew now and then; W1 is a point of the plan, too.
        here.write(step, entry_id, MarkMade(draw.choice(marks), "", setup, _rod(draw)))
    elif way < 0.72:
        _look_again(here, draw, step, entry_id, setup)
    elif way < 0.82:
        _decide(here, draw, step, entry_id, calm=calm)
    else:
        _change(here, draw, step, entry_id)


def _added(here: Laptop) -> list[str]:
    """The names of the points that were added as far as it knows, struck ones too."""
    entries = map(entry_of, here.all.values())
    return sorted({entry.fact.point for entry in entries if isinstance(entry.fact, PointAdded)})


def _look_again(here: Laptop, draw: random.Random, step: int, entry_id: str, setup: str) -> None:
    """Looks at a mark again: it stands as often as not, or the laser was kicked."""
    mark = draw.choice(_marks(here))
    here.write(step, entry_id, Rechecked(setup, mark, _rod(draw), ZERO, good=True))
    if draw.random() < 0.6:
        off = Inches(here.all).off(here.own[-1][-1])
        fact = entry_of(here.own.pop()).fact
        assert isinstance(fact, Rechecked)
        rod = fact.rod if off is None else fact.rod + inches(off)
        here.write(step, entry_id, Rechecked(setup, mark, rod, ZERO, good=True))


def _decide(here: Laptop, draw: random.Random, step: int, entry_id: str, *, calm: bool) -> None:
    """Puts a benchmark right, changes a target, adds a point, or trusts what is in doubt as far as it knows."""
    way = draw.uniform(0.3 if calm else 0, 1)
    if way < 0.3:
        mark = draw.choice(list(BENCHMARKS))
        given = MarkGiven(mark, at(BENCHMARKS[mark] + draw.randint(0, 2)), draw.random() < 0.5, "read wrong")
        here.write(step, entry_id, given)
    elif way < 0.55:
        here.write(step, entry_id, TargetChanged("walk", draw.choice(list(POINTS)), at(-draw.randint(3, 5)), "drain"))
    elif way < 0.7:
        if left := sorted({"X1", "X2"} - set(_added(here))):
            added = PointAdded("walk", draw.choice(left), at(-draw.randint(6, 7)), "as typed")
            here.write(step, entry_id, added)
    else:
        plain = Inches(here.all)
        if doubtful := [plain.entries[each].id for each in plain.in_doubt()]:
            some = draw.sample(doubtful, draw.randint(1, len(doubtful)))
            here.write(step, entry_id, DoubtAnswered(tuple(sorted(some)), "looked at it"))


def _change(here: Laptop, draw: random.Random, step: int, entry_id: str) -> None:
    """Corrects or strikes an entry that it knows, whoever made it."""
    known: dict[str, Stored] = here.all
    replaced = {entry_of(row).replaces for row in here.own}
    entry = entry_of(known[draw.choice(sorted(known))])
    if entry.id in replaced or entry.id.startswith("begin") or isinstance(entry.fact, Void):
        return
    fact = _corrected(entry.fact, draw) if draw.random() < 0.7 else None
    here.write(step, entry_id, fact or Void("not so"), entry.id)


def _corrected(fact: Fact, draw: random.Random) -> Fact | None:
    """The same with another figure; None where that is only ever struck."""
    match fact:
        case Reading(point=point, setup=setup):
            return Reading("walk", point, "finish", setup, _rod(draw), _JUDGED)
        case SetupMade(backsights=(sight,)):
            return _setup(sight.mark, _rod(draw))
        case MarkMade(mark=mark, setup=setup):
            return MarkMade(mark, "", setup, _rod(draw))
        case Rechecked(setup=setup, mark=mark):
            return Rechecked(setup, mark, _rod(draw), ZERO, good=True)
        case _:
            return None
