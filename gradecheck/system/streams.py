"""The two streams that a command speaks to: the answer, which has to arrive, and what is said beside it."""

from __future__ import annotations

import os

from gradecheck.catalogue import _

TYPE_CHECKING = False  # importing that of `typing` takes a third of what the help takes
if TYPE_CHECKING:
    from typing import Any, TextIO


class AnswerLostError(Exception):
    """The answer could not be written; the text says why."""


class Aside:
    """Standard error: what can't be written there is not worth failing for. None stands for a closed stream."""

    def __init__(self, stream: TextIO | None) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Writes the text."""
        if self._stream is None:
            self._lost(_("it is closed"))
            return len(text)
        try:
            return self._stream.write(text)
        except (OSError, ValueError) as wrong:
            self._give_up(wrong)
            return len(text)

    def flush(self) -> None:
        """Hands on what was written."""
        try:
            if self._stream is not None:
                self._stream.flush()
        except (OSError, ValueError) as wrong:
            self._give_up(wrong)

    def _give_up(self, wrong: OSError | ValueError) -> None:
        assert self._stream is not None
        # Python flushes once more as it ends, and would end with a code of its own because of what is left.
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, self._stream.fileno())
        os.close(nowhere)
        self._lost(getattr(wrong, "strerror", None) or str(wrong))

    def _lost(self, why: str) -> None:
        pass

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


class AnswerStream(Aside):
    """Standard output: raises `AnswerLostError` where the text can't be written.

    It tells whether a sentence was `said` in what was written. One that `goes_on` where nobody reads any more is
    written to its end for nobody: what is answered by an exit code is not known before.
    """

    def __init__(self, stream: TextIO | None, sentence: str = "", *, goes_on: bool = False) -> None:
        super().__init__(stream)
        self._sentence = sentence
        self._goes_on = goes_on
        self.said = False
        self.unread = ""
        """Why nobody reads it any more, where it goes on all the same."""

    def write(self, text: str) -> int:
        """Writes the text."""
        self.said = self.said or self._sentence in text
        return super().write(text)

    def _give_up(self, wrong: OSError | ValueError) -> None:
        if self._goes_on and isinstance(wrong, BrokenPipeError):
            self.unread = wrong.strerror or str(wrong)
        super()._give_up(wrong)

    def _lost(self, why: str) -> None:
        if not self.unread:
            raise AnswerLostError(why)
