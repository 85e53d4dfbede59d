"""The words of a verdict, which are stored with a reading as what it was judged to be."""

from __future__ import annotations

from enum import StrEnum

from gradecheck.catalogue import stored, translated


class Word(StrEnum):
    """What the machine has to do."""

    CUT = stored("CUT")
    FILL = stored("FILL")
    ON_GRADE = stored("ON GRADE")
    TOO_CLOSE = stored("TOO CLOSE TO CALL")
    EXAMPLE = stored("EXAMPLE FIGURES")
    """No judgment: the target comes from figures that are examples still."""

    @property
    def shown(self) -> str:
        """The word as people read it; the value is stored, and is for other programs."""
        return translated(self.value)
