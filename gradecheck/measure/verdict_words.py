"""The words of a verdict, which are stored with a reading as what it was judged to be."""

from __future__ import annotations

from enum import StrEnum


class Word(StrEnum):
    """What the machine has to do."""

    CUT = "CUT"
    FILL = "FILL"
    ON_GRADE = "ON GRADE"
    TOO_CLOSE = "TOO CLOSE TO CALL"
    EXAMPLE = "EXAMPLE FIGURES"
    """No judgment: the target comes from figures that are examples still."""
