"""What came of joining laptops, in sentences: what was taken in, what waits, what two of them decided otherwise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from gradecheck.joining.history import History
from gradecheck.joining.log import JoinedLog
from gradecheck.joining.names import called, identity
from gradecheck.measure.printed import count
from gradecheck.report.log import briefly

MOST = 5
"""Of a kind told one by one; of more only the number is."""


def joined_lines(log: JoinedLog) -> Iterator[str]:
    """All that people should look at in a log of several laptops."""
    yield from _some(_conflicts(log))
    yield from _parted(log.history)
    yield from _waiting(log.history)
    yield from _some([f"Doesn't count: no. {each.seq}, {briefly(each)}; what it refers to was not known there."
                      for each in log.astray])  # fmt: skip
    yield from _some([f"Twice under one id: {briefly(each)}; the first counts." for each in log.doubles])
    if log.history.unsound:
        yield f"Not sound: {count(len(log.history.unsound), 'entry', 'entries')} out of number; they don't count."


def answer(log: JoinedLog) -> dict[str, object]:
    """The same for other programs."""
    return {
        "conflicts": [
            {"entry": place.first.seq, "counts": briefly(place.last), "against": [*map(briefly, place.against)]}
            for place in log.conflicts
        ],
        "parted": [*_parted(log.history)],
        "waiting": len(log.history.waiting),
        "do not count": [each.seq for each in log.astray],
    }


def is_open(log: JoinedLog) -> bool:
    """Whether anything waits, or asks for an answer."""
    return bool(log.conflicts or log.history.waiting or log.history.unsound or log.astray)


def _some(lines: list[str]) -> Iterator[str]:
    yield from lines[:MOST]
    if len(lines) > MOST:
        yield f"... and {len(lines) - MOST} more."


def _conflicts(log: JoinedLog) -> list[str]:
    return [
        f"Conflict at no. {place.first.seq}: {briefly(place.last)} ({called(place.last.laptop)}) counts for now, "
        f"against {'; '.join(f'{briefly(each)} ({called(each.laptop)})' for each in place.against)}. "
        "Correct it, or change it again, to answer."
        for place in log.conflicts
    ]


def _parted(history: History) -> Iterator[str]:
    """Laptops that went on twice from one entry: nothing is lost, and people should know."""
    for sides in history.forks:
        names = {identity(history.link(each).laptop): history.link(each).laptop for each in sides}
        for which, often in Counter(identity(history.link(each).laptop) for each in sides).items():
            if often > 1:
                number = min(history.link(each).number for each in sides) - 1
                yield (
                    f"{called(names[which])} went on {often} times from its entry {number}: an older copy was put "
                    "back, or its disk was copied. All of it is kept."
                )


def _waiting(history: History) -> Iterator[str]:
    of = Counter(called(history.laptop_of(digest)) for digest in history.waiting)
    for laptop, entries in of.items():
        yield f"{count(entries, 'entry', 'entries')} of {laptop} {'waits' if entries == 1 else 'wait'} for entries " \
              "that are not here yet; join the laptop that has them."  # fmt: skip
