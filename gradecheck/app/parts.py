"""What a screen shows of the state, part by part: at once in a small job, beside the screen in a large one."""

from __future__ import annotations

from collections.abc import Callable, Generator, Hashable
from typing import TYPE_CHECKING, TypeVar, cast

from gradecheck.journal.errors import JournalError

if TYPE_CHECKING:
    from gradecheck.app.screens.base import EntryScreen

T = TypeVar("T")
AT_ONCE = 2_000
"""Entries up to which a part is worked out while the key waits: some 50 ms, measured."""


class Parts:
    """Each part is worked out once, until `forget`; those worked out beside the screen are drawn as they come."""

    def __init__(self, screen: EntryScreen, draw: Callable[[], None]) -> None:
        self._screen, self._draw = screen, draw
        self._known: dict[Hashable, object] = {}
        self._wanted: dict[Hashable, Callable[[], object]] = {}
        self._progress: dict[Hashable, str] = {}
        self._generation = 0
        self._working = False

    def forget(self) -> None:
        """Something was recorded: nothing that is known holds any more."""
        self._generation += 1
        self._known.clear()
        self._wanted.clear()
        self._progress.clear()

    @property
    def are_beside(self) -> bool:
        """Whether the job is so large that its parts are worked out beside the screen."""
        return self._screen.session.seq > AT_ONCE

    def progress(self, part: Hashable) -> str:
        """How far that part is, where it is worked out in steps."""
        return self._progress.get(part, "")

    def get(self, part: Hashable, work: Callable[[], T]) -> T | None:
        """What that part is; None while it is worked out beside the screen."""
        if part not in self._known:
            if self.are_beside:
                self._wanted[part] = work
                if not self._working:
                    self._working = True
                    self._screen.run_worker(self._work(), group="parts")
                return None
            self._known[part] = work()
        return cast(T, self._known[part])

    async def _found(self, part: Hashable, work: Callable[[], object], generation: int) -> object:
        """What the work gives; of one in steps what others recorded is taken up between two of them."""
        beside = self._screen.host.beside
        found = await beside(work)
        while isinstance(found, Generator) and generation == self._generation:
            progress, ended = await beside(lambda steps=found: _step(steps))  # type: ignore[misc]
            if ended:
                return progress
            if generation == self._generation and self._screen.is_attached:
                self._progress[part] = str(progress)
                self._draw()
        return found

    async def _work(self) -> None:
        """One part after the other, in the order they were asked for; what was forgotten meanwhile is asked anew."""
        try:
            while self._wanted and self._screen.is_attached:
                part, work = next(iter(self._wanted.items()))
                generation = self._generation
                try:
                    found = await self._found(part, work, generation)
                except JournalError as wrong:
                    self._wanted.pop(part, None)
                    self._screen.complain(str(wrong))
                    continue
                if generation == self._generation:
                    del self._wanted[part]
                    self._known[part] = found
                    if self._screen.is_attached:
                        self._draw()
        finally:
            self._working = False


def _step(steps: Generator[object, None, object]) -> tuple[object, bool]:
    """The next step's words, or at the end what all of them gave, and whether that is the end."""
    try:
        return next(steps), False
    except StopIteration as ended:
        return ended.value, True
