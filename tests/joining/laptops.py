"""Made-up laptops on one job: they write, take rows in, are copied and restored, and correct each other."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from gradecheck.joining.log import LinkedRow
from gradecheck.journal.chain import START, from_row, to_row
from gradecheck.journal.facts import Entry, Fact, Head, Note, Void
from tests.joining import model
from tests.journal.drafts import draft

Stored = tuple[Any, ...]


@lru_cache(maxsize=4096)
def entry_of(row: Stored) -> Entry:
    """The entry in a row; what a day is made up from asks for the same ones over and over."""
    return from_row(row)


class Laptop:
    """Its own rows, and those of others that it took in; what it knows goes into its next row."""

    def __init__(self, name: str, ahead: int) -> None:
        self.name, self.ahead = name, ahead
        self.own: list[Stored] = []
        self.theirs: dict[str, Stored] = {}
        self.told: set[str] = set()

    @property
    def all(self) -> dict[str, Stored]:
        """Every row it has, by hash."""
        return {**self.theirs, **{row[-1]: row for row in self.own}}

    def write(self, minute: int, entry_id: str, fact: Fact, replaces: str | None = None) -> None:
        """Adds a row of its own, with the heads that are new to it, worked out by the plain model."""
        made = draft(fact, entry_id, replaces=replaces, minutes=minute + self.ahead)
        heads = self._new_heads()
        self.told |= set(heads)
        knows = tuple(Head(self.theirs[each][2], self.theirs[each][0], each) for each in sorted(heads))
        previous = self.own[-1][-1] if self.own else START
        made = _replaced(made, laptop=self.name, knows=knows)
        self.own.append(to_row(made, len(self.own) + 1, previous))

    def _new_heads(self) -> list[str]:
        plain = plain_of(self.all.values())
        known = plain.ancestors(self.own[-1][-1]) or set() if self.own else set()
        known |= {row[-1] for row in self.own}
        new = {name: before for name, before in plain.closed().items() if name not in known}
        return [name for name in new if not any(name in before for before in new.values())]

    def take(self, other: Laptop) -> None:
        """Takes in all rows that the other one has."""
        mine = {row[-1] for row in self.own}
        self.theirs |= {digest: row for digest, row in other.all.items() if digest not in mine}


def _replaced(made: Any, **fields: object) -> Any:
    return dataclasses.replace(made, **fields)


def plain_of(rows: Iterable[Stored]) -> model.Model:
    """The rows for the plain model."""
    found = model.Model()
    for row in rows:
        entry = entry_of(row)
        before = "" if row[-2] == START else row[-2]
        at = round(entry.at.timestamp() * 1000)
        knows = tuple(head.hash for head in entry.knows)
        found.rows[entry.hash] = model.Row(
            entry.hash, before, entry.laptop, entry.seq, at, knows, entry.replaces or "", str(entry.fact)
        )
    return found


def joined_rows(rows: Iterable[Stored]) -> list[LinkedRow]:
    """The rows for the program."""
    return [LinkedRow(entry_of(row), row[-2]) for row in rows]


def history(seed: int, length: int = 30) -> list[Laptop]:
    """A random history of two to five laptops, the same for the same seed."""
    draw = random.Random(seed)
    first = Laptop("A", 0)
    laptops = [first]
    for number in range(draw.randint(1, 4)):
        first.write(number, f"start {number}", Note(None, "common"))
    saved: list[list[Stored]] = []
    for name in "BCDE"[: draw.randint(1, 4)]:
        other = Laptop(name, draw.choice((0, 0, -24 * 60, 4 * 60)))
        if draw.random() < 0.8:
            other.own = list(first.own)  # went on from the same copy
        laptops.append(other)
    for step in range(length):
        here = draw.choice(laptops)
        way = draw.random()
        known = [entry_of(row) for row in here.all.values()]
        if way < 0.45 or not known:
            here.write(10 + step, f"{here.name} {seed} {step}", Note(None, f"reading {step}"))
        elif way < 0.65:
            entry = draw.choice(known)
            own = {entry_of(row).replaces for row in here.own}
            if entry.id not in own:  # the same laptop never replaces an entry twice
                fact = Void("twice") if draw.random() < 0.4 else Note(None, f"corrected {draw.randint(1, 2)}")
                here.write(10 + step, f"{here.name} {seed} {step}", fact, entry.id)
        elif way < 0.9:
            here.take(draw.choice([each for each in laptops if each is not here]))
        elif way < 0.95:
            saved.append(list(here.own))
            if draw.random() < 0.7 and len(here.own) > 2:  # an older copy is put back, and work goes on from there
                lost = here.own[len(here.own) - draw.randint(1, 2) :]
                here.own = here.own[: len(here.own) - len(lost)]
        else:
            clone = Laptop(here.name, here.ahead)  # the disk is copied: the same name goes on twice
            clone.own, clone.theirs = list(here.own), dict(here.theirs)
            if len(laptops) < 6:
                laptops.append(clone)
    return laptops
