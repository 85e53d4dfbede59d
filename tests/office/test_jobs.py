"""Which job of an office is meant, and what a laptop may be called there; what the server answers is by hand."""

from __future__ import annotations

from typing import Any, cast
from uuid import UUID

import pytest

from gradecheck.actions import Refusal
from gradecheck.office.connection import Link
from gradecheck.office.jobs import OfficeJob, find, is_new

ONE, OTHER = UUID(int=1), UUID(int=2)


class Answers:
    """A connection that gives those rows, one list for each time it is asked."""

    def __init__(self, *answers: list[tuple[Any, ...]]) -> None:
        self._answers = [*answers]

    def rows(self, *_asked: object) -> list[tuple[Any, ...]]:
        return self._answers.pop(0)


def link(*answers: list[tuple[Any, ...]]) -> Link:
    return cast(Link, Answers(*answers))


def test_a_job_that_is_there_twice_is_not_chosen_from() -> None:
    there = [(ONE, "Yard"), (OTHER, "Yard")]
    assert find(link(there, [(OTHER,)]), None, ["p"], {}) == OfficeJob(OTHER, "Yard")
    assert find(link(there, []), None, ["p"], {}) is None
    with pytest.raises(Refusal, match="has this job more than once"):
        find(link(there, [(ONE,), (OTHER,)]), None, ["p"], {})


def test_a_name_that_is_no_laptops_is_refused() -> None:
    assert is_new(link([]), "north")
    assert not is_new(link([(True,)]), "north")
    with pytest.raises(Refusal, match="that is no laptop's"):
        is_new(link([(False,)]), "postgres")
