"""Random days of two to five laptops, joined in many ways: all must show the same, and what a plain model says."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Sequence
from pathlib import Path

from gradecheck.joining.history import START
from gradecheck.joining.log import JoinedLog, LinkedRow
from gradecheck.journal.store import ALL, Journal
from gradecheck.report.log import log_row
from gradecheck.report.review import laptop_lines, still_open
from gradecheck.state.state import State
from tests.faults.figures import Figures
from tests.joining.days import days
from tests.joining.inches import Inches
from tests.joining.laptops import Laptop, Stored
from tests.joining.test_state import found_in, joined, wanted_in

NAME = "join"
QUICK, LONG = 30, 10_000
_UNLIKE = ("elevations or doubt unlike the model", "targets unlike the model", "conflicts unlike the model")


def run(folder: Path, histories: int, seed: int) -> list[Figures]:
    """So many histories, and some where a laptop takes what it did not know for known."""
    with_all_known = max(60, histories // 50)
    return [_drawn(folder, histories, seed), _drawn(folder, with_all_known, seed, all_known=True)]


def _drawn(folder: Path, histories: int, seed: int, *, all_known: bool = False) -> Figures:
    counts = {"histories": 0, "laptops": 0, "copied or restored": 0, "entries": 0, "ways": 0}
    apart = dict.fromkeys((*_UNLIKE, "ways unlike another", "lost"), 0)
    example, journal = "", Journal(folder / "none.db")
    for number in range(seed, seed + histories):
        laptops = days(number)
        rows = {digest: row for laptop in laptops for digest, row in laptop.all.items()}
        names = {laptop.name for laptop in laptops}
        counts["histories"] += 1
        counts["laptops"] += len(names)
        counts["copied or restored"] += len(names) < len(laptops)
        counts["entries"] += len(rows)
        plain = Inches(rows)
        read = {digest: LinkedRow(plain.entries[digest], row[-2]) for digest, row in rows.items()}
        wanted, plan, open_ = plain.readings(), (plain.targets(), plain.added()), plain.conflicts()
        viewers = {laptop.name: laptop.own[-1][-1] for laptop in laptops[:2]}
        # One that was copied in the morning, or has the plan alone, and wrote nothing yet shows the same.
        viewers |= {"copied": laptops[0].own[0][-1], "new": START}
        for name, own in viewers.items():
            found = dict[str, int]()
            ways = _ways(laptops, rows, number)
            counts["ways"] += len(ways)
            states = [joined([read[digest] for digest in each], own) for each in ways]
            if all_known:
                for state in states:
                    state.book._knew = None
                    state.book.version += 1
            found["elevations or doubt unlike the model"] = sum(found_in(state) != wanted for state in states)
            found["targets unlike the model"] = sum(wanted_in(state) != plan for state in states)
            found["conflicts unlike the model"] = sum(_open(state) != open_ for state in states)
            found["ways unlike another"] = len({_shown(journal, state) for state in states}) - 1
            found["lost"] = sum(len(rows) - len(state.laptops.entries) for state in states if state.laptops)
            for what, wrong in found.items():
                apart[what] += wrong
                if wrong and not example:
                    example = f"seed {number}, laptop {name}: {what}"
    each_of = f"{histories} days, each joined in four ways, seen by four laptops"
    what = "what nobody knew yet taken for known" if all_known else each_of
    return Figures(NAME, what, {**counts, **apart}, sum(apart.values()), control=all_known, example=example)


def _ways(laptops: Sequence[Laptop], rows: dict[str, Stored], seed: int) -> list[dict[str, Stored]]:
    """The same rows as they come: at once, shuffled, laptop by laptop in a random tree, and some of them twice."""
    draw = random.Random(seed)
    shuffled = list(rows)
    draw.shuffle(shuffled)
    tree = [dict(laptop.all) for laptop in laptops]
    while len(tree) > 1:
        draw.shuffle(tree)
        one, other = tree.pop(), tree.pop()
        tree.append({**one, **other})
    twice = {**laptops[-1].all, **tree[0], **laptops[0].all}
    return [rows, {digest: rows[digest] for digest in shuffled}, tree[0], twice]


def _open(state: State) -> set[str]:
    assert isinstance(state.laptops, JoinedLog)
    return {each.first.id for each in state.laptops.conflicts}


def _shown(journal: Journal, state: State) -> str:
    """The hash of every row that people see of it: the log, what is open, how the lasers agree."""
    log = state.laptops
    assert isinstance(log, JoinedLog)
    lines = journal._joined_lines(log, None, None, ALL)
    rows = [log_row(state, line) for line in lines]
    told = [rows, still_open(state), laptop_lines(state)]
    return hashlib.sha256(repr(told).encode()).hexdigest()
