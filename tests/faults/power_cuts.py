"""Power cuts: the journal on a disk that loses or tears what was not synced, cut behind any call, again and again."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from gradecheck.journal import file
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Draft, Note
from gradecheck.journal.store import JOURNAL_NAME, Journal
from tests.faults.disk import in_use
from tests.faults.figures import Figures
from tests.faults.power import Powerless, Recorder, files_in, put_back
from tests.journal.drafts import draft

NAME = "power cuts"
QUICK, LONG = 120, 1000
LIVES = 12
"""Power cuts before another journal is begun; each life goes on with what the cut before it left."""


def run(folder: Path, cuts: int, seed: int) -> list[Figures]:
    """That many cuts with the settings of the program, and some with settings that promise less."""
    controls = max(10, cuts // 10)
    return [
        cut(folder / "as it is", cuts, seed),
        cut(folder / "off", controls, seed, synchronous="OFF"),
        # Loses only what was cut in the short time in which the folder is not synced, so it takes more cuts.
        cut(folder / "full", max(200, cuts), seed, synchronous="FULL"),
        cut(folder / "told too early", controls, seed, too_early=True),
    ]


def cut(folder: Path, cuts: int, seed: int, *, synchronous: str = "", too_early: bool = False) -> Figures:
    """Cuts the power that often; `synchronous` and `too_early` break a promise on purpose."""
    counts = Counter(cuts=0, acknowledged=0, lost=0, doubled=0, unsound=0)
    example = ""
    for chain in range(-(-cuts // LIVES)):
        lives = min(LIVES, cuts - chain * LIVES)
        home = folder / str(chain)
        home.mkdir(parents=True)
        history = _History(home, random.Random(f"{seed}/{chain}"), synchronous=synchronous, too_early=too_early)
        for life in range(lives):
            wrong = history.live_and_cut(life, counts)
            if wrong:
                example = example or f"seed {seed}, chain {chain}, cut {life}: {wrong}"
                break  # from here on there is nothing left to say about this journal
    what = f"synchronous={synchronous}" if synchronous else "saved is said before it is" if too_early else NAME
    bad = counts["lost"] + counts["doubled"] + counts["unsound"]
    return Figures(NAME, what, dict(counts), bad, control=bool(synchronous or too_early), example=example)


class _History:
    """One journal over several lives, each ended by a power cut."""

    def __init__(self, home: Path, draw: random.Random, *, synchronous: str, too_early: bool) -> None:
        self._work, self._found = home / "work", home / "found"
        self._work.mkdir()
        self._found.mkdir()
        self._draw = draw
        self._synchronous = synchronous
        self._too_early = too_early
        self._said: list[str] = []
        self._written = 0
        self._last: list[Draft] = []

    def live_and_cut(self, life: int, counts: Counter[str]) -> str:
        """Some entries, a cut behind any call, and a look at what is left; what is wrong with that, or nothing."""
        before = files_in(self._work)
        disk = Recorder()
        with in_use(disk), _weakened(self._synchronous):
            self._live(disk)
        calls = disk.calls[: self._draw.randint(0, len(disk.calls))]
        left = Powerless(before, calls).after(self._draw)
        said = [call.path for call in calls if call.what == "said"]
        self._said += said
        counts["cuts"] += 1
        counts["acknowledged"] += len(said)
        put_back(self._found, left)
        wrong = self._look(counts)
        # The next life begins with the files as the cut left them, so that the way back is cut as well.
        put_back(self._work, left)
        return wrong

    def _live(self, disk: Recorder) -> None:
        windows = [Journal(self._work / JOURNAL_NAME) for _ in range(self._draw.choice((1, 1, 2)))]
        # The first is the last one of the life before, tried again: nobody can know whether it is there.
        for drafts in (self._last, *(self._drafts() for _ in range(self._draw.randint(1, 9)))):
            if self._too_early:
                self._say(disk, drafts)
            self._draw.choice(windows).append(drafts)
            if not self._too_early:
                self._say(disk, drafts)
            self._last = drafts
        for window in windows:
            window.close()

    def _drafts(self) -> list[Draft]:
        drafts = []
        for _ in range(self._draw.choice((1, 1, 1, 2, 5))):
            self._written += 1
            long = " and so on" * self._draw.choice((0, 0, 0, 100, 1500))  # some are longer than a page
            drafts.append(draft(Note(None, f"dry{long}"), f"note {self._written}"))
        return drafts

    @staticmethod
    def _say(disk: Recorder, drafts: list[Draft]) -> None:
        for each in drafts:
            disk.say(each.id)

    def _look(self, counts: Counter[str]) -> str:
        """Opens what is left as the next start would, and takes what is found as written from here on."""
        try:
            journal = Journal(self._found / JOURNAL_NAME)
            fault = journal.verify().fault
            ids = Counter(entry.id for entry in journal.entries()) if fault is None else Counter[str]()
            journal.close()
        except JournalError as wrong:
            fault, ids = str(wrong), Counter[str]()
        if fault is not None:
            counts["unsound"] += 1
            return fault
        lost = [each for each in self._said if not ids[each]]
        doubled = [each for each, often in ids.items() if often > 1]
        counts["lost"] += len(lost)
        counts["doubled"] += len(doubled)
        return f"lost {lost[:3]}, doubled {doubled[:3]}" if lost or doubled else ""


@contextmanager
def _weakened(synchronous: str) -> Iterator[None]:
    """While it lasts, connections are less careful than the program wants them."""
    if not synchronous:
        yield
        return
    real = file.set_pragmas

    def set_pragmas(connection: object, path: Path, **how: bool) -> None:
        real(connection, path, **how)  # type: ignore[arg-type]
        connection.execute(f"PRAGMA synchronous={synchronous}")  # type: ignore[attr-defined]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(file, "set_pragmas", set_pragmas)
        yield
